"""One row a criterion: its name, its level as boxes and word, what the level means."""

from __future__ import annotations

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, Table, TableStyle

from studio.lettering.fonts import SANS

from ..drawings.levels import WIDTH, level_boxes
from ..palette import EDGE
from ..print_drawing import POINTS_PER_UNIT, to_reportlab
from ..shown import ShownCriterion
from . import styles
from .fit import Fit, Notes


def criteria(
    criteria: list[ShownCriterion], fit: Fit, notes: Notes, width: float
) -> Flowable | None:
    """One row a criterion: its name, its level as boxes and word, what the level means."""
    if not criteria:
        return None
    shown = criteria[: fit.criteria]
    widths = [width * 0.25, WIDTH * POINTS_PER_UNIT + 9.0, width * 0.15]
    widths.append(width - sum(widths))
    rows = [_criterion(criterion, fit, notes) for criterion in shown]
    if len(criteria) > len(shown):
        more = f"and {len(criteria) - len(shown)} more on the screen"
        rows.append([styles.soft(more, fit.text), "", "", ""])
    padding = 2.6 if fit.gap > 6 else 1.4
    return Table(
        rows,
        colWidths=widths,
        style=TableStyle(
            [
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 6),
                ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
                ("TOPPADDING", (0, 0), (-1, -1), padding),
                ("TOPPADDING", (1, 0), (1, -1), padding + 1.2),
                ("BOTTOMPADDING", (0, 0), (-1, -1), padding),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("FONTNAME", (0, 0), (-1, -1), SANS),
                ("LINEBELOW", (0, 0), (-1, -2), 0.5, HexColor(EDGE)),
            ]
        ),
    )


def _criterion(criterion: ShownCriterion, fit: Fit, notes: Notes) -> list:
    name = notes.text(f"{criterion['letter']}  {criterion['name']}", 60)
    level = criterion["level"]
    if criterion["excused"]:
        word = "Excused"
    elif level is None:
        word = "not looked at"
    else:
        word = notes.text(f"{level} {criterion['level_name']}", 24)
    meaning: list[Flowable] = []
    if fit.descriptor and criterion["descriptor"]:
        meaning.append(styles.plain(notes.text(criterion["descriptor"], fit.descriptor), fit.text))
    elif criterion["descriptor"]:
        notes.shortened = True
    meaning += [
        styles.soft(notes.text(remark, fit.remark), fit.text - 0.5)
        for remark in _remarks(criterion)
        if fit.remark
    ]
    return [
        styles.strong(name, fit.text),
        to_reportlab(level_boxes(level)),
        styles.plain(word, fit.text),
        meaning,
    ]


def _remarks(criterion: ShownCriterion) -> list[str]:
    """Why it is excused or differs from the readings, and the teacher's note."""
    remarks = []
    level, suggested = criterion["level"], criterion["suggested"]
    if criterion["excused"]:
        reason = criterion["reason"]
        remarks.append(f"Left out of the grade. {reason}" if reason else "Left out of the grade.")
    elif level is not None and suggested is not None and level != suggested:
        told = f"The readings alone said {suggested}."
        remarks.append(f"{told} {criterion['reason']}" if criterion["reason"] else told)
    if criterion["note"]:
        remarks.append(criterion["note"])
    return remarks
