"""What every role in a drawing looks like, once for the page and for paper.

The colours are those of the pages: ink on paper, fired clay, slate for what was measured. Each
role that must be told from another differs in shape, width or lightness too, so that a grey print
and a colour-blind eye read the same drawing.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

INK = "#27211b"
SOFT = "#62574b"
EDGE = "#8f8171"
CLAY = "#9a4320"
CLAY_WASH = "#f1dccb"
CLAY_SOFT = "#dba486"
SLATE = "#2c566b"
SLATE_WASH = "#d9e8ee"
BAND = "#e4ded2"
SHEET = "#fffdf9"
QUIET = "#f9f3ec"
"""Ground of words set apart on paper: lighter than any clay."""


class Role(StrEnum):
    """What a mark means; never what it looks like."""

    INK = "ink"
    """The words that matter."""
    SOFT = "soft"
    """The words beside."""
    MEASURE_TEXT = "measure-text"
    CLAY_TEXT = "clay-text"
    ON_DARK = "on-dark"
    """Words on a full clay ground."""
    PAPER = "paper"
    """Opaque ground: what is cut out of something."""
    AXIS = "axis"
    CLAY = "clay"
    """A body of clay: filled, with an edge."""
    CLAY_LINE = "clay-line"
    CLAY_DARK = "clay-dark"
    """Clay that asks for the eye: the thin side, the arrow, a step."""
    ASK = "ask"
    """A line of the same."""
    TAKE_OFF = "take-off"
    """Clay that is to come off."""
    BAND = "band"
    """Where the figure may be."""
    BAND_EDGE = "band-edge"
    LIMIT = "limit"
    PLAN = "plan"
    MEASURE = "measure"
    MEASURE_WASH = "measure-wash"
    MEASURE_DOT = "measure-dot"
    OPEN = "open"
    """A gap in the clay."""
    CRACK = "crack"
    BOX_FULL = "box-full"
    """A level reached; the next two: not reached, and no level."""
    BOX_EMPTY = "box-empty"
    BOX_NONE = "box-none"


@dataclass(frozen=True, slots=True)
class Style:
    """Colours as #rrggbb, a width in units of the drawing, a dash as lengths."""

    stroke: str | None = None
    fill: str | None = None
    width: float = 0.0
    dash: tuple[float, ...] = ()


LOOKS: dict[Role, Style] = {
    Role.INK: Style(fill=INK),
    Role.SOFT: Style(fill=SOFT),
    Role.MEASURE_TEXT: Style(fill=SLATE),
    Role.CLAY_TEXT: Style(fill=CLAY),
    Role.ON_DARK: Style(fill=SHEET),
    Role.PAPER: Style(fill=SHEET),
    Role.AXIS: Style(stroke=EDGE, width=0.75),
    Role.CLAY: Style(stroke=EDGE, fill=CLAY_WASH, width=1.0),
    Role.CLAY_LINE: Style(stroke=EDGE, width=1.0),
    Role.CLAY_DARK: Style(fill=CLAY),
    Role.ASK: Style(stroke=CLAY, width=2.0),
    Role.TAKE_OFF: Style(stroke=CLAY, fill=CLAY_SOFT, width=1.0),
    Role.BAND: Style(fill=BAND),
    Role.BAND_EDGE: Style(stroke=EDGE, width=1.0),
    Role.LIMIT: Style(stroke=INK, width=1.5),
    Role.PLAN: Style(stroke=SOFT, width=1.25, dash=(4.0, 3.0)),
    Role.MEASURE: Style(stroke=SLATE, width=2.0),
    Role.MEASURE_WASH: Style(stroke=SLATE, fill=SLATE_WASH, width=1.0),
    Role.MEASURE_DOT: Style(stroke=SHEET, fill=SLATE, width=1.0),
    Role.OPEN: Style(stroke=INK, fill=SHEET, width=1.25),
    Role.CRACK: Style(stroke=INK, fill=INK, width=1.0),
    Role.BOX_FULL: Style(stroke=CLAY, fill=CLAY, width=1.0),
    Role.BOX_EMPTY: Style(stroke=EDGE, fill=SHEET, width=1.0),
    Role.BOX_NONE: Style(stroke=EDGE, fill=SHEET, width=1.0, dash=(2.0, 2.0)),
}

TEXT_ROLES = (Role.INK, Role.SOFT, Role.MEASURE_TEXT, Role.CLAY_TEXT)
"""On paper; words on a dark ground have a role of their own."""

LINE_ROLES = (
    Role.AXIS,
    Role.CLAY_LINE,
    Role.ASK,
    Role.BAND_EDGE,
    Role.LIMIT,
    Role.PLAN,
    Role.MEASURE,
)


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb, 0 black to 1 white.

    References
    ----------
    .. [1] WCAG 2.2, definition of relative luminance.
    """
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)
