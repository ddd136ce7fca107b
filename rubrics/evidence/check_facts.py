"""The facts of a piece's checks for drawings and sentences: live, or frozen on publishing."""

from __future__ import annotations

from rubrics.checks.descriptor import Check
from rubrics.checks.register import checks
from rubrics.craft.readings import ReadingsError
from rubrics.craft.results import Refused
from rubrics.craft.sheet import Sheet
from rubrics.evidence.collect import Evidence
from rubrics.reports.result_json import Facts, as_facts
from studio.models import Piece
from studio.ware.stages import LATER_STAGES


def facts_by_check(evidence: Evidence, piece: Piece, *, refused: bool = False) -> dict[str, Facts]:
    """Facts by check name, in the order in which a piece is looked over.

    With ``refused`` also those of checks that the readings cannot carry yet.
    """
    results = evidence.of(piece)
    azimuths = (getattr(result, "seam_azimuth_deg", None) for result in results.values())
    seam = next((azimuth for azimuth in azimuths if azimuth is not None), None)
    clay = evidence.condition(piece)
    return {
        name: as_facts(
            results[name],
            seam_azimuth_deg=seam,
            clay=clay,
            rim_meant=evidence.rim_meant(piece),
            planned_height_mm=evidence.plan.planned_mm("height", results[name].stage),
            rungs=_rungs(evidence, piece, check),
        )
        for name, check in checks().items()
        if name in results and (refused or not isinstance(results[name], Refused))
    }


def _rungs(evidence: Evidence, piece: Piece, check: Check) -> list[Facts]:
    """What every stage tells, of a check that looks across them."""
    if check.rung is None:
        return []
    sheet = Sheet(row.reading for row in evidence.rows.get(piece.pk, ()))
    rungs = []
    for stage in LATER_STAGES:
        try:
            rungs.append(check.rung(check.compute(sheet, stage, evidence.plan)))
        except ReadingsError:
            # A stage that was not read has no rung.
            continue
    return rungs
