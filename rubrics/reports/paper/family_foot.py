"""The lower half of a page for the family: the line of progress, the two voices."""

from __future__ import annotations

from rubrics.stats.trend import FALLING, RISING, STEADY, TOO_EARLY, Trend, trend

from ..drawings.progress import ProgressPoint, progress
from ..family import FamilyPage, NotYet, PublishedPiece
from ..language import as_written, counted, marked, said, spoken
from ..palette import EDGE, SLATE
from ..print_drawing import POINTS_PER_UNIT, to_reportlab
from . import styles
from .blocks import Flowable, Gap, OnGround, Row, Rule, Stack
from .family_size import BETWEEN, Cuts, PageSizes

MOST_UNPUBLISHED = 4
"""Lines for pieces of which nothing is published; more are told on the screen."""
FEWEST_DRAWN = 2
"""One grade is a number above, not a chart."""
MOST_STEPS = 8
"""So many projects are drawn, the latest ones: a year has three to eight."""


def lower(page: FamilyPage, size: PageSizes, cuts: Cuts, width: float) -> Flowable:
    """Progress at the left, what the student and the teacher say at the right."""
    column = (width - BETWEEN) / 2
    right = [_student(page, size, cuts), _teacher(page, size, cuts)]
    spoken_by = [part for part in right if part is not None]
    if len(spoken_by) > 1:
        spoken_by.insert(1, Gap(size.gap * 0.7))
    return Row([_progress(page, size, column), Stack(spoken_by)], [column, None], BETWEEN)


def graded(page: FamilyPage) -> list[PublishedPiece]:
    """The pieces with a grade, in the order they were made."""
    return [each for each in reversed(page.pieces) if each.shown["percent"] is not None]


def _progress(page: FamilyPage, size: PageSizes, width: float) -> Flowable:
    pieces = graded(page)[-MOST_STEPS:]
    word = trend_of(pieces).word
    parts: list[Flowable] = [styles.label(said("From project to project"), size.text)]
    if len(pieces) >= FEWEST_DRAWN:
        steps = [
            ProgressPoint(
                f"{each.number} {as_written(each.shown['project'])}", each.shown["percent"]
            )
            for each in pieces
        ]
        unit = POINTS_PER_UNIT
        scene = progress(
            steps,
            width=width / unit,
            height=size.progress / unit,
            joined=word != TOO_EARLY,
        )
        parts += [Gap(3), to_reportlab(scene, width=width), Gap(3)]
    parts.append(styles.plain(trend_said(pieces), size.text - 0.5))
    if page.unpublished:
        parts.append(Gap(size.gap * 0.4))
        parts += [
            styles.soft(stands_said(each), size.text - 0.5, most_lines=2)
            for each in page.unpublished[:MOST_UNPUBLISHED]
        ]
    return Stack(parts)


STANDS = {
    "in work": marked("still in work"),
    "finished": marked("not looked at yet"),
    "lost": marked("it was lost before it could be looked at"),
    "broken": marked("it broke before it could be looked at"),
}


def stands_said(piece: NotYet) -> str:
    return said(
        "{number}  {project}: {stands}.",
        number=piece.number,
        project=as_written(piece.project),
        stands=said(STANDS.get(piece.state, STANDS["in work"])),
    )


_TRENDS = {
    RISING: marked("Over these {count} projects the grade has gone up."),
    STEADY: marked("Over these {count} projects the grade goes neither up nor down for certain."),
    FALLING: marked("Over these {count} projects the grade has gone down."),
}


def trend_of(pieces: list[PublishedPiece]) -> Trend:
    """What can be said of the grades that are drawn."""
    figures = [float(each.shown["percent"] or 0) for each in pieces]
    return trend(list(range(len(figures))), figures)


def trend_said(pieces: list[PublishedPiece]) -> str:
    """The honest word on the line: nothing is claimed under four points."""
    told = trend_of(pieces)
    if told.word in _TRENDS:
        return said(_TRENDS[told.word], count=told.count)
    return counted(
        "{count} graded project so far. It takes five to tell a trend: too early to tell.",
        "{count} graded projects so far. It takes five to tell a trend: too early to tell.",
        told.count,
    )


def _student(page: FamilyPage, size: PageSizes, cuts: Cuts) -> Flowable:
    heading = said("In the student's own words")
    words = page.student_words.strip()
    if words:
        told = styles.plain(as_written(words), size.text, most_lines=size.words)
        body = Stack([styles.label(heading, size.text), cuts.watch(told, "the student's words")])
        return OnGround(body, bar=SLATE)
    lines = [styles.label(heading, size.text)]
    for _ in range(3):
        lines += [Gap(size.text * 1.5), Rule(0.5, EDGE)]
    return OnGround(Stack(lines), bar=SLATE)


def _teacher(page: FamilyPage, size: PageSizes, cuts: Cuts) -> Flowable | None:
    words = page.words.strip()
    if not words:
        return None
    heading = said("From the teacher")
    if not spoken().is_source:
        heading = said("From the teacher, as written")
    told = styles.plain(as_written(words), size.text, most_lines=size.words)
    return OnGround(Stack([styles.label(heading, size.text), cuts.watch(told, "your words")]))


def how_to_read(size: PageSizes) -> Flowable:
    """What the boxes mean, what the page does not say, and where to ask."""
    parts = [
        said("How to read this page:"),
        said("Full boxes show the level, from 1 at the start to 4."),
        said("The number beside each name is its weight in the grade."),
        said("Dashed boxes are left out of the grade."),
        said("The page is about one student only and compares with no one."),
        said("A grade tells how a piece was made, not whether it may be used for food or drink."),
    ]
    if not spoken().is_source:
        parts.append(said("Words in “ ” stand as they were written; they were not translated."))
    return Stack([Rule(0.5, EDGE), Gap(4), styles.soft(" ".join(parts), size.text - 2.0)])
