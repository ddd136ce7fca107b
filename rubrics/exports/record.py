"""A student's whole record as a ZIP, written piece by piece while it is sent.

What is in it may be handed to the student or the family, so it has what they were shown: published
assessments, the student's own, never a draft, another's view or a grown-up's name. The private note
on access is in it only where the teacher asks for it.
"""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.core.files.storage import default_storage
from django.core.serializers.json import DjangoJSONEncoder
from django.utils import timezone

from rubrics.models import Assessment, Remark, Report
from rubrics.reports.feedback import feedback_pdf
from studio.measuring.readings_csv import guard
from studio.models import Photo, Piece, Student

FORMAT = 1
CHUNK = 256 * 1024
"""Bytes that are sent at once: no more than one photo's part is held in memory."""
PHOTOS_ON_PAPER = 2

# Inner workings, and what belongs to somebody else.
NOT_TOLD = {
    Student: {"id", "uid"},
    Piece: {"id"},
    Photo: {"id", "file", "middle", "small", "sha256", "came_as", "found"},
    Report: {"id", "version"},
    Remark: {"id", "version", "ruled_at", "taken_as"},
}
READING_COLUMNS = (
    *("piece", "stage", "quantity", "name", "height_mm", "azimuth_deg", "value", "typed"),
    *("source", "made_at", "superseded_at"),
)
PIECE_COLUMNS = ("piece", "section", "project", "stage", "state", "percent", "grade")
LEVEL_COLUMNS = ("piece", "criterion", "weight", "level", "points", "excused", "note")

Content = bytes | Iterable[bytes]


def parts(student: Student, pieces: Sequence[Piece], *, note: str = "") -> Iterator:
    """Name and content of each file of the record.

    Parameters
    ----------
    student : Student
    pieces : sequence of Piece
        Those the teacher may see, from :func:`whole`.
    note : str
        The private note on access, where the teacher wants it in the record.

    Yields
    ------
    (str, bytes or iterable of bytes)
    """
    told = {piece.pk: _published(piece) for piece in pieces}
    yield "record.json", _json(_record(student, pieces, told, note=note))
    yield "pieces.csv", _csv(PIECE_COLUMNS, _piece_rows(pieces, told))
    yield "readings.csv", _csv(READING_COLUMNS, _reading_rows(pieces))
    yield "levels.csv", _csv(LEVEL_COLUMNS, _level_rows(told.values()))
    lacking = []
    for piece in pieces:
        for photo in piece.photos.all():
            if default_storage.exists(photo.file.name):
                yield photo_name(photo, piece), _chunks(photo.file.name)
            else:
                lacking.append(photo_name(photo, piece))
        if shown := told[piece.pk]:
            prints = [data for photo in _prints(piece, shown) if (data := _bytes(photo))]
            yield f"feedback/{piece.code}-{piece.pk}.pdf", feedback_pdf(shown, prints)
    if lacking:
        said = "These photos are on record, but their files are gone:\n" + "\n".join(lacking)
        yield "missing.txt", said.encode()


def whole(pieces):
    """A queryset of pieces with all that a record says of them, in a fixed number of queries."""
    return (
        pieces.select_related("project", "section")
        .prefetch_related(
            "readings",
            "photos",
            "outcomes",
            "glazes",
            "assessments__next_steps",
            "assessments__marks__criterion",
            "assessments__marks__level",
            "shown_in__looks__remarks",
        )
        .order_by("section", "project__number", "code")
    )


def photo_name(photo: Photo, piece: Piece) -> str:
    """Code and stage, no name of a person: a file name travels further than its file."""
    stage = (photo.stage or "no-stage").replace(" ", "-")
    return f"photos/{piece.code}-{stage}-{photo.view}-{photo.pk}.jpg"


def stream(named: Iterable[tuple[str, Content]]) -> Iterator[bytes]:
    """A ZIP as bytes to send while it is made; photographs are packed already and only stored."""
    sink = _Sink()
    moment = timezone.localtime().timetuple()[:6]
    with zipfile.ZipFile(sink, "w") as parcel:
        for name, content in named:
            info = zipfile.ZipInfo(name, moment)
            is_packed = name.endswith((".jpg", ".pdf"))
            info.compress_type = zipfile.ZIP_STORED if is_packed else zipfile.ZIP_DEFLATED
            with parcel.open(info, "w") as file:
                for chunk in [content] if isinstance(content, bytes) else content:
                    file.write(chunk)
                    yield from sink.taken()
    yield from sink.taken()


class _Sink(io.RawIOBase):
    """Takes what a ZIP writes and gives it on. It cannot go back, which the format allows for."""

    def __init__(self):
        self._held: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, data) -> int:
        self._held.append(bytes(data))
        return len(data)

    def taken(self) -> Iterator[bytes]:
        held, self._held = b"".join(self._held), []
        if held:
            yield held


def _chunks(name: str) -> Iterator[bytes]:
    with default_storage.open(name) as file:
        while chunk := file.read(CHUNK):
            yield chunk


def _bytes(photo: Photo) -> bytes:
    """The photo's file; empty where it is gone, since a page without it still tells the rest."""
    try:
        return b"".join(_chunks(photo.middle.name))
    except OSError:
        return b""


def _prints(piece: Piece, shown: dict) -> list[Photo]:
    by_id = {photo.pk: photo for photo in piece.photos.all()}
    return [by_id[pk] for pk in shown["photos"] if pk in by_id][:PHOTOS_ON_PAPER]


def _published(piece: Piece) -> dict | None:
    for each in piece.assessments.all():
        if each.kind == Assessment.Kind.TEACHER and each.published_at:
            return each.shown
    return None


def _fields(row, more: dict | None = None) -> dict[str, Any]:
    """Every plain field of a row that is the student's to know; links to other rows are not."""
    hidden = NOT_TOLD.get(type(row), {"id"})
    plain = {
        field.name: getattr(row, field.name)
        for field in row._meta.concrete_fields
        if not field.is_relation and field.name not in hidden
    }
    return plain | (more or {})


def _record(student: Student, pieces, told, *, note: str) -> dict:
    sections = {piece.section_id for piece in pieces}
    login = student.login.get_username() if student.login else None
    person = _fields(student, {"signs_in_as": login})
    if note:
        person["private_note"] = note
    reports = Report.objects.filter(student=student, section__in=sections)
    return {
        "format": FORMAT,
        "made_at": timezone.now(),
        "student": person,
        "pieces": [_piece(piece, told[piece.pk]) for piece in pieces],
        "family_pages": [_fields(report) for report in reports],
        "remarks_written": [_fields(each) for each in _written(student, sections)],
    }


def _piece(piece: Piece, shown: dict | None) -> dict:
    of_teacher = [a for a in piece.assessments.all() if a.kind == Assessment.Kind.TEACHER]
    own = [a for a in piece.assessments.all() if a.kind == Assessment.Kind.SELF]
    steps = [step for a in of_teacher if a.published_at for step in a.next_steps.all()]
    return _fields(
        piece,
        {
            "section": str(piece.section),
            "project": piece.project.title,
            "readings": [_fields(reading) for reading in piece.readings.all()],
            "glazes": [_fields(coat) for coat in piece.glazes.all()],
            "outcomes": [_fields(outcome) for outcome in piece.outcomes.all()],
            "photos": [
                _fields(photo, {"file": photo_name(photo, piece)}) for photo in piece.photos.all()
            ],
            "published_assessment": shown,
            "next_steps": [_fields(step) for step in steps],
            "own_assessments": [_own(assessment) for assessment in own],
            "remarks": [_fields(remark) for remark in _came(piece)],
        },
    )


def _came(piece: Piece) -> list[Remark]:
    """What the gate let through on a piece; whose words they are is not the student's to know."""
    looks = [look for shown in piece.shown_in.all() for look in shown.looks.all()]
    remarks = [remark for look in looks for remark in look.remarks.all()]
    return [remark for remark in remarks if remark.state == Remark.State.PASSED]


def _written(student: Student, sections):
    """The student's own remarks of these sections, sent or not, without whose piece it is."""
    here = Remark.objects.filter(look__shown__piece__section__in=sections)
    return here.filter(look__reader=student).exclude(text="")


def _own(assessment: Assessment) -> dict:
    return {
        "begun_at": assessment.begun_at,
        "words": assessment.words,
        "strength": assessment.strength,
        "levels": [
            {
                "criterion": str(mark.criterion),
                "level": mark.level.number if mark.level else None,
                "note": mark.note,
            }
            for mark in assessment.marks.all()
        ],
    }


def _piece_rows(pieces, told) -> Iterator[tuple]:
    for piece in pieces:
        shown = told[piece.pk] or {}
        figures = (shown.get("percent"), shown.get("grade"))
        yield (
            *(piece.code, str(piece.section), piece.project.title, piece.stage, piece.state),
            *figures,
        )


def _reading_rows(pieces) -> Iterator[tuple]:
    for piece in pieces:
        for reading in piece.readings.all():
            yield (piece.code, *(getattr(reading, field) for field in READING_COLUMNS[1:]))


def _level_rows(told) -> Iterator[tuple]:
    for shown in filter(None, told):
        for each in shown["criteria"]:
            yield (
                *(shown["piece"], f"{each['letter']} {each['name']}", each["weight"]),
                *(each["level"], each["points"], each["excused"], each["note"]),
            )


def _json(record: dict) -> bytes:
    return json.dumps(record, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1).encode()


def _csv(head: tuple[str, ...], rows: Iterable[tuple]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return out.getvalue().encode("utf-8-sig")


def _cell(value) -> str:
    """Text guarded against running as a formula; figures, negative ones too, as they are."""
    if value is None:
        return ""
    return guard(value) if isinstance(value, str) else str(value)
