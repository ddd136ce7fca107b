"""The printed sheet: one page, everything on it, nothing over its edge."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from rubrics.reports.feedback import FOOT, MARGIN, feedback_pdf
from rubrics.reports.paper.photos import readable
from rubrics.reports.paper.reasons import telling

from .examples import criterion, facts_of, shown_of

PHOTOS = Path(__file__).parents[2] / "fixtures" / "photos"
LONG = "Long words about this cup and how it came to be, told at length. " * 40
ONE_WORD = "Donaudampfschifffahrtsgesellschaft" * 20


def photo(name="K3-01-fired-side.jpg"):
    return (PHOTOS / name).read_bytes()


def page_of(pdf):
    reader = PdfReader(io.BytesIO(pdf))
    assert len(reader.pages) == 1
    return reader.pages[0]


def words_of(pdf):
    return " ".join(page_of(pdf).extract_text().replace("\N{NO-BREAK SPACE}", " ").split())


def places_of(pdf):
    """Where each run of words begins: (x, y, words)."""
    places = []

    def visit(text, cm, tm, font, size):
        if text.strip():
            x = cm[0] * tm[4] + cm[2] * tm[5] + cm[4]
            y = cm[1] * tm[4] + cm[3] * tm[5] + cm[5]
            places.append((x, y, text.strip()))

    page_of(pdf).extract_text(visitor_text=visit)
    return places


@pytest.mark.parametrize(("pagesize", "size"), [("letter", (612, 792)), ("a4", (595.28, 841.89))])
def test_one_page_says_everything(pagesize, size):
    shown = shown_of("middling")
    pdf = feedback_pdf(shown, [photo(), photo("K3-01-fired-top.jpg")], pagesize=pagesize)
    box = page_of(pdf).mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.01)
    words = words_of(pdf)
    for expected in (
        "Şeyma Nguyễn-Łukasz",
        "Lidless slab cup with a squared foot · Bell 4 · K3-07",
        "87%",
        "of 85 weight counted, of 100 in all",
        "What is strong",
        shown["strong"].replace("\u00a0", " "),
        "Next step",
        shown["next_steps"][0],
        "From your teacher",
        shown["words"],
        "4 Extending",
        "Excused",
        "The kiln's doing, not yours: a neighbour's glaze dripped on it.",
        "The readings alone said 2. Mended since it was measured.",
        "14 March 2026",
    ):
        assert expected in words
    for row in shown["criteria"]:
        assert row["name"] in words
    for name in telling(shown)[:2]:
        sentence = shown["checks"][name]["sentence"].replace("\N{NO-BREAK SPACE}", " ")
        assert sentence in words
    assert "Shortened" not in words


def test_every_check_is_told_drawn_or_in_a_line():
    words = words_of(feedback_pdf(shown_of("poor"), []))
    assert "Also: " in words
    for title in ("The seam and the darts", "The wall", "The rim", "The handle", "The foot",
                  "What the cup holds", "Shrinkage against the plan"):  # fmt: skip
        assert title in words


def test_fonts_are_embedded_and_properties_name_nobody():
    pdf = feedback_pdf(shown_of(), [])
    reader = PdfReader(io.BytesIO(pdf))
    fonts = reader.pages[0]["/Resources"]["/Font"]
    used = [font.get_object()["/FontDescriptor"].get_object() for font in fonts.values()]
    assert {d["/FontName"].split("+")[1] for d in used} >= {
        "SourceSansPro-Regular", "SourceSansPro-Semibold", "SourceSerifPro-Semibold",
    }  # fmt: skip
    assert all("/FontFile2" in d for d in used)
    assert reader.metadata.title == "Feedback on K3-07: Lidless slab cup with a squared foot"
    assert not reader.metadata.author
    assert "Nguyễn" not in str(reader.metadata)
    assert reader.trailer["/Root"]["/Lang"] == "en"


def test_the_same_assessment_prints_the_same_bytes():
    assert feedback_pdf(shown_of(), [photo()]) == feedback_pdf(shown_of(), [photo()])


def longest(words):
    rows = [
        criterion(
            letter, words[:80], "15.25", level=level, descriptor=words, note=words,
            reason=words, suggested=2, level_name=words[:30],
        )
        for letter, level in zip("ABCDEFG", (4, 3, 1, 3, 4, 1, 3), strict=True)
    ]  # fmt: skip
    return shown_of(
        "poor", student=words[:120], project=words[:120], section=words[:80], criteria=rows,
        words=words, strong=words, next_steps=[words] * 4, grade=words[:20], rubric=words[:120],
        weight_counted="85.25", weight_total="106.75",
    )  # fmt: skip


@pytest.mark.parametrize("pagesize", ["letter", "a4"])
@pytest.mark.parametrize("photos", [0, 1, 2])
@pytest.mark.parametrize("words", [LONG, ONE_WORD], ids=["long", "one word"])
def test_the_longest_words_stay_on_the_page(words, photos, pagesize):
    pdf = feedback_pdf(longest(words), [photo()] * photos, pagesize=pagesize)
    box = page_of(pdf).mediabox
    places = places_of(pdf)
    assert len(places) > 20
    for x, y, run in places:
        assert MARGIN - 1 <= x < float(box.width) - MARGIN, run
        assert MARGIN - 15 <= y <= float(box.height) - MARGIN + 1, run
    body = [y for _, y, run in places if not run.startswith(("Judged by", "Shortened"))]
    foot = [y for _, y, run in places if run.startswith(("Judged by", "Shortened"))]
    assert min(body) > max(foot)
    assert max(foot) <= MARGIN + FOOT
    assert "Shortened (…) to fit one page" in words_of(pdf)


def test_thirty_criteria_are_counted_rather_than_spilled():
    rows = [criterion(f"{n}", f"Criterion {n}", "3", descriptor=LONG) for n in range(1, 31)]
    words = words_of(feedback_pdf(shown_of(criteria=rows), []))
    assert "more on the screen" in words
    assert "Criterion 1" in words


def test_next_to_nothing_prints_too():
    bare = shown_of(
        criteria=[], checks={}, words=" ", strong="", next_steps=[], percent=None, grade=""
    )
    del bare["section"]
    words = words_of(feedback_pdf(bare, []))
    assert "Şeyma Nguyễn-Łukasz" in words
    assert "not graded yet" in words
    assert "None" not in words


def test_all_weight_counted_needs_no_word():
    shown = shown_of(weight_counted="100", weight_total="100")
    assert "weight counted" not in words_of(feedback_pdf(shown, []))


def test_markup_in_words_is_printed_as_typed():
    shown = shown_of(words="<b>5 < 6</b> & so on <img src='x'/>", student="A <i>& B")
    words = words_of(feedback_pdf(shown, []))
    assert "<b>5 < 6</b> & so on <img src='x'/>" in words
    assert "A <i>& B" in words


NO_FONT = "\N{LINEAR A SIGN AB001}"


def test_a_letter_that_no_font_has_is_explained():
    shown = shown_of(student=NO_FONT * 3, words=f"Well done {NO_FONT}!")
    words = words_of(feedback_pdf(shown, []))
    assert "Piece K3-07" in words
    assert "Well done ?!" in words
    assert "none of the typefaces" in words
    assert "none of the typefaces" not in words_of(feedback_pdf(shown_of(), []))


def test_a_name_in_another_script_is_printed():
    words = words_of(feedback_pdf(shown_of(student="李小龙", words="Nguyễn 李!"), []))
    assert words.startswith("李小龙")
    assert "Nguyễn 李!" in words


def test_a_photo_that_cannot_be_read_is_explained():
    words = words_of(feedback_pdf(shown_of(), [b"no photo at all"]))
    assert "photo could not be read" in words
    assert len(page_of(feedback_pdf(shown_of(), [b"no photo", photo()])).images) == 1


def test_photos_are_turned_upright_and_lose_what_the_camera_wrote():
    written = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: turn a quarter clockwise
    exif[0x010F] = "A maker"
    Image.new("RGB", (400, 200), "white").save(written, "JPEG", exif=exif)
    (ready,) = readable([written.getvalue()])
    with Image.open(io.BytesIO(ready)) as image:
        assert image.size == (200, 400)
        assert dict(image.getexif()) == {}


def test_the_most_telling_check_comes_first():
    assert telling(shown_of("poor"))[0] == "seam_join"  # a crack that goes through
    shown = shown_of("middling")
    verdicts = [shown["checks"][name]["facts"]["verdict"] for name in telling(shown)]
    assert verdicts == sorted(verdicts, key=["outside", "too close to call", "within"].index)
    assert len(verdicts) == len(facts_of("middling")) == 7


def test_an_unknown_page_size_is_said():
    with pytest.raises(ValueError, match="letter or a4"):
        feedback_pdf(shown_of(), [], pagesize="a5")
