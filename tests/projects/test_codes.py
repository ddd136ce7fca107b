"""Codes of pieces: one a piece in the whole house, short, told apart when scratched into clay."""

import pytest

from studio.models import Piece
from studio.projects.pieces import LETTERS, propose_prefix
from tests.factories import make_piece, make_project, make_section, make_student
from tests.pages import page_text

pytestmark = pytest.mark.django_db


def test_a_section_goes_on_with_its_letter_and_the_projects_number(school):
    assert propose_prefix(school.project) == "K3-"
    assert propose_prefix(make_project(school.section, "Jug", number=5)) == "K5-"


def test_a_new_section_takes_a_letter_that_nobody_in_the_house_has(school):
    given = {"K"}
    for n in range(len(LETTERS) + 3):
        section = make_section(school.colleague, name=f"Class {n}")
        project = make_project(section, number=1)
        prefix = propose_prefix(project)
        letter = prefix.removesuffix("1-")
        assert letter not in given
        given.add(letter)
        make_piece(project, make_student(section, f"Student {n}"), f"{prefix}01")
        assert propose_prefix(project) == prefix
    # One letter each as long as there are any, then two; none that looks like a figure.
    assert sorted(map(len, given)) == [1] * len(LETTERS) + [2] * 4
    assert not given & set("ILOQ")


def test_a_code_of_another_class_is_refused_and_nothing_typed_is_lost(client, school):
    section = make_section(school.colleague, name="Bell 9")
    project = make_project(section, "Tumbler")
    zoe, yan = make_student(section, "Zoe Q."), make_student(section, "Yan P.")
    client.force_login(school.colleague)
    path = f"/projects/{project.pk}/pieces/"
    page = page_text(client.post(path, {f"code-{zoe.pk}": "k3-01", f"code-{yan.pk}": "B1-07"}))
    assert "k3-01 stands on another piece of another class in the house." in page
    assert 'value="B1-07"' in page
    # The other class's section and student are not told.
    for hidden in ("Bell 4", "Amara"):
        assert hidden not in page
    assert not project.pieces.exists()


def test_a_piece_keeps_a_code_that_stands_twice_and_takes_no_new_one_of_another_class(
    client, school
):
    section = make_section(school.colleague, name="Bell 9")
    project = make_project(section, "Tumbler")
    twin = make_piece(project, make_student(section, "Zoe Q."), "K3-01")
    client.force_login(school.colleague)
    path = f"/pieces/{twin.pk}/edit/"
    form = client.get(path).context["form"]
    data = {name: form[name].value() or "" for name in form.fields}
    assert client.post(path, data | {"intent": "A tall one."}).status_code == 302
    twin.refresh_from_db()
    assert (twin.code, twin.intent) == ("K3-01", "A tall one.")
    form = client.get(path).context["form"]
    data = {name: form[name].value() or "" for name in form.fields}
    page = page_text(client.post(path, data | {"code": "K3-02"}))
    assert "K3-02 stands on another piece of another class in the house." in page
    assert Piece.objects.filter(code="K3-02").count() == 1
