"""Every graded figure, its uncertainty and its verdict, against the same written with SciPy."""

import pytest

from rubrics.checks.compute import check_piece

from .pieces import PLAN, full_piece
from .scipy_cup import check_cup

PIECES = 40

DERIVATIVES = 2e-4
"""Share by which a numerical derivative may leave ours, which is taken over a whole u."""


@pytest.mark.parametrize("seed", range(PIECES))
def test_every_figure_its_uncertainty_and_its_verdict_agree(seed):
    readings = full_piece(seed)
    ours = check_piece(readings, PLAN)
    figures, verdicts = check_cup(readings)
    for check, found in figures.items():
        for name, (value, u) in found.items():
            where = f"{check}.{name}"
            assert getattr(ours[check], name) == pytest.approx(value, rel=1e-8, abs=1e-8), where
            if u is not None:
                assert getattr(ours[check], f"u_{name}") == pytest.approx(u, rel=DERIVATIVES), where
    judged = {
        f"{result.check}.{each.figure}": each.verdict
        for result in ours.values()
        for each in result.judged
    }
    assert judged == verdicts
    assert len(judged) == len(PLAN.limits) - 1  # one rim diameter tells no roundness
