"""What phones and printers do to a picture, done to rendered photographs by image processing.

Each row of the table is one change with a recorded seed; a value is silently wrong if it is trusted
and beyond U = 2u. A plain enlargement of the picture, a crop and a warp keep the markers' truth.
Run with `pytest -m benchmark -n 0 -s tests/benchmarks/test_camera_variations.py`.
"""

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from studio.camera.intake import DecodedPhoto, decode
from studio.camera.read import read_together
from tests.benchmarks.camera_tables import FIXTURES, SIDE, TOP, rows, truth_of

pytestmark = pytest.mark.benchmark
SEED = 20260117
CUPS = ("K3-02", "K3-05", "K3-08")
MOST_SILENT = 0.15  # of trusted values in a row; 0.05 is what is aimed at
MOTION_PX = 5


def _gamma(rgb, power):
    return np.round(255 * (rgb / 255.0) ** power).astype(np.uint8)


def _motion(rgb):
    return cv2.filter2D(rgb, -1, np.full((1, MOTION_PX), 1 / MOTION_PX))


def _jpeg(rgb, quality):
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(out).convert("RGB"))


def _sharpen(rgb):
    soft = cv2.GaussianBlur(rgb, (0, 0), 1.2)
    return cv2.addWeighted(rgb, 1.8, soft, -0.8, 0)


def _noise(rgb):
    grain = np.random.default_rng(SEED).normal(0, 5, rgb.shape)
    return np.clip(rgb + grain, 0, 255).astype(np.uint8)


def _vignette(rgb):
    h, w = rgb.shape[:2]
    y, x = np.mgrid[:h, :w]
    fall = 1 - 0.35 * (((x - w / 2) ** 2 + (y - h / 2) ** 2) / (w**2 + h**2) * 4)
    return np.clip(rgb * fall[..., None], 0, 255).astype(np.uint8)


def _cast(rgb):
    return np.clip(rgb * np.array([1.05, 1.0, 0.8]), 0, 255).astype(np.uint8)


def _shear(rgb, share):
    """What a rolling shutter does to a phone moved sideways."""
    h, w = rgb.shape[:2]
    turn = np.float32([[1, share, -share * h / 2], [0, 1, 0]])
    return cv2.warpAffine(rgb, turn, (w, h), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)


def _warp(rgb, share):
    """A perspective pull as of an app that straightens lines."""
    h, w = rgb.shape[:2]
    old = np.float32([(0, 0), (w, 0), (w, h), (0, h)])
    new = old + share * w * np.float32([(1, 0), (-1, 0), (0, 0), (0, 0)])
    change = cv2.getPerspectiveTransform(old, new)
    return cv2.warpPerspective(
        rgb, change, (w, h), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
    )


def _crop(rgb, share):
    return np.ascontiguousarray(rgb[:, int(share * rgb.shape[1]) :])


def _resized(rgb, factor):
    return cv2.resize(rgb, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)


CHANGES = {
    "as it is": lambda rgb: rgb,
    "blur 1.5 px": lambda rgb: cv2.GaussianBlur(rgb, (0, 0), 1.5),
    "motion 5 px": _motion,
    "gamma 0.8": lambda rgb: _gamma(rgb, 0.8),
    "gamma 1.25": lambda rgb: _gamma(rgb, 1.25),
    "JPEG 30": lambda rgb: _jpeg(rgb, 30),
    "sharpened": _sharpen,
    "noise 5 levels": _noise,
    "vignette": _vignette,
    "colour cast": _cast,
    "shear 0.5 %": lambda rgb: _shear(rgb, 0.005),
    "warp 1 %": lambda rgb: _warp(rgb, 0.01),
    "crop 8 % left": lambda rgb: _crop(rgb, 0.08),
    "half size": lambda rgb: _resized(rgb, 0.5),
}


@pytest.fixture(scope="module")
def pairs():
    truth = truth_of(FIXTURES)
    out = []
    for code in CUPS:
        names = [n for n, t in truth.items() if t["code"] == code and t["stage"] == "fired"]
        out.append([decode(n, (FIXTURES / n).read_bytes()) for n in sorted(names)])
    return truth, out


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_of_the_picture_is_not_silently_wrong(pairs, change, capsys):
    truth, photos = pairs
    found = []
    for pair in photos:
        told = None if "crop" in change else True  # an app that crops takes the focal length along
        changed = [
            DecodedPhoto(p.name, CHANGES[change](p.rgb), p.f35_mm if told else None, None)
            for p in pair
        ]
        found += rows(read_together(changed), truth)
    held = [f for f in found if f[3]]
    silent = [f for f in held if abs(f[1]) > 2 * f[2]]
    far = [f for f in held if abs(f[1]) > 4 * f[2]]
    with capsys.disabled():
        print(
            f"\n{change:<16} trusted {len(held)}/{len(found)}, beyond U {len(silent)}, "
            f"beyond 2 U {len(far)}"
        )
    assert len(silent) <= max(1, MOST_SILENT * len(held))


@pytest.mark.parametrize("bar_mm", [97.0, 99.0])
def test_a_print_that_nobody_measured_is_not_silently_wrong(pairs, bar_mm, capsys):
    """On a sheet printed smaller every length reads larger by the scale."""
    truth, photos = pairs
    silent = trusted = 0
    for pair in photos:
        readings = read_together(pair, check_bar_mm=None)
        assert all(r.note for r in readings if r.measures)
        for name, off, u, is_trusted, record in rows(readings, truth):
            if name.endswith("_mm") and is_trusted:
                true = (SIDE | TOP)[name](record["cup"])
                trusted += 1
                silent += abs((true + off) * 100 / bar_mm - true) > 2 * u
    with capsys.disabled():
        print(f"\nprint {bar_mm:.0f} %, not measured: {trusted} lengths trusted, {silent} beyond U")
    assert silent <= MOST_SILENT * max(trusted, 1)
