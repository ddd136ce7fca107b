"""Flowables side by side and below each other."""

from __future__ import annotations

from reportlab.platypus import Flowable, Table, TableStyle

from studio.lettering.fonts import SANS

BETWEEN_COLUMNS = 18.0
"""Room between two columns. [pt]"""


def columns(cells: list, widths: list[float], *extra: tuple) -> Table:
    """A row without a frame; ``extra`` are further table commands."""
    return Table(
        [cells],
        colWidths=widths,
        style=TableStyle(
            [
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
                ("TOPPADDING", (0, 0), (-1, -1), 0),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("FONTNAME", (0, 0), (-1, -1), SANS),
                *extra,
            ]
        ),
    )


def stack(parts: list[Flowable], width: float) -> Table:
    """Flowables below each other as one."""
    return columns([parts], [width])
