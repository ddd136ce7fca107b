"""Picture files for tests: rendered photographs of the project, and small made ones."""

import io
from pathlib import Path

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

PHOTOS = Path(__file__).parents[2] / "fixtures" / "photos"
SIDE, TOP, LEATHER = "K3-01-fired-side.jpg", "K3-01-fired-top.jpg", "K3-01-leather-side.jpg"
NO_SLIP = "K3-02-fired-side.jpg"  # truth.json: no slip lies on its mat


def rendered(file: str, name: str | None = None) -> SimpleUploadedFile:
    """A rendered photograph, under another name if given."""
    return SimpleUploadedFile(name or file, (PHOTOS / file).read_bytes(), "image/jpeg")


def upload(data: bytes, name: str) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "application/octet-stream")


def plain_picture(colour="white", size=(640, 480), form="JPEG") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, form)
    return out.getvalue()
