"""Sign-in slips: everybody's name as it is written, on paper that is handed out."""

import io

import pypdf
import pytest

from studio.lettering.setting import shortened, width_of
from studio.paper.code_slips import CodeSlip, code_slips_pdf
from studio.paper.sheets import PAPERS

NAMES = ["Łukasz Wiśniewski", "محمد علي", "דוד כהן", "สมชาย ใจดี", "李小龙", "अनिता शर्मा", "김철수"]


def page_of(pdf: bytes) -> pypdf.PageObject:
    return pypdf.PdfReader(io.BytesIO(pdf)).pages[0]


def is_printed(page: pypdf.PageObject, words: str) -> bool:
    """Whether words are on a page: as letters, or as shapes with their letters beside them."""
    if words in page.extract_text():
        return True
    # ISO 32000-1, 14.9.4: ActualText holds the letters of what was drawn as shapes.
    content = page.get_contents().get_data().decode("latin-1")
    return all(part.encode("utf-16-be").hex().upper() in content for part in words.split())


@pytest.mark.parametrize("name", NAMES)
def test_a_name_of_any_script_stands_on_its_slip(name):
    slip = CodeSlip(name, "lukasz.z", "b4k7-m2d9-h3")
    pdf = code_slips_pdf([slip], PAPERS["a4"], address="https://x", until="1 May", title=name)
    page = page_of(pdf)
    assert is_printed(page, name)
    assert "b4k7-m2d9-h3" in page.extract_text()
    assert "?" not in page.extract_text()


@pytest.mark.parametrize("name", ["Wilhelmina " * 12, "अनिता " * 30, "محمد " * 30])
def test_a_name_too_long_for_the_paper_is_cut_with_a_mark(name):
    cut = shortened(name, 13, 200)
    assert width_of(cut, 13) <= 200
    assert cut.endswith("…")
    assert name.startswith(cut.removesuffix("…"))


def test_a_name_that_fits_is_left_alone():
    assert shortened("Amara O.", 13, 200) == "Amara O."


def test_a_letter_is_cut_off_together_with_its_marks():
    # Devanagari: KA with the vowel sign I; the sign never stays behind without its letter.
    words = "कि" * 12
    for room in range(20, 60):
        kept = shortened(words, 13, room).removesuffix("…")
        assert kept == "कि" * (len(kept) // 2)
