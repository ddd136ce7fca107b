"""A scene as SVG: what a strict page and a screen reader ask of it."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from rubrics.checks.register import checks
from rubrics.reports.drawings import draw, glance
from rubrics.reports.palette import Role
from rubrics.reports.scene import Circle, Line, Path, Rect, Scene, Text
from rubrics.reports.svg import to_svg

from .examples import facts_of

SVG = "{http://www.w3.org/2000/svg}"
NASTY = "<script>alert('x')</script> & \"quotes\" \x00\x0b"

ALLOWED = {
    # WAI-ARIA and SVG 2 attributes that are no style sheet and no script.
    "svg": {
        "class", "role", "aria-labelledby", "viewBox", "width", "height", "font-family",
        "stroke-linecap", "stroke-linejoin",
    },
    "title": {"id"},
    "desc": {"id"},
    "line": {"x1", "y1", "x2", "y2"},
    "path": {"d"},
    "circle": {"cx", "cy", "r"},
    "rect": {"x", "y", "width", "height", "rx"},
    "text": {"x", "y", "font-size", "font-weight", "text-anchor"},
}  # fmt: skip
PAINT = {"class", "fill", "stroke", "stroke-width", "stroke-dasharray"}


@pytest.mark.parametrize("kind", ["sound", "middling", "poor"])
@pytest.mark.parametrize("check", tuple(checks()))
def test_every_drawing_is_plain_and_titled(check, kind):
    svg = to_svg(
        draw(check, facts_of(kind)[check]), title="The title", desc="The words", uid="p12-a"
    )
    root = ElementTree.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "p12-a-title p12-a-desc"
    title, desc = root[0], root[1]
    assert (title.tag, title.text, title.get("id")) == (f"{SVG}title", "The title", "p12-a-title")
    assert (desc.tag, desc.text, desc.get("id")) == (f"{SVG}desc", "The words", "p12-a-desc")
    for element in root.iter():
        name = element.tag.removeprefix(SVG)
        assert set(element.attrib) <= ALLOWED[name] | PAINT, element.attrib


def test_the_same_scene_gives_the_same_markup():
    facts = facts_of("poor")["rim_level"]
    one, two = (to_svg(draw("rim_level", facts), title="t", desc="d", uid="u") for _ in range(2))
    assert one == two


def test_words_are_escaped_and_controls_left_out():
    scene = Scene(100, 20, (Text(0, 12, NASTY),))
    svg = to_svg(scene, title=NASTY, desc=NASTY, uid='x" onload="alert(1)')
    root = ElementTree.fromstring(svg)
    plain = "<script>alert('x')</script> & \"quotes\" "
    assert root[0].text == root[1].text == root[2].text == plain
    assert "<script" not in svg
    assert root.get("onload") is None


def test_ids_of_two_drawings_differ():
    scene = Scene(10, 10, ())
    first, second = (to_svg(scene, title="t", desc="d", uid=uid) for uid in ("a", "b"))
    ids = [e.get("id") for s in (first, second) for e in ElementTree.fromstring(s).iter()]
    named = [i for i in ids if i]
    assert len(named) == len(set(named)) == 4


def test_marks_become_their_elements():
    scene = Scene(
        50,
        40,
        (
            Line(1, 2, 3, 4, Role.PLAN),
            Circle(5, 6, 7, Role.MEASURE_DOT),
            Rect(8, 9, 10, 11, Role.BAND, 2),
            Path(((0, 0), (10, 0), (10, 10)), Role.CLAY, closed=True),
            Path(((0, 0), (10, 0), (10, 10)), Role.MEASURE, smooth=True),
        ),
    )
    elements = list(ElementTree.fromstring(to_svg(scene, title="t", desc="d")))[2:]
    line, circle, rect, closed, smooth = elements
    assert (line.get("x1"), line.get("y2"), line.get("stroke-dasharray")) == ("1", "4", "4 3")
    assert (circle.get("cx"), circle.get("r")) == ("5", "7")
    assert (rect.get("width"), rect.get("rx"), rect.get("fill")) == ("10", "2", "#e4ded2")
    assert closed.get("d") == "M0 0L10 0L10 10Z"
    assert smooth.get("d").count("C") == 2
    assert smooth.get("fill") == "none"


def test_a_glance_scales_its_picture():
    scene = glance("squared_foot", facts_of("sound")["squared_foot"], width=80)
    root = ElementTree.fromstring(to_svg(scene, title="t", desc="d"))
    assert root.get("width") == "80"


def test_words_have_a_role_of_words():
    with pytest.raises(ValueError, match="role of words"):
        to_svg(Scene(10, 10, (Line(0, 0, 1, 1, Role.INK),)), title="t", desc="d")
