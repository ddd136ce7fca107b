"""The family's page checked as a file and as a picture."""

import io
from dataclasses import replace

import numpy as np
import pypdf
import pypdfium2
import pytest
from PIL import Image
from pypdfium2 import raw

from rubrics.families.languages import language
from rubrics.reports.family import CameOut, FamilyPage, NotYet, PrintedPicture, PublishedPiece
from rubrics.reports.portfolio import MARGIN, portfolio_pdf
from tests.reports.examples import criterion, shown_of

POINTS = 72.0
DOTS = 200
PAGES = {"letter": (612.0, 792.0), "a4": (595.2756, 841.8898)}


def photo(width=1280, height=960, seed=1) -> bytes:
    coarse = np.random.default_rng(seed).integers(0, 255, (12, 16, 3), dtype=np.uint8)
    picture = Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC)
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=88)
    return written.getvalue()


def page_of(student="Şeyma Nguyễn-Łukasz", *, shown=None, earlier=2, photos=3, **changes):
    shown = (shown or shown_of()) | {"student": student}
    files = [PrintedPicture(file=photo(seed=n), stage="glazed", caption="Rendered photograph")
             for n in range(photos)]  # fmt: skip
    told = PublishedPiece(
        shown=shown,
        number=3,
        stage="glazed",
        intent="A ring of texture near the rim.",
        pictures=tuple(files),
        outcomes=(CameOut(kind="neighbour's glaze", stage="glazed", doing="kiln"),),
    )
    before = [
        PublishedPiece(
            shown=shown | {"percent": str(percent), "project": "Coil vase"},
            number=n,
            stage="glazed",
            pictures=tuple(files[:1]),
        )
        for n, percent in zip((2, 1), (79, 74), strict=True)
    ]
    return FamilyPage(
        student=student,
        section="Bell 4, Autumn 2026",
        day="2026-03-26",
        pieces=(told, *before[:earlier]),
        **{"words": shown["words"]} | changes,
    )


A_DOT = 2.5
"""Lower than this is a dot that belongs to the letter above or below it. [pt]"""

LONG = "This sentence goes on for as long as a sentence can go on without losing its way. "


def crowded() -> FamilyPage:
    """The longest names and seven criteria of long text."""
    rows = [
        criterion(letter, f"Criterion {letter} with a name that is long indeed", "15",
                  level=3, descriptor=LONG * 3, level_name="Well on the way")
        for letter in "ABCDEFG"
    ]  # fmt: skip
    shown = shown_of(criteria=rows, words=LONG * 30, project="A project of a long title " * 3)
    return page_of(
        "Maximiliane-Alexandrina von Hohenfels-Wittgenau y Fernández de la Cruz Nguyễn " * 2,
        shown=shown,
        student_words=LONG * 14,
        next_step=LONG * 3,
        strength=LONG * 3,
        strength_too=LONG * 3,
    )


def in_arabic() -> FamilyPage:
    """A script that reaches deep below its line."""
    return page_of("محمد علي", words="قال محمد: الكأس جميلة", student_words="李小龙 made it.")


def opened(pages, **kind):
    printed = portfolio_pdf(pages, title="Pages for families", **kind)
    return printed, pypdf.PdfReader(io.BytesIO(printed.pdf))


def line_boxes(document: bytes, sheet: int = 0):
    with pypdfium2.PdfDocument(document) as pdf:
        text = pdf[sheet].get_textpage()
        boxes = [text.get_rect(at) for at in range(text.count_rects())]
        return [(box, text.get_text_bounded(*box).strip()) for box in boxes]


def picture_of(document: bytes, scale=1.0) -> np.ndarray:
    with pypdfium2.PdfDocument(document) as pdf:
        return np.asarray(pdf[0].render(scale=scale).to_pil().convert("RGB"), dtype=float)


def test_the_page_says_all_it_should():
    _, reader = opened([page_of(student_words="I rolled both sides.", words="Well made.")])
    words = " ".join(reader.pages[0].extract_text().split())
    for said in (
        "Şeyma Nguyễn-Łukasz",
        "Lidless slab cup",
        "87%",
        "The grade stands on the 6 things looked at",
        "A strength",
        "Next step",
        "too early to tell",
        "a drip of another piece's glaze",
        "I rolled both sides.",
        "Well made.",
        "How to read this page",
    ):
        assert said in words
    assert len(reader.pages) == 2


def test_no_page_calls_a_piece_safe_or_ranks_a_child():
    for page in (page_of(), crowded()):
        _, reader = opened([page])
        words = " ".join(" ".join(sheet.extract_text() for sheet in reader.pages).lower().split())
        assert "not whether it may be used for food or drink" in words
        assert "food safe" not in words.replace("-", " ")
        assert "rank" not in words.split()
        assert "average" not in words


@pytest.mark.parametrize("pagesize", PAGES)
@pytest.mark.parametrize("make", [page_of, crowded, in_arabic])
def test_nothing_overlaps_nor_leaves_the_page(pagesize, make):
    printed, reader = opened([make()], pagesize=pagesize)
    width, height = PAGES[pagesize]
    for sheet, page in enumerate(reader.pages):
        assert [float(side) for side in page.mediabox[2:]] == pytest.approx(
            [width, height], abs=0.1
        )
        found = [pair for pair in line_boxes(printed.pdf, sheet) if pair[1]]
        boxes = [pair for pair in found if pair[0][3] - pair[0][1] > A_DOT]
        assert len(boxes) > 10
        for (left, bottom, right, top), words in boxes:
            assert left >= MARGIN - 1, words
            assert right <= width - MARGIN + 1, words
            assert bottom >= MARGIN - 12, words
            assert top <= height - MARGIN + 3, words
        for place, (one, said) in enumerate(boxes):
            for other, also in boxes[place + 1 :]:
                across = min(one[2], other[2]) - max(one[0], other[0])
                upright = min(one[3], other[3]) - max(one[1], other[1])
                lower = min(one[3] - one[1], other[3] - other[1])
                assert across <= 0.5 or upright <= 0.35 * lower, (said, also)


def test_what_does_not_fit_is_shortened_and_told():
    printed, reader = opened([crowded()])
    assert "your words" in printed.cuts[0]
    assert "Shortened" in reader.pages[0].extract_text()
    assert opened([page_of()])[0].cuts == ((),)


def test_fonts_are_embedded():
    _, reader = opened([page_of(student="李 محمد Nguyễn")])
    fonts = {
        font["/BaseFont"]: font
        for page in reader.pages
        for font in (ref.get_object() for ref in page["/Resources"]["/Font"].values())
    }
    assert len(fonts) >= 5
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts.values())


def test_photos_have_two_hundred_dots_an_inch():
    printed, _ = opened([page_of()])
    with pypdfium2.PdfDocument(printed.pdf) as pdf:
        images = list(pdf[0].get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE]))
        assert len(images) == 3
        for image in images:
            left, _bottom, right, _top = image.get_bounds()
            across = image.get_px_size()[0] / ((right - left) / POINTS)
            assert across == pytest.approx(DOTS, rel=0.02)


@pytest.mark.parametrize("make", [page_of, crowded])
def test_a_page_stays_under_four_hundred_kilobytes(make):
    printed, reader = opened([make()])
    assert len(printed.pdf) / len(reader.pages) < 400_000


def test_properties_name_no_student_and_bookmarks_name_each():
    names = ["Amara O.", "Bao N."]
    _, reader = opened([page_of(name) for name in names])
    assert [entry.title for entry in reader.outline] == names
    assert [reader.get_destination_page_number(entry) for entry in reader.outline] == [0, 2]
    assert reader.metadata.title == "Pages for families"
    assert not any(name in str(reader.metadata) for name in names)


def test_the_same_input_gives_the_same_bytes():
    assert opened([page_of()])[0].pdf == opened([page_of()])[0].pdf


def test_grey_is_the_luma_of_the_colours():
    colour = picture_of(portfolio_pdf([page_of()], title="x").pdf)
    grey = picture_of(portfolio_pdf([page_of()], title="x", grey=True).pdf)
    assert float(np.ptp(grey, axis=2).max()) <= 2
    assert float(np.ptp(colour, axis=2).max()) > 60
    # Luma by Rec. ITU-R BT.601, the weights a grey scanner takes.
    luma = colour @ np.array([0.299, 0.587, 0.114])
    assert float(np.abs(luma - grey[:, :, 0]).mean()) < 1.5


def test_the_margins_are_clean_for_any_printer():
    picture = picture_of(portfolio_pdf([crowded()], title="x").pdf, scale=1.0)
    edge = 25
    assert picture[:edge].min() == 255
    assert picture[-edge:].min() == 255
    assert picture[:, :edge].min() == 255
    assert picture[:, -edge:].min() == 255


def test_the_level_survives_a_copier():
    """Pure black and white still tells full boxes from empty ones."""
    grey = picture_of(portfolio_pdf([page_of()], title="x", grey=True).pdf, scale=2.0)[:, :, 0]
    copied = grey > 128
    assert 0.02 < float((~copied).mean()) < 0.4


def test_each_family_reads_its_own_language():
    pages = [page_of("A"), replace(page_of("B"), language=language("es")), page_of("C")]
    _, reader = opened(pages, more_pieces=False)
    assert ["Next step" in page.extract_text() for page in reader.pages] == [True, False, True]
    assert "Próximo paso" in reader.pages[1].extract_text()


def test_a_photo_that_cannot_be_read_is_passed_over_with_a_word():
    page = page_of(photos=1)
    bad = replace(page.pieces[0], pictures=(PrintedPicture(file=b"no photo"),))
    _, reader = opened([replace(page, pieces=(bad, *page.pieces[1:]))])
    assert "could not be read" in reader.pages[0].extract_text()


def test_what_cannot_be_printed_is_said():
    with pytest.raises(ValueError, match="no page"):
        portfolio_pdf([], title="x")
    with pytest.raises(ValueError, match="Nothing is published of Amara"):
        portfolio_pdf([replace(page_of("Amara"), pieces=())], title="x")
    with pytest.raises(ValueError, match="page size"):
        portfolio_pdf([page_of()], title="x", pagesize="a5")


def test_a_page_names_the_school_the_teachers_and_how_other_pieces_stand():
    page = page_of(
        school="Invented School of the Hill",
        teachers=("Thea Teach",),
        unpublished=(
            NotYet(project="Slab jug", number=4, state="in work"),
            NotYet(project="Tile", number=5, state="lost"),
        ),
    )
    _, reader = opened([page])
    words = " ".join(reader.pages[0].extract_text().split())
    assert "Invented School of the Hill · Bell 4, Autumn 2026 · Thea Teach" in words
    assert "4 Slab jug: still in work." in words
    assert "5 Tile: it was lost before it could be looked at." in words


def test_the_year_stands_in_the_order_in_which_it_was_made():
    _, reader = opened([page_of()])
    words = reader.pages[1].extract_text()
    assert words.index("1  Coil vase") < words.index("2  Coil vase") < words.index("3  Lidless")


def test_a_year_without_pictures_gets_no_sheet_nor_one_with_that_of_the_first_page_alone():
    _, reader = opened([page_of(photos=0)])
    assert len(reader.pages) == 1
    page = page_of()
    earlier = [replace(piece, pictures=()) for piece in page.pieces[1:]]
    _, reader = opened([replace(page, pieces=(page.pieces[0], *earlier))])
    assert len(reader.pages) == 1


def test_a_title_leads_and_an_empty_one_leaves_no_quotation_marks():
    page = page_of()
    named = replace(page, pieces=(replace(page.pieces[0], title="Tide line"), *page.pieces[1:]))
    _, reader = opened([named])
    words = reader.pages[0].extract_text()
    assert words.index("Tide line") < words.index("Lidless slab cup")
    _, reader = opened([replace(page, language=language("es"))])
    above = reader.pages[0].extract_text().split("Cómo leer")[0]
    assert "«»" not in above.replace(" ", "")


def test_only_the_window_of_a_photo_is_printed():
    left_red = Image.new("RGB", (1000, 800), "blue")
    left_red.paste("red", (0, 0, 500, 800))
    written = io.BytesIO()
    left_red.save(written, "JPEG", quality=95)
    page = page_of()
    picture = PrintedPicture(file=written.getvalue(), stage="glazed", window=(0.0, 0.0, 0.5, 1.0))
    told = replace(page.pieces[0], pictures=(picture,))
    printed, _ = opened([replace(page, pieces=(told,))])
    seen = picture_of(printed.pdf)
    assert ((seen[..., 0] > 200) & (seen[..., 2] < 60)).sum() > 5000
    assert not ((seen[..., 2] > 200) & (seen[..., 0] < 60)).any()
