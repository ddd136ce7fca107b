"""The smaller parts that the results of the craft checks are made of."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(slots=True)
class Judged:
    """One figure against its limit. A signed figure is judged on its magnitude.

    ``graded`` is whether the project's rubric has a limit for it; one that is not graded says how
    the piece compares with common practice and counts for no level.
    """

    figure: str
    value: float
    u: float
    limit: float
    verdict: str
    graded: bool = True


@dataclass(slots=True)
class Refused:
    """A check that the readings cannot carry, and the sentence that says what to do about it."""

    check: str
    stage: str
    sentence: str


@dataclass(slots=True)
class Station:
    """A place on the wall or the rim and the value read there."""

    value_mm: float
    height_mm: float | None
    azimuth_deg: float | None


@dataclass(slots=True)
class Join:
    """One seam or dart: its length, its open parts (from, to; overlaps merged) and its steps."""

    name: str
    length_mm: float | None
    length_source: str
    """"read", "scaled" (another stage's), "plan", or "" where no length is known."""
    open_parts_mm: tuple[tuple[float, float], ...]
    unplaced_open_mm: tuple[float, ...]
    """Lengths of open parts of which nobody said where they start."""
    through_parts_mm: tuple[tuple[float, float], ...]
    steps_mm: tuple[tuple[float | None, float], ...]
    """(where along the join, step) for every step read."""
    open_mm: float
    longest_open_mm: float
    longest_through_mm: float
    largest_step_mm: float | None


@dataclass(slots=True, kw_only=True)
class DimensionShrinkage:
    """One dimension: what it was, what it is, and why it missed its planned size.

    ``making_mm + clay_mm == miss_mm`` exactly: what the making did and what the clay did, split
    in logarithms. ``standing`` is how many standard uncertainties the dimension stands from
    what the others say together. Fields that need a planned size are None without one.
    """

    name: str
    height_mm: float | None
    wet_mm: float
    now_mm: float
    shrinkage: float
    u_shrinkage: float
    standing: float | None = None
    planned_fired_mm: float | None = None
    planned_wet_mm: float | None = None
    planned_now_mm: float | None = None
    miss_mm: float | None = None
    making_mm: float | None = None
    clay_mm: float | None = None
    expected_fired_mm: float | None = None
    u_expected_fired_mm: float | None = None
    expected_low_mm: float | None = None
    expected_high_mm: float | None = None
