"""Measuring studies against a mixed-model reference, and what they refuse."""

import warnings

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.formula.api import mixedlm

from rubrics.stats.errors import CannotTellError
from rubrics.stats.measuring_study import measuring_study


def invent(rng, people, cups, repeats, *, cup=2.0, person=0.4, both=0.2, again=0.3):
    """Rows of (person, cup, reading), balanced."""
    p, c = rng.normal(0, person, people), rng.normal(60, cup, cups)
    pc = rng.normal(0, both, (people, cups))
    return [
        (f"P{i}", f"K{j}", p[i] + c[j] + pc[i, j] + rng.normal(0, again))
        for i in range(people)
        for j in range(cups)
        for _ in range(repeats)
    ]


def study(rows):
    return measuring_study(*zip(*rows, strict=True))


def reference(rows):
    """Restricted maximum likelihood of the same model, as variances."""
    frame = pd.DataFrame(rows, columns=["person", "cup", "reading"])
    parts = {"person": "0 + C(person)", "cup": "0 + C(cup)", "both": "0 + C(person):C(cup)"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a component at its edge of zero
        model = mixedlm("reading ~ 1", frame, groups=np.ones(len(frame)), vc_formula=parts)
        fitted = model.fit(reml=True, method=["powell", "lbfgs"])
    return dict(zip(model.exog_vc.names, fitted.vcomp, strict=True)) | {"again": fitted.scale}


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"person": 0.0, "both": 0.0},  # components that come out at zero and are pooled
        {"both": 0.0},
        {"again": 1.5},
    ],
    ids=["all", "neither", "no interaction", "rough"],
)
def test_components_are_those_of_restricted_maximum_likelihood(data):
    rows = invent(np.random.default_rng(8), 4, 6, 3, **data)
    found, theirs = study(rows), reference(rows)
    assert found.repeatability.value**2 == pytest.approx(theirs["again"], rel=0.01)
    for ours, name in (
        (found.person_sd, "person"),
        (found.interaction_sd, "both"),
        (found.cup_sd, "cup"),
    ):
        assert ours**2 == pytest.approx(theirs[name], rel=0.02, abs=0.004), name


def test_unequal_repeats_come_close_to_restricted_maximum_likelihood():
    rng = np.random.default_rng(3)
    rows = invent(rng, 4, 8, 3)
    rows = [row for i, row in enumerate(rows) if i % 3 < 2 or rng.random() < 0.5]  # the third time
    found, theirs = study(rows), reference(rows)
    assert found.repeatability.value**2 == pytest.approx(theirs["again"], rel=0.05)
    assert found.person_sd**2 == pytest.approx(theirs["person"], rel=0.2, abs=0.01)
    assert found.cup_sd**2 == pytest.approx(theirs["cup"], rel=0.05)


@given(st.integers(0, 1000), st.floats(0.1, 30), st.floats(-100, 100))
def test_another_unit_and_another_zero(seed, scale, shift):
    rows = invent(np.random.default_rng(seed), 3, 5, 2, both=0)
    other = [(who, cup, scale * reading + shift) for who, cup, reading in rows]
    one, two = study(rows), study(other)
    assert two.measuring.value == pytest.approx(scale * one.measuring.value, rel=1e-6)
    assert two.measuring.high == pytest.approx(scale * one.measuring.high, rel=1e-6)
    assert two.interaction_sd == pytest.approx(scale * one.interaction_sd, rel=1e-5, abs=1e-6)


def test_the_order_of_the_rows_does_not_matter():
    rows = invent(np.random.default_rng(1), 3, 5, 2)
    turned = study(rows[::-1])
    assert turned.measuring.value == pytest.approx(study(rows).measuring.value)


def test_the_share_of_a_band_that_the_measuring_eats():
    found = study(invent(np.random.default_rng(2), 3, 10, 3))
    share = found.share_of(1.5)
    # y - U to y + U, U = 2u: four standard deviations of a band of 1.5 mm.
    assert share.value == pytest.approx(4 * found.measuring.value / 1.5)
    assert share.low < share.value < share.high
    # Per cent of tolerance as gauge studies print it, six standard deviations.
    assert found.share_of(1.5, sds=6).value == pytest.approx(1.5 * share.value)
    with pytest.raises(CannotTellError, match="wider than nothing"):
        found.share_of(0)


def test_who_reads_high():
    rows = [(who, cup, 60 + cup + 0.5 * (who == "Bo") + 0.1 * (again % 2))
            for who in ("Ana", "Bo") for cup in range(6) for again in range(2)]  # fmt: skip
    offsets = dict(study(rows).offsets)
    assert offsets["Bo"] - offsets["Ana"] == pytest.approx(0.5)


def test_what_a_study_cannot_carry():
    rng = np.random.default_rng(5)
    rows = invent(rng, 3, 5, 2)
    with pytest.raises(CannotTellError, match="P1 has not measured K2"):
        study([row for row in rows if row[:2] != ("P1", "K2")])
    with pytest.raises(CannotTellError, match="0 repeats"):
        study(invent(rng, 3, 5, 1))
    with pytest.raises(CannotTellError, match="1 people"):
        study(invent(rng, 1, 12, 3))
    with pytest.raises(CannotTellError, match="2 cups"):
        study(invent(rng, 3, 2, 4))
    assert study(invent(rng, 2, 3, 3)).cups == 3
    with pytest.raises(CannotTellError, match="too coarse"):
        study([(who, cup, round(value / 50)) for who, cup, value in rows])
    with pytest.raises(CannotTellError, match="a number"):
        study([*rows, ("P0", "K0", float("nan"))])
    with pytest.raises(CannotTellError):
        measuring_study([], [], [])
