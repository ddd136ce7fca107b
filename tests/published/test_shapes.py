"""Planes, lofts and corners against worked geometry and general libraries."""

import math

import numpy as np
import pytest
from scipy import integrate, linalg, optimize
from skimage.measure import regionprops

from rubrics.craft.geometry import (
    ROUNDING_OF_DIAGONAL,
    corner_angle,
    rounding_allowance,
)
from rubrics.craft.rim import rim_level
from rubrics.craft.wall import wall_evenness
from studio.ware.volume import circle, loft_volume, rounded_square

EIGHTS = np.arange(0, 360, 45)


def _cos(degrees):
    return np.cos(np.radians(degrees))


def test_rim_by_construction():
    # Tilt atan(0.6 / 40) towards 30°, saddle of 0.25 mm; ISO 12781-1, deviation from the
    # least-squares reference plane, peak to valley.
    rim = rim_level(
        90 + 0.6 * _cos(EIGHTS - 30) + 0.25 * _cos(2 * EIGHTS), EIGHTS, radius_mm=40, u_mm=0.1
    )
    assert rim.tilt_deg == pytest.approx(0.8593722436, abs=1e-9)
    assert rim.high_side_deg == pytest.approx(30)
    assert rim.flatness_mm == pytest.approx(0.5)
    assert rim.rise_mm == pytest.approx(1.3491707, abs=1e-7)
    assert rim.saddle_mm == pytest.approx(0.25)
    assert rim.three_corner_mm == pytest.approx(0, abs=1e-12)
    assert rim.mean_height_mm == pytest.approx(90)


def test_plane_through_four_corners():
    # z on xy over (0,0,0) (1,0,0) (0,1,0) (1,1,1): residuals ±0.25, so 0.5 peak to valley. Turned
    # to a rim: the four corners stand at 45°, 135°, ... on a circle of radius √½ about (½, ½).
    rim = rim_level([1, 0, 0, 0], [45, 135, 225, 315], radius_mm=math.sqrt(0.5))
    assert rim.flatness_mm == pytest.approx(0.5)
    assert math.tan(math.radians(rim.tilt_deg)) == pytest.approx(math.hypot(0.5, 0.5))


@pytest.mark.parametrize("seed", range(5))
def test_rim_plane_as_a_library_fits_it(seed):
    rng = np.random.default_rng(seed)
    azimuths = np.sort(rng.uniform(0, 360, 9)) + np.linspace(0, 1, 9)
    azimuths = np.concatenate([[0, 120, 240], azimuths])
    heights = 95 + rng.normal(0, 1, 12)
    columns = np.column_stack([np.ones(12), 42 * _cos(azimuths), 42 * _cos(azimuths - 90)])
    (a, b, c), *_ = linalg.lstsq(columns, heights)
    residuals = heights - columns @ [a, b, c]
    covariance = np.linalg.inv(columns.T @ columns) * (residuals @ residuals) / 9
    slope = math.hypot(b, c)
    gradient = np.array([0, b, c]) / slope
    rim = rim_level(heights, azimuths, radius_mm=42)
    assert rim.tilt_deg == pytest.approx(math.degrees(math.atan(slope)))
    assert rim.high_side_deg == pytest.approx(math.degrees(math.atan2(c, b)) % 360)
    assert rim.flatness_mm == pytest.approx(np.ptp(residuals))
    assert math.radians(rim.u_tilt_deg) == pytest.approx(
        math.sqrt(gradient @ covariance @ gradient) / (1 + slope**2)
    )


def test_harmonics_as_a_fourier_transform_gives_them():
    rng = np.random.default_rng(7)
    azimuths = np.arange(0, 360, 30)
    heights = 90 + rng.normal(0, 1, 12)
    spectrum = np.fft.rfft(heights) / 6
    rim = rim_level(heights, azimuths, radius_mm=40)
    assert rim.saddle_mm == pytest.approx(abs(spectrum[2]))
    assert rim.saddle_deg == pytest.approx(math.degrees(-np.angle(spectrum[2])) % 360 / 2)
    assert rim.three_corner_mm == pytest.approx(abs(spectrum[3]))
    assert rim.three_corner_deg == pytest.approx(math.degrees(-np.angle(spectrum[3])) % 360 / 3)


def test_wall_pattern_by_construction():
    # t = 6 + 0.02 (z - 45) + 0.3 cos az.
    z, az = (grid.ravel() for grid in np.meshgrid([10, 45, 80], [0, 90, 180, 270]))
    wall = wall_evenness(6 + 0.02 * (z - 45) + 0.3 * _cos(az), z, az)
    assert wall.mean_mm == pytest.approx(6)
    assert wall.sd_mm == pytest.approx(0.636753128, abs=1e-9)
    assert wall.cv == pytest.approx(0.10612553, abs=1e-8)
    assert wall.spread_mm == pytest.approx(2)
    assert wall.foot_to_rim_mm_per_10mm == pytest.approx(0.2)
    assert wall.thick_amplitude_mm == pytest.approx(0.3)
    assert wall.thick_side_deg == pytest.approx(0)
    assert wall.residual_mm == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_wall_pattern_as_a_library_fits_it(seed):
    rng = np.random.default_rng(seed)
    z, az, t = rng.uniform(5, 90, 14), rng.uniform(0, 360, 14), rng.normal(6, 0.5, 14)

    def residuals(p):
        return p[0] + p[1] * z + p[2] * _cos(az) + p[3] * _cos(az - 90) - t

    fit = optimize.least_squares(residuals, [6, 0, 0, 0], method="lm", x_scale=[1, 0.01, 1, 1])
    wall = wall_evenness(t, z, az)
    assert wall.foot_to_rim_mm_per_10mm == pytest.approx(10 * fit.x[1], abs=1e-7)
    assert wall.thick_amplitude_mm == pytest.approx(math.hypot(fit.x[2], fit.x[3]), abs=1e-6)
    assert wall.thick_side_deg == pytest.approx(
        math.degrees(math.atan2(fit.x[3], fit.x[2])) % 360, abs=1e-4
    )
    assert wall.residual_mm == pytest.approx(math.sqrt(2 * fit.cost / 10), rel=1e-9)


@pytest.mark.parametrize(
    ("below", "above", "height", "volume"),
    [
        # Square of 60 to a circle of 40, straight generators: h/3 (s² + 2 s R + π R²).
        (rounded_square(60, 0), 40, 90, 402796.447372),
        # Frustum of a cone, π h (R² + R r + r²)/3, as Pappus and Simpson's rule give it.
        (circle(34), 40, 90, 387923.860865),
        # A cylinder and a cone standing on its tip, from Euclid.
        (circle(5), 5, 7, math.pi * 25 * 7),
        (rounded_square(0, 0), 6, 7, math.pi * 36 * 7 / 3),
    ],
    ids=["square to circle", "frustum", "cylinder", "cone"],
)
def test_loft(below, above, height, volume):
    assert loft_volume(*below, above, height) == pytest.approx(volume, rel=1e-12)


def test_loft_as_a_library_integrates_it_from_an_upper_face():
    def area(share):
        inner = 60 * (1 - share)
        radius = 40 * share
        return inner**2 + 4 * inner * radius + math.pi * radius**2

    volume, _ = integrate.quad(area, 0.07, 1, epsabs=1e-9)
    assert loft_volume(*rounded_square(60, 0), 40, 90, start=0.07) == pytest.approx(90 * volume)


def test_a_frustum_formula_would_be_four_per_cent_low_for_the_loft():
    # h (A1 + A2 + √(A1 A2))/3 = 386413.12 holds for similar sections only.
    low = 90 * (3600 + math.pi * 1600 + math.sqrt(3600 * math.pi * 1600)) / 3
    assert low == pytest.approx(386413.12, abs=0.01)
    assert low / loft_volume(*rounded_square(60, 0), 40, 90) == pytest.approx(0.9593, abs=1e-4)


def test_section_of_the_loft_as_drawn_in_pixels():
    # A section half way up is the point sum of half the square and half the disc: drawn, and
    # counted by scikit-image, against Steiner's area.
    step = 0.05
    grid = np.arange(-40, 40, step)
    x, y = np.meshgrid(grid, grid)
    dx, dy = np.maximum(np.abs(x) - 15, 0), np.maximum(np.abs(y) - 15, 0)
    (region,) = regionprops((np.hypot(dx, dy) <= 20).astype(int))
    steiner = 0.25 * 60**2 + 0.25 * 4 * 60 * 40 + 0.25 * math.pi * 40**2
    assert steiner == pytest.approx(4556.637061, abs=1e-6)
    assert region.area * step**2 == pytest.approx(steiner, rel=1e-3)


def test_rounded_square():
    # Side 52, corner 8: area s² - (4 - π) r², perimeter 4 s - (8 - 2 π) r.
    section = rounded_square(52, 8)
    assert section.area == pytest.approx(2649.061930, abs=1e-6)
    assert section.perimeter == pytest.approx(194.265482, abs=1e-6)
    assert rounded_square(52, 26).area == pytest.approx(circle(26).area)


def test_corners_by_the_law_of_cosines():
    # Euclid II.12-13; the deviation from a right angle is what ISO 10545-2 calls rectangularity.
    assert corner_angle(3, 4, 5) == pytest.approx(90)
    assert corner_angle(52, 52, 74.5) == pytest.approx(91.507260, abs=1e-6)
    assert corner_angle(52, 52, 52 * math.sqrt(2)) == pytest.approx(90)
    assert 52 * math.sqrt(2) == pytest.approx(73.539105, abs=1e-6)
    assert corner_angle(1, 1, 3) is None


def test_rounding_shortens_a_diagonal_as_drawn():
    # The farthest points of a square of 52 with corners of 8: each centre lies 18 off the axes.
    drawn = 2 * (math.hypot(18, 18) + 8)
    assert drawn == pytest.approx(52 * math.sqrt(2) - ROUNDING_OF_DIAGONAL * 8)
    allowance = rounding_allowance([52] * 4, [drawn] * 2)
    assert allowance / ROUNDING_OF_DIAGONAL == pytest.approx(8)
