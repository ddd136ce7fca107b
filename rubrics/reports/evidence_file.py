"""The evidence behind one grade on paper: a plain summary on top, then all of it in order."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable as Block
from reportlab.platypus import PageBreak, SimpleDocTemplate

from rubrics.checks.register import check_named, checks
from studio.lettering.fonts import SANS, register_fonts
from studio.lettering.setting import draw_line, width_of

from .drawings import draw
from .family import PrintedPicture
from .palette import EDGE, INK, SOFT
from .paper import styles
from .paper.blocks import Gap, Row, Rule, Stack
from .paper.prints import Print, opened
from .paper.sizes import page_size
from .portfolio import MARGIN
from .print_drawing import to_reportlab
from .shown import PublishedAssessment, ShownCriterion

TEXT, SMALL, FURNITURE = 9.5, 8.5, 7.5
COLUMN_GAP = 10.0
DRAWN_AT = 320.0
"""Width at which drawings are laid out, before they are set to their width on paper. [unit]"""
DRAWING_WIDTH = 235.0
PHOTO_WIDTH, PHOTO_HEIGHT = 165.0, 124.0
PHOTOS_A_ROW = 3
CRITERION_WIDTH, LEVEL_WIDTH, SUGGESTED_WIDTH = 128.0, 78.0, 56.0
READING_WIDTHS = (58.0, 92.0, None, 52.0, 196.0)
WHEN_WIDTH, WHO_WIDTH = 86.0, 92.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingLine:
    """One reading that counts, in words: stage, what, where, value, with what, by whom, when."""

    stage: str
    what: str
    where: str
    value: str
    how: str
    who: str
    day: str
    is_in_question: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One thing that was done, by whom and when."""

    at: datetime
    who: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceFile:
    """All of one piece. ``shown`` is what was published, or would be; ``day`` is ISO 8601."""

    shown: PublishedAssessment
    student: str
    section: str
    day: str
    stage: str
    intent: str = ""
    is_published: bool = False
    readings: tuple[ReadingLine, ...] = ()
    superseded: int = 0
    """How many readings were corrected or taken back; they stay on record."""
    pictures: tuple[PrintedPicture, ...] = ()
    events: tuple[Event, ...] = ()


def evidence_pdf(file: EvidenceFile, *, pagesize: str = "letter") -> bytes:
    """Print it: a page of summary, then checks, photos, readings, and what was done when.

    Returns
    -------
    bytes
        A PDF with its fonts embedded; the same input gives the same bytes.

    Raises
    ------
    ValueError
        A page size that is not known.
    """
    size = page_size(pagesize)
    register_fonts()
    # Once to count the pages, once to say "page 1 of 4".
    count = _written(file, size, None)[1]
    return _written(file, size, count)[0]


def _written(file: EvidenceFile, size: tuple[float, float], count: int | None) -> tuple[bytes, int]:
    written = io.BytesIO()
    pages = 0

    def furniture(canvas: Canvas, document) -> None:
        nonlocal pages
        pages = canvas.getPageNumber()
        width = document.pagesize[0]
        canvas.setFillColor(HexColor(SOFT))
        line = f"Evidence for {file.shown['piece']}, printed {file.day}"
        draw_line(canvas, MARGIN, MARGIN - 16, line, size=FURNITURE)
        number = f"Page {pages} of {count}"
        right = width - MARGIN - width_of(number, FURNITURE)
        draw_line(canvas, right, MARGIN - 16, number, size=FURNITURE)

    document = SimpleDocTemplate(
        written,
        pagesize=size,
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=MARGIN,
        title=f"Evidence for {file.shown['piece']}",
        author="",
        creator="Rim & Reason",
        invariant=1,
        initialFontName=SANS,
        lang="en",
    )
    document.build(list(_blocks(file)), onFirstPage=furniture, onLaterPages=furniture)
    return written.getvalue(), pages


def _blocks(file: EvidenceFile) -> Iterable[Block]:
    yield from _summary(file)
    yield PageBreak()
    yield from _checks(file.shown)
    yield from _photos(file.pictures)
    yield from _readings(file)
    yield from _events(file.events)


def _heading(words: str) -> Block:
    return Stack([Gap(14), styles.heading(words, 13.0), Gap(3), Rule(0.8, INK), Gap(6)])


# -- the summary -------------------------------------------------------------------------------


def _summary(file: EvidenceFile) -> Iterable[Block]:
    shown = file.shown
    yield styles.heading(f"What the grade of {shown['piece']} stands on", 18.0)
    yield Gap(4)
    yield styles.soft(f"{file.student} · {shown['project']} · {file.section}", TEXT)
    yield Stack([Gap(6), Rule(1.2, INK), Gap(8)])
    yield styles.plain(" ".join(_in_short(file)), TEXT + 1.0)
    if file.intent.strip():
        yield Gap(6)
        yield styles.plain(f"What its maker wanted of it: {file.intent.strip()}", TEXT)
    yield _heading("The marks")
    yield _mark_row(("Criterion", "Level", "Suggested", "Why"), head=True)
    for criterion in shown["criteria"]:
        yield _mark_row(_mark_cells(criterion))
    if shown["words"].strip():
        yield _heading("The teacher's words")
        yield styles.plain(shown["words"].strip(), TEXT)
    yield _heading("How to read what follows")
    yield styles.plain(HOW_TO_READ, TEXT)


HOW_TO_READ = (
    "Every check stands with its drawing, its figure and what the readings cannot tell. A level is "
    "suggested from the checks and given by the teacher; where the two differ, the reason stands "
    "beside it. Readings name who took them, with what and when; nothing is overwritten. Reasons "
    "that are private to a student are not in this file. It tells how the piece was made, not "
    "whether it may be used for food or drink."
)


def _in_short(file: EvidenceFile) -> Iterable[str]:
    shown = file.shown
    criteria = shown["criteria"]
    judged = [each for each in criteria if each["level"] is not None]
    excused = sum(each["excused"] for each in criteria)
    moved = sum(each["suggested"] not in (None, each["level"]) for each in judged)
    if shown["percent"] is None:
        yield "No grade stands yet."
    else:
        yield f"The grade is {shown['percent']}% {shown['grade']}".rstrip() + "."
    state = "published" if file.is_published else "not published: this is a draft"
    yield f"It is {state}."
    yield (
        f"{len(judged)} of {len(criteria)} criteria were judged by “{shown['rubric']}”, version "
        f"{shown['rubric_version']}; {excused} excused. They carry {shown['weight_counted']} of "
        f"{shown['weight_total']} weight."
    )
    yield (
        f"{len(file.readings)} readings count, {file.superseded} were corrected or taken back, "
        f"{len(file.pictures)} photos are on record."
    )
    if moved:
        yield f"On {moved} the teacher's level is another than the one the checks suggest."


def _mark_cells(criterion: ShownCriterion) -> tuple[str, str, str, str]:
    level = "excused" if criterion["excused"] else "not judged"
    if criterion["level"] is not None:
        level = f"{criterion['level']} {criterion['level_name']}"
    suggested = "" if criterion["suggested"] is None else str(criterion["suggested"])
    why = criterion["reason"] or criterion["suggested_because"] or criterion["descriptor"]
    return f"{criterion['name']} ({criterion['weight']})", level, suggested, why


def _mark_row(cells: tuple[str, str, str, str], *, head: bool = False) -> Block:
    kind = styles.label if head else styles.plain
    row = Row(
        [kind(each, SMALL) for each in cells],
        [CRITERION_WIDTH, LEVEL_WIDTH, SUGGESTED_WIDTH, None],
        COLUMN_GAP,
    )
    return Stack([row, Gap(3), Rule(0.5, EDGE), Gap(3)])


# -- the checks, the photos, the readings ------------------------------------------------------


def _checks(shown: PublishedAssessment) -> Iterable[Block]:
    known = [name for name in checks() if name in shown["checks"]]
    yield _heading("The checks")
    if not known:
        yield styles.plain("Nothing was measured.", TEXT)
    for name in known:
        check = shown["checks"][name]
        title = styles.strong(check_named(name).title, TEXT)
        sentence = styles.plain(check["sentence"], SMALL)
        if check["facts"].get("refused"):
            yield Stack([title, Gap(2), sentence, Gap(12)])
            continue
        scene = to_reportlab(draw(name, check["facts"], width=DRAWN_AT), width=DRAWING_WIDTH)
        yield Stack([title, Gap(4), Row([scene, sentence], [DRAWING_WIDTH, None], 14.0), Gap(14)])


def _photos(pictures: Iterable[PrintedPicture]) -> Iterable[Block]:
    found = [(photo, each) for each in pictures if (photo := opened(each.file)) is not None]
    if not found:
        return
    yield _heading("The photos")
    for place in range(0, len(found), PHOTOS_A_ROW):
        cells = [
            Stack(
                [
                    Print(photo, PHOTO_WIDTH, PHOTO_HEIGHT),
                    styles.soft(" · ".join(filter(None, (each.stage, each.caption))), SMALL),
                ]
            )
            for photo, each in found[place : place + PHOTOS_A_ROW]
        ]
        yield Row(cells, [PHOTO_WIDTH] * len(cells), COLUMN_GAP)
        yield Gap(8)


def _readings(file: EvidenceFile) -> Iterable[Block]:
    yield _heading("The readings that count")
    if not file.readings:
        yield styles.plain("None.", TEXT)
        return
    heads = ("Stage", "What", "Where", "Value", "With what, by whom, when")
    yield _reading_row(heads, head=True)
    for each in file.readings:
        value = f"{each.value} (?)" if each.is_in_question else each.value
        told = ", ".join((each.how, each.who, each.day))
        yield _reading_row((each.stage, each.what, each.where, value, told))
    if any(each.is_in_question for each in file.readings):
        yield styles.soft("(?) The site asked whether this is a slip; nobody answered.", SMALL)


def _reading_row(cells: Iterable[str], *, head: bool = False) -> Block:
    kind = styles.label if head else styles.plain
    row = Row([kind(each, SMALL - 0.5) for each in cells], list(READING_WIDTHS), COLUMN_GAP)
    return Stack([row, Gap(1.5), Rule(0.35, EDGE), Gap(1.5)])


# -- what was done, in the order of time -------------------------------------------------------


def _events(events: Iterable[Event]) -> Iterable[Block]:
    yield _heading("What was done, in the order of time")
    for each in events:
        row = Row(
            [
                styles.soft(each.at.strftime("%Y-%m-%d %H:%M"), SMALL),
                styles.plain(each.who, SMALL),
                styles.plain(each.what, SMALL),
            ],
            [WHEN_WIDTH, WHO_WIDTH, None],
            COLUMN_GAP,
        )
        yield Stack([row, Gap(2.5)])
