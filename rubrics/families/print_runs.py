"""Printing a whole section in chunks, so that the page can show how far it is, and stop.

There is no background worker and no state but the database and files. The page asks for one chunk
after the other; each is kept as a file under ``MEDIA_ROOT/reports/<run>/`` beside a note of what
was asked for, and joined at the end. A cancel removes the folder; what nobody removed goes after
an hour, by a timer of this process, else with the next look at any run. Nothing there is served but
through a view that asks who is looking, and nothing that is older.
"""

from __future__ import annotations

import json
import shutil
import threading
import time
import uuid
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from django.conf import settings
from pypdf import PdfReader, PdfWriter
from pypdf.generic import NameObject, TextStringObject

from rubrics.families.portfolios import family_pages
from rubrics.reports.portfolio import portfolio_pdf
from studio.models import Section, Student

CHUNK = 10
"""Students a chunk: a second or two of work, so that a cancel is heard soon."""
KEPT_SECONDS = 3600
"""Time to open and print a document: a class's names and marks do not lie about for longer."""
NOTE, JOINED = "asked.json", "joined.pdf"


class NoRun(LookupError):  # noqa: N818  the name is what a view asks for
    """There is no such run for this person in this section, or it was stopped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintOrder:
    """What somebody asked to print."""

    section: int
    user: int
    students: tuple[int, ...]
    day: str
    pagesize: str = "letter"
    grey: bool = False
    more_pieces: bool = True

    @property
    def chunks(self) -> int:
        return -(-len(self.students) // CHUNK)


def start(asked: PrintOrder) -> uuid.UUID:
    """Note down what to print, and clear away what is older than an hour, now and then."""
    _clear_old()
    timer = threading.Timer(KEPT_SECONDS + 1, _clear_old)
    timer.daemon = True
    timer.start()
    run = uuid.uuid4()
    folder = _folder(run)
    folder.mkdir(parents=True)
    (folder / NOTE).write_text(json.dumps(asdict(asked)), encoding="utf-8")
    return run


def asked_of(run: uuid.UUID, *, section: Section, user) -> PrintOrder:
    """What a run prints, for who started it.

    Raises
    ------
    NoRun
    """
    _clear_old()
    try:
        note = json.loads((_folder(run) / NOTE).read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise NoRun(str(run)) from error
    asked = PrintOrder(**note | {"students": tuple(note["students"])})
    if (asked.section, asked.user) != (section.pk, user.pk):
        raise NoRun(str(run))
    return asked


def print_chunk(run: uuid.UUID, asked: PrintOrder, section: Section, number: int) -> None:
    """Print one chunk to its file; printing it again replaces it.

    Raises
    ------
    NoRun
        The number is none of the run's, or the run was stopped meanwhile.
    """
    if not 0 <= number < asked.chunks:
        raise NoRun(str(run))
    wanted = asked.students[number * CHUNK : (number + 1) * CHUNK]
    data = printed(section, wanted, asked)
    try:
        (_folder(run) / f"{number:04d}.pdf").write_bytes(data)
    except FileNotFoundError as error:
        raise NoRun(str(run)) from error


def printed(section: Section, ids: Sequence[int], asked: PrintOrder) -> bytes:
    """The pages of these students in this order; b"" where nothing of theirs is published."""
    by_id = Student.objects.filter(enrolments__section=section).in_bulk(ids)
    students = [by_id[each] for each in ids if each in by_id]
    pages = family_pages(section, students, day=date.fromisoformat(asked.day))
    first = next(pages, None)
    if first is None:
        return b""

    def all_pages():
        yield first
        yield from pages

    return portfolio_pdf(
        all_pages(),
        title=f"Pages for families, {section}",
        pagesize=asked.pagesize,
        grey=asked.grey,
        more_pieces=asked.more_pieces,
    ).pdf


def join(run: uuid.UUID, asked: PrintOrder, section: Section) -> Path:
    """One document of all chunks, bookmarks included.

    Raises
    ------
    NoRun
        A chunk is missing, or nothing was published.
    """
    folder = _folder(run)
    files = [folder / f"{number:04d}.pdf" for number in range(asked.chunks)]
    if not all(file.exists() for file in files):
        raise NoRun(str(run))
    filled = [file for file in files if file.stat().st_size]
    if not filled:
        raise NoRun(str(run))
    joined = folder / JOINED
    if not joined.exists():
        writer = PdfWriter()
        parts = [PdfReader(file) for file in filled]
        for part in parts:
            writer.append(part)
        # A program that reads aloud has one voice a document: that of the first family's page.
        language = parts[0].root_object.get("/Lang", "en")
        writer.root_object[NameObject("/Lang")] = TextStringObject(language)
        writer.add_metadata(
            {"/Title": f"Pages for families, {section}", "/Creator": "Rim & Reason", "/Author": ""}
        )
        writer.write(joined)
    return joined


def stop(run: uuid.UUID) -> None:
    """Remove everything of a run."""
    shutil.rmtree(_folder(run), ignore_errors=True)


def forget(student_id: int) -> None:
    """Remove every printing that may hold a student's page: for when the student is removed."""
    for note in _reports().glob(f"*/{NOTE}"):
        if student_id in json.loads(note.read_text(encoding="utf-8"))["students"]:
            shutil.rmtree(note.parent, ignore_errors=True)


def _reports() -> Path:
    return Path(settings.MEDIA_ROOT) / "reports"


def _folder(run: uuid.UUID) -> Path:
    return _reports() / str(run)


def _clear_old() -> None:
    for folder in _reports().iterdir() if _reports().exists() else ():
        if time.time() - folder.stat().st_mtime > KEPT_SECONDS:
            shutil.rmtree(folder, ignore_errors=True)
