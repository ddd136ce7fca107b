"""The camera over all rendered photographs: errors, trust, coverage, and time as a ratio.

Run with `pytest -m benchmark tests/benchmarks/test_camera.py -s`. The truth
(fixtures/photos/TRUTH.md) is that of the meshes that were rendered. Photos of a piece at a stage
are solved together, as in use.
"""

import time

import cv2
import numpy as np
import pytest

from studio.camera import intake, markers
from studio.camera.read import read_photos
from tests.benchmarks.camera_tables import FIXTURES, rows, table, truth_of
from tests.camera import scenes

pytestmark = pytest.mark.benchmark

FOLDER = FIXTURES
TRUTH = truth_of(FOLDER)
LEAST_COVERAGE = 0.9  # of U = 2u over everything trusted; 95 % is stated
MOST_RATIO = 60  # reading a photo over decoding it and finding its markers; 25 on a quiet machine


@pytest.mark.parametrize("way", ["together", "alone"])
def test_errors_trust_and_coverage(way, capsys):
    files = [(name, (FOLDER / name).read_bytes()) for name in sorted(TRUTH)]
    groups = [files] if way == "together" else [[f] for f in files]
    readings = [r for group in groups for r in read_photos(group)]
    found = list(rows(readings, TRUTH))
    with capsys.disabled():
        print(f"\nphotos of a piece solved {way}")
        print("\n".join(table(found)))
    held = [f for f in found if f[3]]
    assert np.mean([abs(f[1]) < 2 * f[2] for f in held]) > LEAST_COVERAGE
    assert max(abs(f[1]) / f[2] for f in held) < 5  # nothing confident and far off
    white = [r for r in readings if TRUTH[r.file]["hard"] == "white_on_white"]
    assert [m for r in white for m in r.measures.values() if m.trusted] == []


@pytest.mark.parametrize("width_px", [1600, 4000])
def test_time_as_a_ratio(width_px, capsys):
    name = "K3-02-fired-side.jpg"
    data = (FOLDER / name).read_bytes()
    if width_px != 1600:
        picture = intake.decode(name, data)
        size = (width_px, width_px * 3 // 4)
        data = scenes.jpeg(cv2.resize(picture.rgb, size, interpolation=cv2.INTER_CUBIC), f35=52)
    read_photos([(name, data)])  # tables and imports are warm afterwards
    start = time.perf_counter()
    photo = intake.decode(name, data)
    grey = cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY)
    cv2.aruco.ArucoDetector(markers.mat.dictionary()).detectMarkers(grey)
    least = time.perf_counter() - start
    start = time.perf_counter()
    reading = read_photos([(name, data)])[0]
    ratio = (time.perf_counter() - start) / least
    with capsys.disabled():
        print(f"\n{width_px} px wide: {ratio:.1f} times decoding and marker detection")
    assert reading.measures["height_mm"].trusted
    assert ratio < MOST_RATIO
