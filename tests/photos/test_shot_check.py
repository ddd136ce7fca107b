"""Whether a photo that was just taken will do: outside is the record of what was rendered
(fixtures/photos/truth.json) and pictures spoilt here by image processing."""

import io
import json

import cv2
import numpy as np
import pytest
from PIL import Image

from studio.camera.intake import PhotoError
from studio.photos import shot_check
from tests.photos.photo_files import PHOTOS, SIDE, TOP, plain_picture

TRUTH = {r["file"]: r for r in json.loads((PHOTOS / "truth.json").read_text())}


@pytest.fixture(scope="module")
def side():
    return shot_check.look((PHOTOS / SIDE).read_bytes())


@pytest.mark.parametrize("file", [SIDE, TOP])
def test_a_good_photo_will_do_and_its_slip_is_read(file):
    record = TRUTH[file]
    shot = shot_check.check(
        *shot_check.look((PHOTOS / file).read_bytes()), wanted=record["view"], code="K3-01"
    )
    assert (shot.will_do, shot.advice) == (True, ())
    assert (shot.view, shot.code, shot.cup_whole) == (record["view"], "K3-01", True)


def moved(rgb, px, down):
    kernel = np.zeros((px, px), np.float32)
    kernel[(slice(None), px // 2) if down else (px // 2,)] = 1 / px
    return cv2.filter2D(rgb, -1, kernel)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda rgb: cv2.GaussianBlur(rgb, (0, 0), 2),
        lambda rgb: moved(rgb, 9, down=False),
        lambda rgb: moved(rgb, 9, down=True),
    ],
    ids=["out of focus", "moved across", "moved down"],
)
def test_a_blurred_photo_is_told_as_such(side, spoil):
    rgb, focal = side
    assert shot_check.BLURRED in shot_check.check(spoil(rgb), focal).advice


def test_dark_and_burnt_out_photos_are_told(side):
    rgb, focal = side
    dark = (rgb * 0.2).astype(np.uint8)
    burnt = np.clip(rgb * 2.5, 0, 255).astype(np.uint8)
    assert shot_check.check(dark, focal).advice[0] == shot_check.DARK
    assert shot_check.check(burnt, focal).advice[0] == shot_check.BRIGHT


def test_a_cup_that_the_picture_cuts_is_told(side):
    rgb, focal = side
    shot = shot_check.check(rgb, focal)
    rim = TRUTH[SIDE]["landmarks"]["rim_highest"]["px"][1]
    cut = rgb[int(rim) + 25 :]
    told = shot_check.check(np.ascontiguousarray(cut))
    assert shot.cup_whole
    assert told.markers >= shot_check.ENOUGH_MARKERS
    assert shot_check.CUT_OFF in told.advice


def test_without_a_mat_and_with_too_few_markers_each_has_its_sentence(side):
    rgb, _ = side
    none = shot_check.check(np.full((900, 1200, 3), 180, np.uint8))
    assert "The mat was not found" in none.advice[-1]
    few = rgb.copy()
    few[:, : int(0.75 * few.shape[1])] = 180
    told = shot_check.check(few)
    assert 0 < told.markers < shot_check.ENOUGH_MARKERS
    assert "are needed" in told.advice[-1]


def test_the_wrong_view_and_the_wrong_slip_are_told(side):
    told = shot_check.check(*side, wanted="top", code="K3-02").advice
    assert any("straight from above" in one for one in told)
    assert any("The slip says K3-01, but K3-02 is next" in one for one in told)


def test_files_that_are_no_pictures_get_a_sentence():
    for data in (b"", b"text", plain_picture()[:300]):
        with pytest.raises(PhotoError, match="Take it again"):
            shot_check.look(data, "a.jpg")


def test_a_large_photo_is_reduced_while_it_is_decoded():
    out = io.BytesIO()
    Image.new("RGB", (4000, 3000), "white").save(out, "JPEG")
    rgb, _ = shot_check.look(out.getvalue())
    assert rgb.shape == (1200, 1600, 3)
