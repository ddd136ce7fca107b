"""A student's whole record: all that is theirs, nothing of anybody else, sent as it is made."""

import csv
import io
import json
import zipfile

import pypdf
import pytest
from PIL import Image

from rubrics.exports import record
from rubrics.models import Assessment, NextStep, Report
from studio.models import GlazeCoat, Piece
from studio.photos import storing
from tests.factories import read_rim


@pytest.fixture
def full(judged):
    """Amara with a photo, readings and an own assessment; Bao with a draft."""
    out = io.BytesIO()
    Image.new("RGB", (1600, 1200), "tan").save(out, "JPEG")
    taken = storing.take_in(out.getvalue(), "amara-at-home.jpg")
    judged.photo = storing.store(
        judged.section, judged.piece, taken, judged.teacher, stage="glazed"
    )
    read_rim(judged.piece, 90, 91, 90, 91, stage="glazed")
    Assessment.objects.create(
        piece=judged.piece,
        rubric=judged.rubric,
        kind="self",
        assessor=judged.student,
        words="OWN-WORDS",
    )
    Assessment.objects.create(
        piece=judged.piece,
        rubric=judged.rubric,
        kind="second",
        assessor=judged.colleague,
        words="SECOND-WORDS",
    )
    told = Assessment.objects.by_teacher().get(piece=judged.piece)
    NextStep.objects.create(assessment=told, text="Level the rim.", reply="MY-REPLY")
    draft = Assessment.objects.by_teacher().get(piece=judged.other_piece)
    draft.words = "DRAFT-WORDS"
    draft.save()
    Report.objects.create(student=judged.amara, section=judged.section, words="FAMILY-WORDS")
    return judged


def zipped(student, *, note=""):
    pieces = list(record.whole(Piece.objects.filter(student=student)))
    sent = b"".join(record.stream(record.parts(student, pieces, note=note)))
    parcel = zipfile.ZipFile(io.BytesIO(sent))
    assert parcel.testzip() is None
    return parcel


def test_the_record_tells_the_glazes(full):
    GlazeCoat.objects.create(piece=full.piece, glaze="Celadon", coats=3, thickness_mm=0.8)
    GlazeCoat.objects.create(piece=full.other_piece, glaze="Tenmoku")
    text = zipped(full.amara).read("record.json").decode()
    (piece,) = [each for each in json.loads(text)["pieces"] if each["glazes"]]
    assert [(c["glaze"], c["coats"], c["thickness_mm"]) for c in piece["glazes"]] == [
        ("Celadon", 3, 0.8)
    ]
    assert "Tenmoku" not in text


def test_the_record_has_data_photos_and_feedback(full):
    parcel = zipped(full.amara)
    photo = f"photos/K3-01-glazed-side-{full.photo.pk}.jpg"
    pdf = f"feedback/K3-01-{full.piece.pk}.pdf"
    tables = ["record.json", "pieces.csv", "readings.csv", "levels.csv"]
    assert parcel.namelist() == [*tables, photo, pdf]
    with full.photo.file.open() as kept:
        assert parcel.read(photo) == kept.read()
    text = "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(parcel.read(pdf))).pages)
    assert "Amara O." in text
    said = json.loads(parcel.read("record.json"))
    (piece,) = said["pieces"]
    assert piece["code"] == "K3-01"
    assert [reading["value"] for reading in piece["readings"]] == [90, 91, 90, 91]
    assert piece["published_assessment"]["percent"] == "100"
    assert piece["own_assessments"][0]["words"] == "OWN-WORDS"
    assert "MY-REPLY" in [step["reply"] for step in piece["next_steps"]]
    assert said["family_pages"][0]["words"] == "FAMILY-WORDS"
    readings = list(csv.DictReader(io.StringIO(parcel.read("readings.csv").decode("utf-8-sig"))))
    assert [row["value"] for row in readings] == ["90.0", "91.0", "90.0", "91.0"]


def everything(parcel):
    return b"\n".join(parcel.read(n) for n in parcel.namelist() if not n.endswith(".pdf")).decode(
        errors="replace"
    )


def test_the_private_note_is_in_it_only_where_asked_for(full):
    assert "PRIVATE-NOTE" not in everything(zipped(full.amara))
    assert "PRIVATE-NOTE" in everything(zipped(full.amara, note="PRIVATE-NOTE"))


def test_nothing_unpublished_and_nobody_else_is_in_it(full):
    told = everything(zipped(full.amara)) + everything(zipped(full.bao))
    for word in ("DRAFT-WORDS", "SECOND-WORDS", "Teach", "at-home"):
        assert word not in told
    assert (
        json.loads(zipped(full.bao).read("record.json"))["pieces"][0]["published_assessment"]
        is None
    )
    assert "Bao" not in everything(zipped(full.amara))


def test_a_photo_whose_file_is_gone_is_told(full):
    full.photo.file.storage.delete(full.photo.file.name)
    parcel = zipped(full.amara)
    assert f"photos/K3-01-glazed-side-{full.photo.pk}.jpg" in parcel.read("missing.txt").decode()


def test_it_is_sent_in_parts_no_larger_than_one_chunk_and_its_head(full):
    named = [("a.jpg", iter([bytes(record.CHUNK)] * 40))]
    sizes = [len(part) for part in record.stream(named)]
    assert len(sizes) > 40
    assert max(sizes) <= record.CHUNK + 1024
