"""The same scene on paper: same words, same size, embedded fonts only."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from rubrics.checks.register import checks
from rubrics.reports.drawings import draw
from rubrics.reports.drawings.levels import level_boxes
from rubrics.reports.palette import Role
from rubrics.reports.print_drawing import to_reportlab
from rubrics.reports.scene import Scene, Text
from studio.lettering.fonts import SANS

from .examples import facts_of


def printed(scene, **kind):
    written = io.BytesIO()
    canvas = Canvas(written, pagesize=(400, 600), initialFontName=SANS, invariant=1)
    drawing = to_reportlab(scene, **kind)
    assert drawing.wrap(1, 1) == (drawing.width, drawing.height)
    drawing.drawOn(canvas, 20, 30)
    canvas.save()
    return drawing, PdfReader(io.BytesIO(written.getvalue())).pages[0]


@pytest.mark.parametrize("check", tuple(checks()))
def test_paper_holds_every_word_of_the_page(check):
    scene = draw(check, facts_of("poor")[check])
    drawing, page = printed(scene)
    # CSS: 96 px and 72 pt are an inch.
    assert (drawing.width, drawing.height) == pytest.approx(
        (scene.width * 72 / 96, scene.height * 72 / 96)
    )
    words = " ".join(page.extract_text().split())
    for text in scene.texts():
        assert " ".join(text.words.split()) in words
    for font in page["/Resources"]["/Font"].values():
        assert "/FontFile2" in font.get_object()["/FontDescriptor"].get_object()


def test_words_stand_where_the_page_has_them():
    scene = Scene(100, 50, (Text(10, 20, "here", Role.INK, 10.0),))
    _, page = printed(scene, width=200)
    found = []

    def visit(text, cm, tm, font, size):
        if text.strip():
            found.append((cm[0] * tm[4] + cm[4], cm[3] * tm[5] + cm[5]))

    page.extract_text(visitor_text=visit)
    # Twice as large, 20 pt from the left and 30 from below; y counts downwards from 50.
    assert found == [pytest.approx((20 + 2 * 10, 30 + 2 * (50 - 20)))]


@pytest.mark.parametrize(("level", "full"), [(None, 0), (1, 1), (3, 3), (4, 4)])
def test_a_level_fills_as_many_boxes(level, full):
    roles = [mark.role for mark in level_boxes(level).marks]
    assert len(roles) == 4
    assert roles.count(Role.BOX_FULL) == full
    assert roles.count(Role.BOX_NONE) == (4 if level is None else 0)
