"""The facts of a piece's checks for drawings and sentences: live, or frozen on publishing."""

from __future__ import annotations

from rubrics.craft import shrinkage
from rubrics.craft.readings import ReadingsError
from rubrics.craft.results import CHECKS, Refused, Result
from rubrics.craft.sheet import Sheet
from rubrics.evidence.collect import Evidence
from rubrics.reports.facts import Facts, as_facts
from studio.models import Piece
from studio.ware.stages import STAGES


def facts_by_check(evidence: Evidence, piece: Piece, *, refused: bool = False) -> dict[str, Facts]:
    """Facts by check name, in the order in which a piece is looked over.

    With ``refused`` also those of checks that the readings cannot carry yet.
    """
    results = evidence.of(piece)
    seam = getattr(results.get("handle_alignment"), "seam_azimuth_deg", None)
    return {
        name: as_facts(
            results[name],
            seam_azimuth_deg=seam,
            other_stages=_ladder(evidence, piece) if name == "shrinkage" else (),
        )
        for name in CHECKS
        if name in results and (refused or not isinstance(results[name], Refused))
    }


def _ladder(evidence: Evidence, piece: Piece) -> list[Result]:
    """Shrinkage at every stage that tells it: the rungs of its drawing."""
    sheet = Sheet(row.reading for row in evidence.rows.get(piece.pk, ()))
    rungs = []
    for stage in STAGES[1:]:
        try:
            rungs.append(shrinkage.from_sheet(sheet, stage, evidence.plan))
        except ReadingsError:
            # A stage that was not read has no rung.
            continue
    return rungs
