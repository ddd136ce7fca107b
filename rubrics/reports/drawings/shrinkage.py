"""The ladder of shrinkage: one rung a stage, what came out against what was planned."""

from __future__ import annotations

from studio.ware.stages import STAGES

from ..layout import DrawingSheet, fitted, text_box
from ..palette import Role
from ..result_json import Facts
from ..scene import Circle, Line, Path, Rect, Scene, Text
from ..wording import HARD_SPACE, expanded, judged_of, number

TOP, RUNG = 30.0, 34.0
LEFT, RIGHT = 84.0, 44.0
DIMENSION_ROW = 17.0
MOST_DIMENSIONS = 5
DIAMOND = 5.0
DOT, CAP = 4.0, 4.0
BAND_HALF = 8.0


def picture(facts: Facts, width: float) -> Scene:
    """Draw the stages of a result of ``shrinkage``, and the sizes it comes from."""
    rungs = sorted(facts["rungs"], key=lambda r: STAGES.index(r["stage"]))
    rungs = [
        {
            "stage": STAGES[0],
            "linear_shrinkage": 0.0,
            "u_linear_shrinkage": 0.0,
            "planned_shrinkage": 0.0,
        },
        *(r for r in rungs if r["stage"] != STAGES[0]),
    ]
    dimensions = facts["dimensions"][:MOST_DIMENSIONS]
    more = len(facts["dimensions"]) - len(dimensions)
    foot = TOP + RUNG * (len(rungs) - 1) + 14.0
    rows = len(dimensions) + (1 if dimensions else 0) + (1 if more else 0)
    sheet = DrawingSheet(width, foot + 20.0 + DIMENSION_ROW * rows)
    _ladder(sheet, facts, rungs, foot)
    _dimensions(sheet, facts, dimensions, foot + 30.0, more)
    return sheet.scene()


def _ladder(sheet: DrawingSheet, facts: Facts, rungs: list[Facts], foot: float) -> None:
    reaches = [abs(r["linear_shrinkage"]) + expanded(r["u_linear_shrinkage"]) for r in rungs]
    reaches += [r["planned_shrinkage"] or 0.0 for r in rungs]
    lows = [r["linear_shrinkage"] - expanded(r["u_linear_shrinkage"]) for r in rungs]
    judged = judged_of(facts, "difference")
    limit = judged["limit"] if judged else 0.0
    low, high = min(0.0, *lows), max(*reaches, 0.01)
    high = max(high, (facts.get("planned_shrinkage") or 0.0) + limit) * 1.04

    def across(share: float) -> float:
        return LEFT + (share - low) / (high - low) * (sheet.width - LEFT - RIGHT)

    planned = [
        (across(r["planned_shrinkage"]), TOP + RUNG * i)
        for i, r in enumerate(rungs)
        if r["planned_shrinkage"] is not None
    ]
    sheet.add(Line(across(0.0), TOP - 8, across(0.0), foot, Role.AXIS))
    sheet.label(Text(0, 12, "shrunk since wet", Role.SOFT))
    for i, rung in enumerate(rungs):
        y = TOP + RUNG * i
        here = rung["stage"] == facts["stage"] and i > 0
        sheet.add(Line(LEFT, y, sheet.width - RIGHT, y, Role.AXIS))
        sheet.label(Text(0, y + 4, rung["stage"], Role.INK if here else Role.SOFT, 12.0, here))
        if here and judged and rung["planned_shrinkage"] is not None:
            a = across(max(rung["planned_shrinkage"] - limit, low))
            b = across(rung["planned_shrinkage"] + limit)
            sheet.add(Rect(a, y - BAND_HALF, b - a, 2 * BAND_HALF, Role.BAND))
            sheet.add(*(Line(e, y - BAND_HALF, e, y + BAND_HALF, Role.LIMIT) for e in (a, b)))
    if len(planned) > 1:
        sheet.add(Path(tuple(planned), Role.PLAN))
    sheet.add(*(_diamond(x, y) for x, y in planned))
    for i, rung in enumerate(rungs[1:], start=1):
        _rung(sheet, rung, TOP + RUNG * i, across, rung["stage"] == facts["stage"])
    if len(planned) > 1:
        x, y = planned[-1]
        said = f"planned {_percent(rungs[-1]['planned_shrinkage'] or 0.0)}"
        sheet.label_row(x, y + 21, said, Role.SOFT, anchor="middle")


def _rung(sheet: DrawingSheet, rung: Facts, y: float, across, here: bool) -> None:
    value, doubt = rung["linear_shrinkage"], expanded(rung["u_linear_shrinkage"])
    a, b = across(value - doubt), across(value + doubt)
    sheet.add(Line(a, y, b, y, Role.MEASURE))
    if b - a > 2 * DOT:
        sheet.add(*(Line(x, y - CAP, x, y + CAP, Role.MEASURE) for x in (a, b)))
    sheet.add(Circle(across(value), y, DOT, Role.MEASURE_DOT))
    text = Text(
        sheet.width, y + 4, _percent(value), Role.MEASURE_TEXT, 12.0, strong=here, anchor="end"
    )
    sheet.label(text)


def _percent(share: float) -> str:
    return f"{number(share * 100, 1)}%"


def _diamond(x: float, y: float) -> Path:
    return Path(
        ((x, y - DIAMOND), (x + DIAMOND, y), (x, y + DIAMOND), (x - DIAMOND, y)),
        Role.OPEN,
        closed=True,
    )


def _dimensions(
    sheet: DrawingSheet, facts: Facts, dimensions: list[Facts], top: float, more: int
) -> None:
    """What each size was, is, and was planned to be now."""
    if not dimensions:
        return
    columns = (sheet.width - 148, sheet.width - 74, sheet.width)
    for x, words in zip(columns, ("wet", "now", "planned"), strict=True):
        sheet.label(Text(x, top, words, Role.SOFT, anchor="end"))
    sheet.label(Text(0, top, "size in mm", Role.SOFT))
    for i, each in enumerate(dimensions, start=1):
        y = top + DIMENSION_ROW * i
        odd = each["name"] == facts.get("stands_out")
        cells = (each["wet_mm"], each["now_mm"], each.get("planned_now_mm"))
        for x, value, role in zip(
            columns, cells, (Role.SOFT, Role.MEASURE_TEXT, Role.SOFT), strict=True
        ):
            if value is not None:
                strong = role is Role.MEASURE_TEXT
                sheet.label(Text(x, y, number(value, 1), role, 12.0, strong, "end"))
        first = text_box(Text(columns[0], y, number(each["wet_mm"], 1), size=12.0, anchor="end"))
        name = each["name"].replace("_", HARD_SPACE) + (": stands out" if odd else "")
        role = Role.CLAY_TEXT if odd else Role.INK
        sheet.label(Text(0, y, fitted(name, first[0] - 8, 12.0, strong=odd), role, 12.0, odd))
    if more:
        y = top + DIMENSION_ROW * (len(dimensions) + 1)
        sheet.label(Text(0, y, f"and {more} more", Role.SOFT))
