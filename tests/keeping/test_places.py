"""Where the site keeps what it keeps: any folder's name, any of the ways to name it."""

import dj_database_url
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.keeping.places import HOME_VARIABLE, home, sqlite_url

NAMES = ["Ceramics #2", "eco#5%", "what?", 'it\'s "quoted"', "a b+c%20", "Töpferei", "%23"]


@pytest.mark.parametrize("name", NAMES)
def test_an_address_leads_back_to_the_very_file(tmp_path, name):
    file = tmp_path / name / "studio.sqlite3"
    assert dj_database_url.parse(sqlite_url(file))["NAME"] == str(file)


@given(st.text(st.characters(exclude_characters="/\0", exclude_categories=("Cs",)), min_size=1))
def test_so_it_does_for_any_name(tmp_path_factory, name):
    file = tmp_path_factory.getbasetemp() / name / "studio.sqlite3"
    assert dj_database_url.parse(sqlite_url(file))["NAME"] == str(file)


def test_a_named_folder_comes_before_the_checkout_and_the_system_s(monkeypatch, tmp_path):
    monkeypatch.delenv(HOME_VARIABLE, raising=False)
    assert home(tmp_path) == tmp_path
    assert home(None).name == "rim-and-reason"
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "named"))
    assert home(tmp_path) == home(None) == tmp_path / "named"
