"""How many pieces a second the craft checks judge, beside a plain loop with a library."""

import gc
import math
import time

import numpy as np
import pytest
from scipy import integrate, linalg, stats

from rubrics.craft.check import check_pieces
from tests.craft.pieces import PLAN, full_piece

pytestmark = pytest.mark.benchmark

PIECES = 10_000
MOST_SECONDS = 5.0
"""What a district's term of ten thousand pieces may take on one core."""

LOOP_PIECES = 500


@pytest.fixture(scope="module")
def pieces():
    """Ten thousand invented pieces; two hundred differ, for building them is the slow part."""
    different = [full_piece(seed) for seed in range(200)]
    return {str(number): list(different[number % 200]) for number in range(PIECES)}


def _seconds(run):
    gc.collect()
    begun = time.process_time()
    run()
    return time.process_time() - begun


def _fit(columns, values):
    solution, *_ = linalg.lstsq(np.column_stack(columns), values)
    residuals = values - np.column_stack(columns) @ solution
    return solution, residuals


def _plain_loop(readings):
    """The bare figures of the seven checks as one would script them: no verdict, no sentence."""
    at = {}
    for r in readings:
        at.setdefault((r.quantity, r.stage), []).append(r)
    wall = at["wall_thickness", "leather-hard"]
    t = np.array([r.value for r in wall])
    az = np.radians([r.azimuth_deg for r in wall])
    z = np.array([r.height_mm for r in wall])
    pattern, left = _fit([np.ones(len(t)), z, np.cos(az), np.sin(az)], t)
    rim = at["rim_height", "leather-hard"]
    h, az = np.array([r.value for r in rim]), np.radians([r.azimuth_deg for r in rim])
    plane, residuals = _fit([np.ones(len(h)), np.cos(az), np.sin(az)], h)
    waves, _ = _fit([f(k * az) for k in (1, 2, 3) for f in (np.cos, np.sin)], h - h.mean())
    wet = {r.name: r for r in at["dimension", "wet"]}
    pairs = [(wet[r.name], r) for r in at["dimension", "glazed"]]
    logs = np.array([math.log(now.value / was.value) for was, now in pairs])
    us = np.array([math.hypot(now.u / now.value, was.u / was.value) for was, now in pairs])
    mean = np.average(logs, weights=us**-2)
    chi2 = float(np.sum(((logs - mean) / us) ** 2))
    top, bottom = at["handle_top", "leather-hard"][0], at["handle_bottom", "leather-hard"][0]
    middle = stats.circmean([top.azimuth_deg, bottom.azimuth_deg], high=360)
    across = 36 * (
        math.sin(math.radians(top.azimuth_deg - middle))
        - math.sin(math.radians(bottom.azimuth_deg - middle))
    )
    sides = [r.value for r in at["foot_side", "leather-hard"]]
    sizes = {r.name: r.value for r in at["dimension", "glazed"]}
    side, radius, height = sizes["foot_side"] - 11, sizes["rim_diameter"] / 2 - 5.6, sizes["height"]
    volume, _ = integrate.quad(
        lambda s: (
            (1 - s) ** 2 * side**2 + 4 * s * (1 - s) * side * radius + s**2 * np.pi * radius**2
        ),
        sizes["base_thickness"] / height,
        1,
    )
    return (
        np.ptp(t), t.std(ddof=1), pattern, left.std(), np.ptp(h), math.hypot(plane[1], plane[2]),
        np.ptp(residuals), np.hypot(waves[2::2], waves[3::2]), -math.expm1(mean),
        stats.chi2.sf(chi2, len(logs) - 1), math.atan2(across, top.value - bottom.value),
        max(sides) - min(sides), volume * height / 1000,
    )  # fmt: skip


def test_ten_thousand_pieces_in_five_seconds_on_one_core(pieces):
    seconds = _seconds(lambda: check_pieces(pieces, PLAN))
    readings = sum(len(each) for each in pieces.values())
    print(
        f"\n{PIECES} pieces, {readings} readings, seven checks each: {seconds:.2f} s "
        f"({7 * PIECES / seconds:,.0f} checks a second)"
    )
    assert seconds < MOST_SECONDS


def test_beside_a_plain_loop_with_scipy(pieces):
    some = {code: pieces[code] for code in list(pieces)[:LOOP_PIECES]}
    ours = min(_seconds(lambda: check_pieces(some, PLAN)) for _ in range(3))
    plain = min(_seconds(lambda: [_plain_loop(each) for each in some.values()]) for _ in range(3))
    print(
        f"\nchecks a second: {7 * LOOP_PIECES / ours:,.0f} here, with uncertainties and verdicts; "
        f"{7 * LOOP_PIECES / plain:,.0f} by a plain scipy loop of bare figures; "
        f"ratio {plain / ours:.2f}"
    )
    assert ours < plain
