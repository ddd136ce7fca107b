"""The bar under every drawing: a figure with its doubt, against what it may be."""

from __future__ import annotations

from typing import Any

from rubrics.checks.descriptor import Check, Figure
from rubrics.checks.saying import is_nothing
from rubrics.craft.results import OUTSIDE, TOO_CLOSE, WITHIN

from ..layout import DrawingSheet, fitted, text_box
from ..palette import Role
from ..scene import Circle, Line, Rect, Scene, Text, stacked
from ..wording import (
    VERDICT_WORDS,
    expanded,
    is_graded,
    limit_words,
    with_doubt,
)

HEIGHT = 48.0
NAME_Y, BAR_Y, WORDS_Y = 11.0, 25.0, 45.0
BAND_HALF, LIMIT_HALF, CAP_HALF, DOT = 6.0, 9.0, 4.0, 4.0
AXIS_BEYOND_LIMIT = 1.6
"""The axis reaches this much past the limit, so that a band looks like a band."""
AXIS_BEYOND_VALUE = 1.04
GAP = 10.0

MARK_WIDTH, MARK_HEIGHT = 16.0, 9.0
MARK_DOT = 2.75
MARK_ROOM = 32.0


def bars(check: Check, judged: list[dict[str, Any]], width: float) -> Scene:
    """All judged figures of a check, one below the other, without lacks that it has none of."""
    shown = (each for each in judged if not is_nothing(check, each))
    rows = [bar(check.figure(each["figure"]), each, width) for each in shown]
    return stacked(width, rows, gap=GAP)


def bar(figure: Figure, judged: dict[str, Any], width: float) -> Scene:
    """Draw one figure: the band up to its limit, its interval, the verdict as shape and word."""
    value, limit = judged["value"], judged["limit"]
    doubt = expanded(judged["u"])
    sheet = DrawingSheet(width, HEIGHT)
    said = Text(
        width,
        NAME_Y,
        with_doubt(figure.name, value, judged["u"]),
        Role.MEASURE_TEXT,
        12.0,
        strong=True,
        anchor="end",
    )
    sheet.label(said)
    room = text_box(said)[0] - 8.0
    sheet.label(Text(0, NAME_Y, fitted(figure.axis, room, 12.0), Role.INK, 12.0))

    signed = figure.signed
    reach = max(limit * AXIS_BEYOND_LIMIT, (abs(value) + doubt) * AXIS_BEYOND_VALUE)
    reach = reach or 1.0
    low = -reach if signed else 0.0

    def across(at: float) -> float:
        return (max(at, low) - low) / (reach - low) * width

    start, edge = across(-limit if signed else 0.0), across(limit)
    sheet.add(
        Rect(start, BAR_Y - BAND_HALF, edge - start, 2 * BAND_HALF, Role.BAND),
        Line(across(low), BAR_Y, across(reach), BAR_Y, Role.AXIS),
        Line(edge, BAR_Y - LIMIT_HALF, edge, BAR_Y + LIMIT_HALF, Role.LIMIT),
    )
    if signed:
        middle = across(0.0)
        sheet.add(
            Line(start, BAR_Y - LIMIT_HALF, start, BAR_Y + LIMIT_HALF, Role.LIMIT),
            Line(middle, BAR_Y - BAND_HALF, middle, BAR_Y + BAND_HALF, Role.AXIS),
        )
    sheet.add(*_interval(across(value - doubt), across(value), across(value + doubt)))
    _limit_and_verdict(sheet, judged, edge, signed)
    return sheet.scene()


def _interval(low: float, at: float, high: float) -> list:
    marks = [Line(low, BAR_Y, high, BAR_Y, Role.MEASURE)]
    if high - low > 2 * DOT:
        marks += [Line(x, BAR_Y - CAP_HALF, x, BAR_Y + CAP_HALF, Role.MEASURE) for x in (low, high)]
    return [*marks, Circle(at, BAR_Y, DOT, Role.MEASURE_DOT)]


def _limit_and_verdict(
    sheet: DrawingSheet, judged: dict[str, Any], edge: float, signed: bool
) -> None:
    limit = limit_words(judged["figure"], judged["limit"])
    words = f"limit ±{limit}" if signed else f"limit {limit}"
    said = VERDICT_WORDS[judged["verdict"]]
    if not is_graded(judged):
        said = f"{said}, not graded"
    verdict = Text(MARK_ROOM, WORDS_Y, said, Role.INK, 12.0, True)
    left_end = text_box(verdict)[2]
    at_edge = sheet.inside(Text(edge, WORDS_Y, words, Role.SOFT, anchor="middle"))
    if text_box(at_edge)[0] < left_end + 10.0:
        # The limit sits at the left: the verdict goes to the right end.
        shift = sheet.width - left_end
        verdict = Text(verdict.x + shift, WORDS_Y, verdict.words, Role.INK, 12.0, True)
    sheet.add(*verdict_mark(judged["verdict"], verdict.x - MARK_ROOM, WORDS_Y - MARK_HEIGHT))
    sheet.label(verdict)
    sheet.label(at_edge)


def verdict_mark(verdict: str, x: float, y: float) -> list:
    """A small box with a dot in it, on its edge, or beyond it."""
    at = {WITHIN: MARK_WIDTH / 2, TOO_CLOSE: MARK_WIDTH, OUTSIDE: MARK_WIDTH + 6.0}[verdict]
    middle = y + MARK_HEIGHT / 2
    return [
        Rect(x + 0.75, y, MARK_WIDTH, MARK_HEIGHT, Role.BAND),
        Line(x + 0.75, y, x + MARK_WIDTH, y, Role.BAND_EDGE),
        Line(x + 0.75, y + MARK_HEIGHT, x + MARK_WIDTH, y + MARK_HEIGHT, Role.BAND_EDGE),
        Line(x + 0.75, y, x + 0.75, y + MARK_HEIGHT, Role.BAND_EDGE),
        Line(x + MARK_WIDTH, y - 1, x + MARK_WIDTH, y + MARK_HEIGHT + 1, Role.LIMIT),
        Circle(x + at, middle, MARK_DOT + 0.5, Role.MEASURE_DOT),
    ]


def unlimited(figure: Figure, value: float | None, u: float | None, width: float) -> Scene:
    """The figure of a check that nobody set a limit for."""
    if value is None:
        return Scene(width, 0.0, ())
    sheet = DrawingSheet(width, 16.0)
    said = with_doubt(figure.name, value, u)
    sheet.label(Text(width, NAME_Y, said, Role.MEASURE_TEXT, 12.0, True, "end"))
    sheet.label(Text(0, NAME_Y, figure.axis, Role.INK, 12.0))
    return sheet.scene()
