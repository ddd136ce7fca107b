"""Pictures that would cost minutes or gigabytes: a sentence, or their turn."""

import errno
import io
import os
import threading
import time

import numpy as np
import pytest
from django.core.files.storage import FileSystemStorage
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image

from studio.camera.intake import MAX_PIXELS, PhotoError
from studio.models import Photo
from studio.photos import decoding_turns, storing


def as_bytes(image, kind="JPEG", **how):
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def test_a_pattern_drawn_by_a_rule_is_refused_before_it_is_decoded():
    squares = np.kron(np.indices((250, 250)).sum(0) % 2, np.ones((16, 16))).astype(bool)
    data = as_bytes(Image.fromarray(squares), "PNG", optimize=True)
    assert len(data) < 16 * storing.FEWEST_BYTES_PER_MEGAPIXEL
    begun = time.process_time()
    with pytest.raises(PhotoError, match="a drawn pattern and no photograph"):
        storing.take_in(data, "a.png")
    assert time.process_time() - begun < 1


@pytest.mark.parametrize("kind", ["JPEG", "WEBP"])
def test_the_plainest_photograph_is_taken(kind):
    """An even grey with the noise of one level that every sensor has."""
    noise = np.random.default_rng(1).integers(127, 129, (3000, 4000), np.uint8)
    prepared = storing.take_in(as_bytes(Image.fromarray(noise), kind, quality=50), "a")
    assert (prepared.width, prepared.height) == (4000, 3000)


def test_an_even_grey_as_jpeg_is_taken():
    data = as_bytes(Image.new("RGB", (4000, 3000), "grey"), quality=30)
    assert storing.take_in(data, "a.jpg").width == 4000


@pytest.mark.parametrize("year", ["0001", "9999", "1970"])
@pytest.mark.parametrize("offset", ["+14:00", "-12:00", ""])
def test_a_clock_that_was_never_set_is_no_time(year, offset):
    exif = Image.Exif()
    detail = exif.get_ifd(ExifTags.IFD.Exif)
    detail[ExifTags.Base.DateTimeOriginal] = f"{year}:01:01 00:00:00"
    if offset:
        detail[ExifTags.Base.OffsetTimeOriginal] = offset
    data = as_bytes(Image.new("RGB", (64, 48), "tan"), exif=exif)
    assert storing.take_in(data, "a.jpg").taken_at is None


def test_a_clock_that_was_set_is_kept():
    exif = Image.Exif()
    detail = exif.get_ifd(ExifTags.IFD.Exif)
    detail[ExifTags.Base.DateTimeOriginal] = "2026:03:04 10:00:00"
    detail[ExifTags.Base.OffsetTimeOriginal] = "+02:00"
    data = as_bytes(Image.new("RGB", (64, 48), "tan"), exif=exif)
    assert storing.take_in(data, "a.jpg").taken_at.isoformat() == "2026-03-04T10:00:00+02:00"


def test_large_pictures_take_turns_and_small_ones_go_together():
    inside, most, lock = [], [], threading.Lock()

    def one(pixels):
        with decoding_turns.turn(pixels):
            with lock:
                inside.append(pixels)
                most.append(sum(inside))
            time.sleep(0.01)
            with lock:
                inside.remove(pixels)

    threads = [threading.Thread(target=one, args=(n,)) for n in (48_000_000, 12_000_000) * 6]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(most) == len(threads)
    assert max(most) <= MAX_PIXELS


def test_who_waits_too_long_is_told_and_the_next_still_gets_a_turn():
    told = pytest.raises(PhotoError, match="Nothing is lost")
    with decoding_turns.turn(MAX_PIXELS), told, decoding_turns.turn(1, patience_s=0.01):
        raise AssertionError("no room was left")
    with pytest.raises(ValueError, match="damaged"), decoding_turns.turn(MAX_PIXELS):
        raise ValueError("damaged")
    with decoding_turns.turn(MAX_PIXELS, patience_s=0):
        pass


@pytest.fixture
def kept(school):
    taken = storing.take_in(as_bytes(Image.new("RGB", (64, 48), "tan")), "a.jpg")
    return storing.store(school.section, school.piece, taken, school.teacher)


@pytest.mark.django_db
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS])
def test_a_full_or_locked_disk_is_told_and_nothing_is_half_kept(
    client, school, monkeypatch, number
):
    def refuse(*_args, **_more):
        raise OSError(number, os.strerror(number))

    client.force_login(school.teacher)
    monkeypatch.setattr(FileSystemStorage, "_save", refuse)
    upload = SimpleUploadedFile("a.jpg", as_bytes(Image.new("RGB", (64, 48), "teal")))
    path = f"/pieces/{school.piece.pk}/photos/"
    answer = client.post(path, {"files": upload, "stage": "wet", "view": "side"})
    assert "The site could not keep this photo: its disk is full" in answer.content.decode()
    assert not Photo.objects.exists()


@pytest.mark.django_db
def test_a_record_stays_where_its_files_cannot_go(client, school, kept, monkeypatch):
    client.force_login(school.teacher)
    # What a disk mounted for reading answers, which even its administrator is told.
    monkeypatch.setattr("studio.photos.storing.os.access", lambda *_args: False)
    answer = client.post(f"/photos/{kept.pk}/edit/", {"remove": "1"}, follow=True)
    assert "The photo was not taken away" in answer.content.decode()
    assert Photo.objects.get().file.storage.exists(kept.file.name)
