"""Names of every script: the right font, the right direction, joined letters."""

import io
import unicodedata

import pypdf
import pytest
from reportlab.pdfgen.canvas import Canvas

from rubrics.reports.paper.paragraphs import broken
from studio.lettering.fonts import SANS, SERIF_STRONG, STAND_IN, register_fonts
from studio.lettering.setting import cleaned, draw_line, ordered, reads_backwards, width_of

NAMES = ["Nguyễn Thị Ánh", "Łukasz Wiśniewski", "Şeyma Öztürk", "李小龙", "김철수", "ひらがな"]


def printed(words: str, font: str = SANS) -> pypdf.PdfReader:
    register_fonts()
    written = io.BytesIO()
    canvas = Canvas(written, initialFontName=SANS)
    draw_line(canvas, 50, 700, words, size=20, font=font)
    canvas.save()
    return pypdf.PdfReader(written)


def fonts_of(reader: pypdf.PdfReader) -> dict:
    return {font["/BaseFont"]: font for font in reader.pages[0]["/Resources"]["/Font"].values()}


@pytest.mark.parametrize("font", [SANS, SERIF_STRONG])
@pytest.mark.parametrize("name", NAMES)
def test_a_name_comes_back_from_the_paper(name, font):
    reader = printed(name, font)
    assert reader.pages[0].extract_text().strip() == name
    used = [font["/FontDescriptor"] for font in fonts_of(reader).values()]
    assert all("/FontFile2" in descriptor for descriptor in used)
    assert cleaned(name, font) == (name, frozenset())


def test_arabic_letters_are_joined():
    # The initial, medial and final forms of "Muhammad", Unicode chart U+FE70: meem initial FEE3,
    # hah medial FEA4, meem medial FEE4, dal final FEAA; on paper from left to right.
    reader = printed("محمد")
    shapes = reader.pages[0].extract_text().strip()
    assert unicodedata.normalize("NFKC", shapes) in ("محمد", "دمحم")
    assert set(shapes) <= set("\ufee3\ufea4\ufee4\ufeaa\u0645\u062d\u062f")
    assert width_of("محمد", 20) != pytest.approx(sum(width_of(letter, 20) for letter in "محمد"))
    assert any("\ufe70" <= shape <= "\ufeff" for shape in shapes)


def test_what_is_copied_are_the_letters():
    # ISO 32000-1, 14.9.4: ActualText replaces the shapes; text strings by 7.9.2.2.
    content = printed("محمد").pages[0].get_contents().get_data()
    assert b"/ActualText <FEFF0645062D06450" in content


# Hebrew letters stand for the capitals in which the standard writes what runs to the left.
TO_HEBREW = {chr(ord("A") + place): chr(0x05D0 + place) for place in range(26)}


def displayed(logical: str) -> str:
    """What the paper shows, capitals for Hebrew, from left to right."""
    words = "".join(TO_HEBREW.get(letter, letter) for letter in logical)
    back = {hebrew: capital for capital, hebrew in TO_HEBREW.items()}
    shown = ""
    for run in ordered(words, SANS):
        letters = run.words[::-1] if run.backwards else run.words
        shown += "".join(back.get(letter, letter) for letter in letters)
    return shown


@pytest.mark.parametrize(
    ("logical", "shown"),
    [
        # Unicode Standard Annex 9, section 3.4 "Reordering resolved levels", its first example;
        # the others by rules N1 and W2 of the annex.
        ("car means CAR.", "car means RAC."),
        ("car CAR ABC car", "car CBA RAC car"),
        ("ABC 12 DEF", "FED 12 CBA"),
    ],
)
def test_direction_follows_the_standard(logical, shown):
    assert displayed(logical) == shown


def test_the_first_letter_decides_where_a_text_begins():
    assert reads_backwards("محمد made this")
    assert not reads_backwards("made by محمد")
    assert reads_backwards("12 שלום")


def test_a_letter_of_no_font_is_told():
    sign = "\N{LINEAR A SIGN AB001}"
    assert cleaned(f"a{sign}") == (f"a{STAND_IN}", frozenset(sign))


@pytest.mark.parametrize("words", [*NAMES, "محمد علي", "a" * 200, "two words " * 30])
def test_no_line_is_wider_than_its_room(words):
    for room in (30.0, 80.0, 300.0):
        lines = broken(words, 12, SANS, room)
        assert all(width_of(line, 12) <= room + 1e-6 for line in lines if len(line) > 1)
        assert "".join(lines).replace(" ", "") == words.replace(" ", "")
