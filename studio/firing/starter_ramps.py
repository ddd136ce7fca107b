"""Ramps to start from, for bisque and glaze at common cones.

Their last 100 °C climb at the slower published rate, so each ends where the table says that its
cone is down (:mod:`studio.firing.cones`). What comes before is common practice, no source: a
kiln's manual, a clay's and a glaze's data sheet come first.
"""

from __future__ import annotations

from dataclasses import dataclass

from .cones import LAST_CLIMB_C, SLOW_C_PER_H, Cone
from .ramp import GENTLE_C_PER_H, WATER_OUT_C, Segment

BISQUE, GLAZE = "bisque", "glazed"
CANDLE = Segment(60.0, 95.0, 120.0)
DRY = Segment(GENTLE_C_PER_H, WATER_OUT_C)
BURN_OUT = Segment(100.0, 650.0)
"""Slow while bound water and what burns leave the clay, through the quartz range."""
SETTLE_MIN = 10.0
"""A short hold lets a glaze settle and adds less heat-work than the table can see. [min]"""


@dataclass(frozen=True, slots=True)
class StarterRamp:
    """A ramp as it ships: for which kind of firing and cone, and what to take care of."""

    key: str
    title: str
    kind: str
    cone: str
    segments: tuple[Segment, ...]
    about: str


def _climb(cone: str, fast_c_per_h: float, hold_min: float = 0.0) -> tuple[Segment, ...]:
    """Up to the last 100 °C, then at the table's rate to the cone's end point."""
    end = float(Cone(cone).celsius)
    return Segment(fast_c_per_h, end - LAST_CLIMB_C), Segment(SLOW_C_PER_H, end, hold_min)


def _bisque(cone: str, about: str) -> StarterRamp:
    return StarterRamp(
        f"bisque-{cone}",
        f"Bisque, cone {cone}",
        BISQUE,
        cone,
        (CANDLE, DRY, BURN_OUT, *_climb(cone, 150.0)),
        about,
    )


def _glaze(cone: str, about: str) -> StarterRamp:
    return StarterRamp(
        f"glaze-{cone}",
        f"Glaze, cone {cone}",
        GLAZE,
        cone,
        (Segment(GENTLE_C_PER_H, 120.0), *_climb(cone, 180.0, SETTLE_MIN)),
        about,
    )


STARTER_RAMPS = {
    ramp.key: ramp
    for ramp in (
        _bisque(
            "04",
            "For clay that is glazed at cone 06 to 6. All is bone dry; thick or doubtful work "
            "candles overnight.",
        ),
        _bisque(
            "06",
            "A softer bisque that takes more glaze. All is bone dry; thick or doubtful work "
            "candles overnight.",
        ),
        _glaze("06", "For low-fire glazes on an earthenware. Feet wiped, glaze dry."),
        _glaze("05", "For low-fire glazes that ask for cone 05. Feet wiped, glaze dry."),
        _glaze("6", "For mid-fire glazes on a mid-fire stoneware: never on a low-fire clay."),
        _glaze("10", "For a stoneware of cone 10, in a kiln whose plate allows it."),
    )
}
