"""The door to the craft checks: readings of one piece or of many, and a plan, to results."""

from __future__ import annotations

import gc
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager

from rubrics.craft.inputs import NotReadError, TooFewError
from rubrics.craft.plan import Plan
from rubrics.craft.readings import Reading, ReadingsError
from rubrics.craft.results import Refused, Result
from rubrics.craft.sheet import Sheet
from studio.ware.stages import STAGES

from .descriptor import Check
from .register import checks

_LATEST_FIRST = tuple(reversed(STAGES))


def check_piece(
    readings: Iterable[Reading], plan: Plan, stage: str | None = None
) -> dict[str, Result]:
    """Compute every craft check that the readings of one piece speak to.

    Parameters
    ----------
    readings : iterable of Reading
        All current readings of the piece, of whatever stages.
    plan : Plan
        What the piece was meant to be.
    stage : str, optional
        The stage to check. Else each check takes the latest stage whose readings can carry it.

    Returns
    -------
    dict
        Result by check name. A check that the readings cannot carry is a ``Refused``; one that
        nothing was read for is absent.
    """
    if stage is not None and stage not in STAGES:
        raise ReadingsError(f"“{stage}” is not a stage; the stages are {', '.join(STAGES)}.")
    sheet = Sheet(readings)
    results: dict[str, Result] = {}
    for name, check in checks().items():
        result = _latest(check, sheet, plan, (stage,) if stage else _LATEST_FIRST)
        if result is not None:
            results[name] = result
    return results


def check_pieces(
    readings_by_piece: Mapping[str, Iterable[Reading]],
    plan: Plan | Mapping[str, Plan],
    stage: str | None = None,
) -> dict[str, dict[str, Result]]:
    """Compute the craft checks of many pieces; see :func:`check_piece`.

    ``plan`` is one plan for all, or a plan by piece.
    """
    with _collector_paused():
        return {
            piece: check_piece(readings, plan if isinstance(plan, Plan) else plan[piece], stage)
            for piece, readings in readings_by_piece.items()
        }


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Hold back the search for reference cycles, of which results have none.

    Thousands of results at once would be walked again and again: a sixth of the time, measured.
    Afterwards they count as old without a walk, which a twelfth more would go into.
    """
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        if gc.get_freeze_count() == 0:  # else somebody keeps objects frozen, who stay so
            gc.freeze()
            gc.unfreeze()
        gc.enable()


def _latest(check: Check, sheet: Sheet, plan: Plan, stages: Iterable[str]) -> Result | None:
    """Try the stages in order; too few readings at one send the check on to the next.

    Readings that are wrong stop it: an older stage must not hide them.
    """
    refused = None
    for quantities in (check.needs, check.also):
        read_at = sheet.stages(quantities)
        for stage in stages:
            if stage not in read_at:
                continue
            try:
                return check.compute(sheet, stage, plan)
            except NotReadError:
                continue
            except TooFewError as error:
                refused = refused or Refused(check.name, stage, str(error))
            except ReadingsError as error:
                return Refused(check.name, stage, str(error))
    return refused
