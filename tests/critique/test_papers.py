"""The papers: every label, the protocol on one page, a form a reading, in any script."""

import io

import pytest
from pypdf import PdfReader

from rubrics.critique import papers
from rubrics.reports.critique_paper import (
    Label,
    Protocol,
    SpeakingTurn,
    forms_pdf,
    labels_pdf,
    protocol_pdf,
)
from studio.lettering.fonts import SERIF_STRONG, STAND_IN
from studio.lettering.setting import cleaned

LABEL = Label(number=1, code="K3-01", title="", maker="", intent="", lines=("", ""))


def pages(document: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(document)).pages]


@pytest.fixture
def titled(critique):
    piece = critique.school.piece
    piece.title, piece.intent, piece.intent_accent = "Low tide", "Rough below.", "rim"
    piece.save()
    return critique


@pytest.mark.parametrize("size", ["letter", "a4"])
def test_a_label_has_title_intent_and_two_lines(titled, size):
    (page,) = pages(labels_pdf(papers.labels(titled), pagesize=size))
    assert "Low tide" in page
    assert "Rough below." in page
    assert "Look first at the rim." in page
    assert "wet" in page
    # Names are hidden in this critique, on the wall too.
    assert titled.school.amara.name not in page
    titled.names_hidden = False
    (page,) = pages(labels_pdf(papers.labels(titled), pagesize=size))
    assert titled.school.amara.name in page


@pytest.mark.parametrize("size", ["letter", "a4"])
def test_the_protocol_is_one_page_with_turns_boxes_and_order(titled, size):
    (page,) = pages(protocol_pdf(papers.protocol(titled), pagesize=size))
    for words in ("1:00", "3:00", "The maker is silent.", "describe", "interpret", "K3-05"):
        assert words in page
    # Five pieces of five minutes.
    assert "5 pieces, about 25 minutes" in page


def test_a_form_a_reading_with_its_reader_and_no_maker(titled):
    found = pages(forms_pdf(papers.forms(titled)))
    assert len(found) == 5 * 3
    mine = [page for page in found if "Low tide" in page]
    assert len(mine) == 3
    for page in mine:
        assert "You wanted the eye at the rim" in page
        assert titled.school.amara.name not in page
        assert "without your name" in page
    readers = {student.name for student in titled.school.students[1:]}
    assert sum(any(name in page for name in readers) for page in mine) == 3


@pytest.mark.parametrize("words", ["ज्वार भाटा", "المد والجزر", "潮の満ち引き", "Ebbe & Flut <b>"])
def test_titles_print_in_every_script(titled, words):
    piece = titled.school.piece
    piece.title = words
    piece.save()
    used = fonts_of(labels_pdf(papers.labels(titled)))
    # No letter is replaced, and other scripts bring a font of theirs.
    assert STAND_IN not in cleaned(words, SERIF_STRONG)[0]
    assert all("Source" in font for font in used) == words.isascii()


def fonts_of(document: bytes) -> set[str]:
    found = set()
    for page in PdfReader(io.BytesIO(document)).pages:
        fonts = page["/Resources"]["/Font"].get_object()
        found |= {fonts[name].get_object()["/BaseFont"] for name in fonts}
    return found


def test_forty_pieces_keep_to_one_page():
    long = Protocol(
        project="A project with a title that is rather long for the head of a page" * 2,
        section="Bell 4",
        kind="of finished work",
        turns=(SpeakingTurn("Everyone looks", "The maker is silent.", "1:00"),) * 3,
        minutes=200,
        boxes=tuple((n, "Title", "step", "What it asks of the reader.") for n in range(1, 6)),
        most_words=40,
        order=tuple((n, f"K3-{n:02}", "A long title " * 8) for n in range(1, 41)),
    )
    assert len(pages(protocol_pdf(long))) == 1
    assert "K3-40" in pages(protocol_pdf(long))[0]


def test_nothing_to_print_is_told():
    with pytest.raises(ValueError, match="no piece"):
        labels_pdf([])
    with pytest.raises(ValueError, match="Nobody"):
        forms_pdf([])
    with pytest.raises(ValueError, match="not a page size"):
        labels_pdf([LABEL], pagesize="a5")
