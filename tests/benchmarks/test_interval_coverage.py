"""How often each interval holds the true figure, by simulation under a halo."""

import numpy as np
import pytest

from rubrics.stats.agreement import icc_2_1, limits_of_agreement, shares, weighted_kappa
from rubrics.stats.drift import between_readers, over_sitting, own_and_teacher
from rubrics.stats.errors import CannotTellError
from rubrics.stats.measuring_study import measuring_study
from tests.stats.readers import CUTS, percents, read

pytestmark = pytest.mark.benchmark

RUNS = 1500
LEAST, MOST = 0.93, 0.97
"""What 95 % may come out as; of 1500 runs the simulation itself strays by 0.011 (two errors)."""

TRUE_PIECES = 400_000
SITUATIONS = [
    # class, spread of a reader's error, what the second reader adds
    ("a usual class", 0.3, 0.1),
    ("a usual class", 0.6, 0.2),
    ("a usual class", 1.0, 0.3),
    ("a strong class", 0.6, 0.2),
]
PIECES = [15, 30, 60]


def _covers(estimate, true):
    return estimate.low <= true <= estimate.high


def _told(figure, hits, name, true, run):
    try:
        hits.setdefault(name, []).append(_covers(figure(*run), true))
    except CannotTellError:
        hits.setdefault(name, [])


def _table(title, rows):
    print(f"\n{title}")
    names = list(rows[0][1])
    print(f"{'':44}" + "".join(f"{name:>14}" for name in names))
    for label, found in rows:
        print(f"{label:44}" + "".join(f"{found[name]:14.3f}" for name in names))
    means = {name: float(np.mean([found[name] for _, found in rows])) for name in names}
    print(f"{'mean':44}" + "".join(f"{means[name]:14.3f}" for name in names))
    return means


def _true(a, b):
    """The figures themselves, from so many pieces that they no longer move."""
    apart = percents(b) - percents(a)
    x, y = percents(a), percents(b)
    covariance = np.cov(x, y)
    both = covariance[0, 1] / (covariance.trace() / 2 + apart.mean() ** 2 / 2)
    top = ((a - b) ** 2).mean(axis=0)
    below = a.var(axis=0) + b.var(axis=0) + (a - b).mean(axis=0) ** 2
    return {
        "kappa": 1 - top[0] / below[0],
        "kappa, all": 1 - top.sum() / below.sum(),
        "same": (a[:, 0] == b[:, 0]).mean(),
        "same, all": (a == b).mean(),
        "near, all": (np.abs(a - b) <= 1).mean(),
        "ICC(2,1)": both,
        "low limit": apart.mean() - 1.959964 * apart.std(),
        "mean": apart.mean(),
        "high limit": apart.mean() + 1.959964 * apart.std(),
        "severity": (b - a)[:, 0].mean(),
    }


def _agreement(a, b, pieces, rng, true):
    hits = {}
    for _ in range(RUNS):
        rows = rng.integers(0, len(a), pieces)
        x, y = a[rows], b[rows]
        _told(weighted_kappa, hits, "kappa", true["kappa"], (x[:, 0], y[:, 0]))
        _told(weighted_kappa, hits, "kappa, all", true["kappa, all"], (x, y))
        all_shares = shares(x, y)
        for name, estimate in (
            ("same", shares(x[:, 0], y[:, 0]).same),
            ("same, all", all_shares.same),
            ("near, all", all_shares.near),
        ):
            hits.setdefault(name, []).append(_covers(estimate, true[name]))
        p, q = percents(x), percents(y)
        _told(icc_2_1, hits, "ICC(2,1)", true["ICC(2,1)"], (np.stack([p, q], axis=1),))
        limits = limits_of_agreement(p, q)
        for name, limit in zip(
            ("low limit", "mean", "high limit"), (limits.low, limits.mean, limits.high), strict=True
        ):
            hits.setdefault(name, []).append(_covers(limit, true[name]))
        _told(between_readers, hits, "severity", true["severity"], (x[:, 0], y[:, 0]))
    return {name: float(np.mean(each)) for name, each in hits.items()}


def test_agreement_of_two_readers_under_a_halo():
    rng = np.random.default_rng(1968)
    rows = []
    for name, error, bias in SITUATIONS:
        a, b = read(rng, TRUE_PIECES, 7, error=error, bias=bias, cuts=CUTS[name])
        true = _true(a, b)
        for pieces in PIECES:
            label = f"{name}, error {error}, bias {bias}, {pieces} pieces"
            rows.append((label, _agreement(a, b, pieces, rng, true)))
    means = _table(f"Coverage of 95 % intervals, {RUNS} runs each", rows)
    for name, mean in means.items():
        assert LEAST <= mean <= MOST, name
    # Counts of a single criterion are whole numbers: there the coverage jumps about its mean.
    # Two kinds of cells lie over 97 %. Kappa of close readers (0.83) on 15 to 32 pieces covers
    # 97 to 98: three pieces of ten differ, their few differences carry the variance, and the
    # degrees of freedom that guard a class at one level (88 to 92 % without them) are fewer
    # than it takes here; at 36 and 45 pieces it is 96.6, at 60 96. The share at most one level
    # apart, 0.94, of 15 pieces covers 98, of 20 94 and of 30 95: its ends step with whole
    # marks. Both err on the wide side.
    for label, found in rows:
        for name, coverage in found.items():
            slack = 0.025 if name == "same" else 0.012
            assert LEAST - slack <= coverage <= MOST + slack, (label, name)


def test_what_resampling_marks_for_pieces_would_do():
    # The error that the rule against it mends: each mark a witness, a halo in the pieces.
    rng = np.random.default_rng(7)
    a, b = read(rng, TRUE_PIECES, 7, error=0.6, bias=0.2, halo=0.7)
    true = _true(a, b)["kappa, all"]
    pieces = marks = 0
    for _ in range(RUNS):
        rows = rng.integers(0, len(a), 30)
        x, y = a[rows], b[rows]
        pieces += _covers(weighted_kappa(x, y), true)
        marks += _covers(weighted_kappa(x.ravel(), y.ravel()), true)
    print(f"\nkappa, all criteria, 30 pieces: pieces {pieces / RUNS:.3f}, marks {marks / RUNS:.3f}")
    assert LEAST <= pieces / RUNS <= MOST
    assert marks / RUNS < 0.85


def test_drift_and_own_eye():
    rng, rows = np.random.default_rng(3), []
    for pieces in (10, 15, 30, 60):
        hits = {"drift": [], "own eye": [], "its change": []}
        for _ in range(RUNS):
            first, _second = read(rng, pieces, 1, error=0.6, bias=0.0)
            _told(over_sitting, hits, "drift", 0.0, (first[:, 0],))
            habit = rng.normal(0, 0.5, pieces)[:, None]
            apart = np.round(rng.normal(habit, 0.7, (pieces, 4)))
            found = own_and_teacher(
                np.repeat(np.arange(pieces), 4), np.tile(range(4), pieces),
                apart.ravel(), np.zeros(4 * pieces),
            )  # fmt: skip
            hits["own eye"].append(_covers(found.difference, 0.0))
            hits["its change"].append(_covers(found.change, 0.0))
        rows.append(
            (f"{pieces} pieces or students", {k: float(np.mean(v)) for k, v in hits.items()})
        )
    for name, mean in _table(f"Coverage of 95 % intervals, {RUNS} runs each", rows).items():
        assert LEAST <= mean <= MOST, name


@pytest.mark.parametrize(("person", "both"), [(0.4, 0.2), (0.4, 0.0), (0.1, 0.1)])
def test_measuring_studies(person, both):
    rng, rows = np.random.default_rng(5), []
    again, true = 0.3, np.sqrt(person**2 + both**2 + 0.3**2)
    for people, cups, repeats in ((3, 10, 2), (3, 10, 3), (5, 6, 2), (8, 10, 2)):
        hits = {"repeatability": [], "measuring": []}
        who = np.repeat(np.arange(people), cups * repeats)
        what = np.tile(np.repeat(np.arange(cups), repeats), people)
        for _ in range(RUNS // 2):
            readings = (
                rng.normal(0, person, people)[who]
                + rng.normal(60, 2, cups)[what]
                + rng.normal(0, both, (people, cups))[who, what]
                + rng.normal(0, again, len(who))
            )
            found = measuring_study(list(who), list(what), readings)
            hits["repeatability"].append(_covers(found.repeatability, again))
            hits["measuring"].append(_covers(found.measuring, true))
        label = f"{people} people, {cups} cups, {repeats} times"
        rows.append((label, {k: float(np.mean(v)) for k, v in hits.items()}))
    for name, mean in _table(f"person {person}, interaction {both}, repeats {again}", rows).items():
        assert LEAST <= mean <= MOST + 0.01, name
