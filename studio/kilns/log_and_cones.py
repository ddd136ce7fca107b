"""From a firing's rows to ramp, log and verdicts of :mod:`studio.firing`."""

from collections.abc import Iterable
from dataclasses import dataclass

from studio.firing.cones import Cone, ConeError, cone
from studio.firing.cooling import cooling, opening
from studio.firing.drawing import FiringDrawing, draw
from studio.firing.log import Log, LogProblem
from studio.firing.log_facts import TIME_ABOVE_C, Facts, facts_of
from studio.firing.packing import unpack
from studio.firing.ramp import Ramp, Segment, plan_ramp
from studio.firing.verdict import FiringVerdict, LogVerdict, by_log, by_witnesses
from studio.models import Firing, FiringLog, WitnessCone


def planned_cone(firing: Firing) -> Cone | None:
    """The planned cone; None where none was planned."""
    try:
        return cone(firing.planned_cone) if firing.planned_cone else None
    except ConeError:  # a cone from before the table was asked
        return None


def segments_of(firing: Firing) -> list[Segment]:
    """The planned segments, in order."""
    return [
        Segment(each.rate_c_per_h, each.target_c, each.hold_min) for each in firing.segments.all()
    ]


def ramp_of(firing: Firing) -> Ramp | None:
    """The planned ramp; None where none was told."""
    segments = segments_of(firing)
    return plan_ramp(segments) if segments else None


def planned_peak_c(firing: Firing) -> float | None:
    """The peak that was planned: the ramp's, else the cone's. [°C]"""
    ramp, planned = ramp_of(firing), planned_cone(firing)
    if ramp is not None:
        return ramp.peak_c
    return float(planned.celsius) if planned else None


def log_of(row: FiringLog) -> Log:
    """A kept or waiting log as the pure parts take it."""
    minutes, celsius = unpack(row.points)
    return Log(
        minutes=minutes,
        celsius=celsius,
        unit=row.unit,
        unit_because="",
        line_count=row.line_count,
        problems=tuple(LogProblem(kind, sentence) for kind, sentence in row.problems),
    )


@dataclass(frozen=True, kw_only=True)
class Reckoned:
    """A log with all that is told of it."""

    log: Log
    facts: Facts
    verdict: LogVerdict | None
    cooling: FiringVerdict


def reckon(firing: Firing, row: FiringLog | None) -> Reckoned | None:
    """What a log of the firing tells, against its planned cone."""
    if row is None:
        return None
    log, planned = log_of(row), planned_cone(firing)
    facts = facts_of(log, above_c=planned.celsius - TIME_ABOVE_C if planned else None)
    return Reckoned(
        log=log,
        facts=facts,
        verdict=by_log(planned, facts) if planned else None,
        cooling=cooling(facts),
    )


def opening_of(firing: Firing, reckoned: Reckoned | None) -> FiringVerdict:
    """At what temperature the kiln was opened: as noted, else as the log shows."""
    return opening(firing.opened_c, reckoned.facts if reckoned else None)


def drawing_of(firing: Firing, reckoned: Reckoned | None) -> FiringDrawing | None:
    """The log against the ramp and the planned cone; None where there is nothing to draw."""
    planned = planned_cone(firing)
    end = None
    if reckoned and reckoned.verdict and reckoned.verdict.end:
        end = reckoned.verdict.end
    elif planned:
        end = planned.end_point(_planned_rate(firing))
    return draw(
        reckoned.log if reckoned else None,
        ramp_of(firing),
        end=end,
        cone=planned.name if planned else "",
        above_c=reckoned.facts.above_c if reckoned else None,
    )


def _planned_rate(firing: Firing) -> float:
    """The rate of the planned climb to the peak, else the slower published one. [°C/h]"""
    segments = segments_of(firing)
    climbs = [each for each in segments if each.rate_c_per_h]
    if not climbs:
        return 60.0
    hottest = max(climbs, key=lambda each: each.target_c)
    return hottest.rate_c_per_h


def shelf_verdicts(firing: Firing, read: Iterable[WitnessCone]) -> dict[int, FiringVerdict]:
    """The verdict of the witness cones by shelf; empty without a planned cone."""
    planned = planned_cone(firing)
    if planned is None:
        return {}
    by_shelf: dict[int, list[tuple[Cone, str]]] = {}
    for each in read:
        by_shelf.setdefault(each.shelf, []).append((cone(each.cone), each.bend))
    return {shelf: by_witnesses(planned, cones) for shelf, cones in sorted(by_shelf.items())}
