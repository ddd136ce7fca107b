"""A clay's own tests: shrinkage of marked bars by stage, and absorption by weighing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studio.ware.shrinkage import linear_shrinkage, volume_shrinkage
from studio.ware.stages import BONE_DRY, GLAZED, LATER_STAGES, WET

WHOLE_PERCENT = 100.0

BARS_OF_THE_STANDARD = 10
"""ASTM C326 asks for at least ten specimens."""


class BarError(ValueError):
    """Masses that carry no answer; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class StageShrinkage:
    """Shrinkage of several bars from wet to one stage, as fractions.

    ``spread`` is the sample standard deviation; None for a single bar.
    """

    stage: str
    bars: int
    mean: float
    spread: float | None
    least: float
    most: float

    @property
    def percent(self) -> float:
        return self.mean * WHOLE_PERCENT

    @property
    def spread_percent(self) -> float | None:
        return None if self.spread is None else self.spread * WHOLE_PERCENT

    @property
    def least_percent(self) -> float:
        return self.least * WHOLE_PERCENT

    @property
    def most_percent(self) -> float:
        return self.most * WHOLE_PERCENT


@dataclass(frozen=True, slots=True)
class BarResult:
    """What the bars of a clay say.

    ``firing_on_dry`` is the mean shrinkage from bone dry to glazed on the dry length; None where
    no bar was read at both. ``total_volume`` goes with the mean to glazed.
    """

    stages: tuple[StageShrinkage, ...]
    firing_on_dry: float | None
    total_volume: float | None

    @property
    def firing_percent(self) -> float | None:
        return None if self.firing_on_dry is None else self.firing_on_dry * WHOLE_PERCENT

    @property
    def total_volume_percent(self) -> float | None:
        return None if self.total_volume is None else self.total_volume * WHOLE_PERCENT

    def of(self, stage: str) -> StageShrinkage | None:
        return next((each for each in self.stages if each.stage == stage), None)


def bar_shrinkage(bars: Sequence[Mapping[str, float]]) -> BarResult:
    """Shrinkage of test bars by stage.

    Parameters
    ----------
    bars : sequence of mapping
        For each bar, the length of its marked line by stage. [mm] A bar without a wet reading
        tells nothing and is left out.

    Raises
    ------
    studio.ware.shrinkage.ShrinkageError
        A length that is not above zero.
    """
    told = []
    for stage in LATER_STAGES:
        values = [
            linear_shrinkage(bar[WET], bar[stage]) for bar in bars if WET in bar and stage in bar
        ]
        if values:
            told.append(_stage(stage, values))
    fired = [
        linear_shrinkage(bar[BONE_DRY], bar[GLAZED])
        for bar in bars
        if BONE_DRY in bar and GLAZED in bar
    ]
    total = next((each.mean for each in told if each.stage == GLAZED), None)
    return BarResult(
        stages=tuple(told),
        firing_on_dry=math.fsum(fired) / len(fired) if fired else None,
        total_volume=None if total is None else volume_shrinkage(total),
    )


def _stage(stage: str, values: Sequence[float]) -> StageShrinkage:
    n = len(values)
    mean = math.fsum(values) / n
    spread = None
    if n > 1:
        spread = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (n - 1))
    return StageShrinkage(stage, n, mean, spread, min(values), max(values))


@dataclass(frozen=True, slots=True)
class Absorption:
    """What three weighings of a fired piece say; shares as fractions."""

    exterior_volume_cm3: float
    porosity: float
    absorption: float
    apparent_gravity: float
    bulk_density_g_cm3: float

    @property
    def absorption_percent(self) -> float:
        return self.absorption * WHOLE_PERCENT

    @property
    def porosity_percent(self) -> float:
        return self.porosity * WHOLE_PERCENT


def absorption(dry_g: float, soaked_g: float, suspended_g: float) -> Absorption:
    """Absorption, porosity and density from the dry, soaked and suspended mass.

    V = M − S; P = (M − D) / V; A = (M − D) / D; T = D / (D − S); B = D / V.

    Parameters
    ----------
    dry_g, soaked_g, suspended_g : float
        D, after drying; M, soaked, wiped; S, soaked, hung in water. [g]

    Raises
    ------
    BarError
        Masses that cannot belong to one piece.

    References
    ----------
    .. [1] ASTM C373, water absorption, bulk density, apparent porosity and apparent specific
       gravity of fired whiteware: five hours of boiling, a day of soaking (formulas from memory).
    """
    if not (0 < suspended_g < dry_g <= soaked_g < math.inf):
        raise BarError(
            "Soaked weighs no less than dry, and suspended in water less than dry. Look whether "
            "two of the three were exchanged."
        )
    taken, outside = soaked_g - dry_g, soaked_g - suspended_g
    return Absorption(
        exterior_volume_cm3=outside,
        porosity=taken / outside,
        absorption=taken / dry_g,
        apparent_gravity=dry_g / (dry_g - suspended_g),
        bulk_density_g_cm3=dry_g / outside,
    )
