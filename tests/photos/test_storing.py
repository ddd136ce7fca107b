"""Photographs in: upright, in sRGB, without a tag, and no file that can hurt."""

import io
import json
import struct
import zlib
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import ExifTags, Image, ImageCms

from studio.camera.intake import MAX_BYTES, PhotoError
from studio.models import Photo
from studio.photos import storing
from tests.factories import make_piece, make_project, make_section, make_student, make_user

RENDERED = Path(__file__).parent.parent.parent / "fixtures" / "photos"
TRUTH = json.loads((RENDERED / "truth.json").read_text())


def picture(width=640, height=480, colour=(200, 90, 40)):
    return Image.new("RGB", (width, height), colour)


def as_bytes(image, kind="JPEG", **how):
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def opened(data):
    return Image.open(io.BytesIO(data))


def test_every_rendered_photo_comes_in_as_its_truth_says():
    for truth in TRUTH[::5]:
        prepared = storing.take_in((RENDERED / truth["file"]).read_bytes(), truth["file"])
        assert (prepared.width, prepared.height) == (
            truth["image"]["width"],
            truth["image"]["height"],
        )
        assert prepared.focal_35mm == truth["exif"]["f35"]
        assert prepared.taken_at.strftime("%Y:%m:%d %H:%M:%S") == truth["exif"]["datetime"]
        assert max(opened(prepared.middle).size) == 1280
        assert max(opened(prepared.small).size) == 320


@pytest.mark.parametrize("size", [(1600, 1200), (1200, 1600), (640, 481), (300, 200), (4001, 37)])
def test_a_photo_tells_how_wide_its_copies_are(size):
    prepared = storing.take_in(as_bytes(picture(*size)), "a.jpg")
    photo = Photo(width=prepared.width, height=prepared.height)
    told = (photo.middle_width, photo.small_width)
    copies = (opened(prepared.middle).width, opened(prepared.small).width)
    # The small copy is made of the middle one: rounding may differ by a pixel.
    assert told == pytest.approx(copies, abs=1)


def test_a_photo_held_on_its_side_is_turned_upright():
    file = next(each["file"] for each in TRUTH if each["exif"]["orientation"] == 6)
    data = (RENDERED / file).read_bytes()
    stored = opened(data)
    assert stored.size == (1200, 1600)
    # Exif 2.3, 0x0112: 6 is "row 0 at the right": a quarter turn clockwise makes it upright.
    upright = np.rot90(np.asarray(stored.convert("RGB")), -1).astype(int)
    kept = np.asarray(opened(storing.take_in(data, file).full).convert("RGB")).astype(int)
    assert kept.shape == upright.shape
    assert np.abs(kept - upright).mean() < 2  # grey levels: what re-encoding costs
    assert np.abs(kept - upright[:, ::-1]).mean() > 10


def test_place_and_camera_are_gone_from_every_size():
    file = next(each["file"] for each in TRUTH if each["exif"]["gps"])
    data = (RENDERED / file).read_bytes()
    assert dict(opened(data).getexif().get_ifd(ExifTags.IFD.GPSInfo))
    prepared = storing.take_in(data, file)
    for kept in (prepared.full, prepared.middle, prepared.small):
        assert dict(opened(kept).getexif()) == {}
        assert b"Exif" not in kept


def test_no_tag_of_any_kind_survives():
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "SECRETMAKE"
    data = as_bytes(
        picture(),
        exif=exif,
        comment=b"SECRETCOMMENT",
        xmp=b"<x>SECRETXMP</x>",
        icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes(),
        dpi=(301, 301),
    )
    for secret in (b"SECRETMAKE", b"SECRETCOMMENT", b"SECRETXMP", b"ICC_PROFILE"):
        assert secret in data
    prepared = storing.take_in(data, "a.jpg")
    for kept in (prepared.full, prepared.middle, prepared.small):
        for secret in (b"SECRET", b"ICC_PROFILE", b"http"):
            assert secret not in kept
        # Segments of a JPEG that may carry words: APP1 to APP15 and COM (ITU T.81, table B.1).
        assert {marker for marker, _ in segments(kept)} & {*range(0xE1, 0xF0), 0xFE} == set()


def segments(jpeg):
    """Marker and length of every segment before the picture itself."""
    at = 2
    while jpeg[at + 1] != 0xDA:
        length = struct.unpack(">H", jpeg[at + 2 : at + 4])[0]
        yield jpeg[at + 1], length
        at += 2 + length


@pytest.mark.parametrize(
    ("kind", "name"), [("PNG", "a.jpg"), ("WEBP", "a.txt"), ("HEIF", "a.heic")]
)
def test_the_content_counts_and_not_the_name(kind, name):
    prepared = storing.take_in(as_bytes(picture(), kind), name)
    assert opened(prepared.full).format == "JPEG"
    colour = np.asarray(opened(prepared.full).convert("RGB")).reshape(-1, 3).mean(axis=0)
    assert colour == pytest.approx((200, 90, 40), abs=4)


def test_what_is_see_through_stands_on_white():
    clear = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
    pixel = opened(storing.take_in(as_bytes(clear, "PNG"), "a.png").full).getpixel((32, 32))
    assert pixel == (255, 255, 255)


def test_another_colour_space_becomes_srgb():
    # sRGB with the colorants of red and green exchanged in its tag table (ICC.1, 7.3): what a
    # picture calls red is then green to the eye, and green is what has to be kept.
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    at = {bytes(profile[n : n + 4]): n for n in range(132, 132 + 12 * profile[131], 12)}
    red, green = at[b"rXYZ"], at[b"gXYZ"]
    profile[red : red + 4], profile[green : green + 4] = b"gXYZ", b"rXYZ"
    data = as_bytes(picture(colour=(220, 30, 30)), icc_profile=bytes(profile))
    kept = opened(storing.take_in(data, "a.jpg").full)
    assert kept.getpixel((10, 10)) == pytest.approx((30, 220, 30), abs=4)
    assert "icc_profile" not in kept.info


def test_a_broken_profile_does_not_lose_the_photo():
    data = as_bytes(picture(), icc_profile=b"this is no profile" * 20)
    assert storing.take_in(data, "a.jpg").width == 640


def bomb(width, height):
    """A PNG whose header claims a size that its few bytes do not hold."""

    def chunk(kind, body):
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(("width", "height"), [(60_000, 60_000), (9_000, 9_000), (1, 100_000)])
def test_a_picture_that_claims_to_be_huge_is_refused_by_its_header(width, height):
    with pytest.raises(PhotoError, match="megapixels"):
        storing.take_in(bomb(width, height), "bomb.png")


def test_an_animation_is_refused():
    frames = [picture(64, 64, (n, 0, 0)) for n in range(3)]
    data = as_bytes(frames[0], "PNG", save_all=True, append_images=frames[1:])
    with pytest.raises(PhotoError, match="animation"):
        storing.take_in(data, "a.png")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b"# only words\n" * 50, "is not a picture"),
        (b"%PDF-1.7\n" + b"x" * 200, "is not a picture"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 50, "not a picture|damaged"),
    ],
)
def test_what_is_no_picture_is_told_by_name(data, said):
    with pytest.raises(PhotoError, match=said) as caught:
        storing.take_in(data, "../../notes.txt")
    assert str(caught.value).startswith("notes.txt ")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_file_cut_off_on_the_way_is_told_as_such(kind):
    noise = Image.fromarray(
        np.random.default_rng(7).integers(0, 255, (200, 300, 3), dtype=np.uint8), "RGB"
    )
    data = as_bytes(noise, kind)
    with pytest.raises(PhotoError, match="damaged or was cut off"):
        storing.take_in(data[: len(data) * 2 // 3], "cut")


def test_too_many_bytes_are_refused_without_a_look():
    with pytest.raises(PhotoError, match=r"has 4\d MB; up to"):
        storing.take_in(b"\xff\xd8" + b"\0" * MAX_BYTES, "a.jpg")


def test_the_clock_of_the_camera_is_kept_with_its_zone():
    exif = Image.Exif()
    detail = exif.get_ifd(ExifTags.IFD.Exif)
    detail[ExifTags.Base.DateTimeOriginal] = "2025:03:14 10:04:11"
    detail[ExifTags.Base.OffsetTimeOriginal] = "-05:00"
    prepared = storing.take_in(as_bytes(picture(), exif=exif), "a.jpg")
    assert prepared.taken_at == datetime(2025, 3, 14, 15, 4, 11, tzinfo=UTC)


@pytest.mark.parametrize("stamp", ["0000:00:00 00:00:00", "yesterday", ""])
def test_a_clock_that_was_never_set_tells_nothing(stamp):
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = stamp
    assert storing.take_in(as_bytes(picture(), exif=exif), "a.jpg").taken_at is None


@pytest.fixture
def shelf(db):
    teacher = make_user("teacher")
    section = make_section(teacher)
    project, amara = make_project(section), make_student(section)
    return teacher, section, [make_piece(project, amara, code) for code in ("K3-01", "K3-02")]


def files():
    storage = Photo._meta.get_field("file").storage
    try:
        return set(storage.listdir("photos")[1])
    except FileNotFoundError:
        return set()


def test_the_same_photo_is_kept_once_in_a_section(shelf):
    teacher, section, (piece, other) = shelf
    prepared = storing.take_in(as_bytes(picture()), "a.jpg")
    before = files()
    first = storing.store(section, piece, prepared, teacher)
    assert len(files() - before) == 3
    assert storing.store(section, piece, prepared, teacher) == first
    with pytest.raises(storing.SamePhotoError, match="K3-01"):
        storing.store(section, other, prepared, teacher)
    assert len(files() - before) == 3
    assert Photo.objects.count() == 1


def test_the_same_photo_may_stand_in_two_sections(shelf):
    teacher, section, (piece, _) = shelf
    prepared = storing.take_in(as_bytes(picture()), "a.jpg")
    storing.store(section, piece, prepared, teacher)
    storing.store(make_section(teacher, name="Bell 5"), None, prepared, teacher)
    assert Photo.objects.count() == 2


def test_a_photo_in_the_tray_is_filed_when_it_comes_again_with_its_piece(shelf):
    teacher, section, (piece, _) = shelf
    prepared = storing.take_in(as_bytes(picture()), "a.jpg")
    loose = storing.store(section, None, prepared, teacher)
    assert storing.store(section, piece, prepared, teacher) == loose
    assert Photo.objects.get().piece == piece


def test_a_file_name_tells_neither_student_nor_piece(shelf):
    teacher, section, (piece, _) = shelf
    prepared = storing.take_in(as_bytes(picture()), "amara K3-01.jpg")
    photo = storing.store(section, piece, prepared, teacher)
    for file in (photo.file, photo.middle, photo.small):
        assert "amara" not in file.name
        assert "K3" not in file.name
    assert photo.came_as == "amara K3-01.jpg"


@pytest.mark.django_db(transaction=True)
def test_an_erased_photo_leaves_no_file(shelf):
    teacher, section, (piece, _) = shelf
    before = files()
    photo = storing.store(section, piece, storing.take_in(as_bytes(picture()), "a.jpg"), teacher)
    storing.erase(photo)
    assert Photo.objects.count() == 0
    assert files() == before


def test_a_store_that_fails_leaves_no_file(shelf, monkeypatch):
    teacher, section, (piece, _) = shelf
    before = files()
    prepared = storing.take_in(as_bytes(picture()), "a.jpg")
    monkeypatch.setattr(Photo, "save", lambda *args, **kwargs: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        storing.store(section, piece, prepared, teacher)
    assert files() == before
