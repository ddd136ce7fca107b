"""Picture files at the door."""

import io

import numpy as np
import pytest
from PIL import Image, ImageFile

from studio.camera import intake
from tests.camera import scenes


def colours():
    picture = np.zeros((400, 600, 3), np.uint8)
    picture[:200, :300] = (250, 10, 10)  # red at the upper left
    return picture


def test_upright_whatever_the_file_says():
    turned = np.rot90(colours())  # a quarter turn counter-clockwise, as orientation 6 means
    photo = intake.decode("a.jpg", scenes.jpeg(turned, orientation=6))
    assert photo.rgb.shape == (400, 600, 3)
    assert photo.rgb[100, 150, 0] > 200
    assert photo.rgb[300, 450].max() < 40


@pytest.mark.parametrize(("f35", "told"), [(26, 26.0), (0, None), (None, None), (5000, None)])
def test_focal_length_is_taken_only_where_it_is_one(f35, told):
    # Exif 0xA405: 0 means unknown.
    assert intake.decode("a.jpg", scenes.jpeg(colours(), f35=f35)).f35_mm == told


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"not a picture at all", "not a picture|damaged"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 200, "not a picture|damaged"),
        (b"\0" * (intake.MAX_BYTES + 1), "up to"),
    ],
)
def test_what_is_no_photo_gets_a_sentence(data, words):
    with pytest.raises(intake.PhotoError, match=words) as caught:
        intake.decode("mug.jpg", data)
    assert str(caught.value).startswith("mug.jpg ")


def test_a_cut_off_file_is_named_damaged():
    whole = scenes.jpeg(colours())
    with pytest.raises(intake.PhotoError, match="damaged"):
        intake.decode("mug.jpg", whole[: len(whole) // 2])


def test_pixels_are_counted_before_they_are_decoded(monkeypatch):
    data = scenes.jpeg(np.zeros((400, 600, 3), np.uint8))
    monkeypatch.setattr(intake, "MAX_PIXELS", 100_000)
    monkeypatch.setattr(ImageFile.ImageFile, "load", lambda *_: pytest.fail("decoded"))
    with pytest.raises(intake.PhotoError, match="megapixels"):
        intake.decode("mug.png", data)


def test_a_thumbnail_is_too_small():
    out = io.BytesIO()
    Image.fromarray(np.zeros((120, 160, 3), np.uint8)).save(out, "PNG")
    with pytest.raises(intake.PhotoError, match="only 160 by 120 pixels"):
        intake.decode("mug.png", out.getvalue())
