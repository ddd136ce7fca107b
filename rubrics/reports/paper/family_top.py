"""The top of a page for the family: who, the photos, the grade, what is strong, what is next."""

from __future__ import annotations

from collections.abc import Sequence

from studio.lettering.fonts import SERIF_STRONG
from studio.lettering.setting import cleaned, width_of

from ..family import FamilyPage, PrintedPicture, PublishedPiece
from ..language import as_written, counted, day_said, marked, said
from ..outcomes import outcome_said
from ..palette import INK
from ..sentences import strengths as seen_strengths
from ..shown import PublishedAssessment
from ..step_choice import StepSource, step_said
from ..wording import decimal_said, percent
from . import styles
from .blocks import Flowable, Gap, OnGround, Row, Rule, Stack
from .family_size import BETWEEN, Cuts, PageSizes
from .paragraphs import Words
from .prints import OpenedPhoto, Print, opened

NAME, LEAST_NAME = 22.0, 12.0
GRADE = 24.0
STRENGTHS = 2
FEW_PICTURES = 3
CAPTION = 7.5


def title(page: FamilyPage, size: PageSizes, cuts: Cuts, width: float) -> Flowable:
    """Who and when."""
    _, lacking = cleaned(page.student)
    cuts.lacking |= lacking
    letters = NAME
    while letters > LEAST_NAME and width_of(page.student, letters, SERIF_STRONG) > width:
        letters -= 1.0
    name = styles.plain(
        page.student, letters, font=SERIF_STRONG, leading=1.2, most_lines=2, align=0
    )
    who = (page.school, page.section, ", ".join(page.teachers), day_said(page.day))
    where = " · ".join(filter(None, who))
    return Stack(
        [
            cuts.watch(name, "the name"),
            styles.soft(where, size.text, most_lines=1),
            Gap(5),
            Rule(1.2, INK),
        ]
    )


def opening(page: FamilyPage, size: PageSizes, cuts: Cuts, width: float, grey: bool) -> Flowable:
    """The photos, and beside them what was made, the grade, what is strong and what comes next."""
    piece = page.pieces[0]
    beside = Stack(
        [
            made(piece, size, cuts),
            Gap(size.gap * 0.7),
            grade(piece.shown, size, width * 0.5),
            Gap(size.gap * 0.8),
            *strengths(page, size, cuts),
            Gap(size.gap * 0.6),
            step(page, size, cuts),
            Gap(size.gap * 0.8),
            kiln(page, size, cuts),
        ]
    )
    photos = pictures(piece, size, cuts, width * 0.46, grey)
    if photos is None:
        return beside
    return Row([photos, beside], [photos.widest, None], BETWEEN)


class Photos(Stack):
    """The large photo and the small ones below it."""

    widest = 0.0


def pictures(
    piece: PublishedPiece, size: PageSizes, cuts: Cuts, width: float, grey: bool
) -> Photos | None:
    """The first photo large; below it the piece before and after firing at one scale, or else up
    to two more photos. None where there is none to print."""
    found = _readable(piece.pictures, cuts)
    if not found:
        return None
    (photo, picture), *more = found[:FEW_PICTURES]
    pair = _readable(piece.pair, cuts)
    as_pair = len(pair) == len(piece.pair) > 0
    large = Print(photo, width, size.photo, grey=grey)
    widest = max(large.width, width * 0.62)
    parts: list[Flowable] = [large, caption(picture)]
    small = pair if as_pair else more
    if small:
        each = (widest - 6.0) / 2
        cells, widths = [], []
        for photo, told in small:
            printed = Print(photo, each, size.small_photo, grey=grey)
            cells.append(Stack([printed, caption(told)]))
            widths.append(each)
        parts += [Gap(5.0), Row(cells, widths, 6.0)]
    if as_pair:
        parts.append(styles.soft(said("Both at the same scale: clay shrinks."), CAPTION))
    block = Photos(parts)
    block.widest = widest
    return block


def _readable(
    pictures: Sequence[PrintedPicture], cuts: Cuts
) -> list[tuple[OpenedPhoto, PrintedPicture]]:
    found = [
        (photo, each) for each in pictures if (photo := opened(each.file, each.window)) is not None
    ]
    cuts.unread = cuts.unread or len(found) < len(pictures)
    return found


def caption(picture: PrintedPicture) -> Words:
    stage = said(STAGES[picture.stage]) if picture.stage in STAGES else ""
    words = " · ".join(filter(None, (stage, as_written(picture.caption))))
    return styles.soft(words, CAPTION, most_lines=3)


STAGES = {
    "wet": marked("wet clay"),
    "leather-hard": marked("leather-hard, before drying"),
    "bone dry": marked("dry, before firing"),
    "bisque": marked("after the first firing"),
    "glazed": marked("after the glaze firing"),
}


def made(piece: PublishedPiece, size: PageSizes, cuts: Cuts) -> Flowable:
    """What was made, and what its maker wanted of it."""
    project = as_written(piece.shown["project"])
    parts: list[Flowable] = [
        styles.plain(
            as_written(piece.title) if piece.title else project,
            size.text + 4.5,
            font=SERIF_STRONG,
            leading=1.15,
            most_lines=3,
        ),
        *([styles.plain(project, size.text, most_lines=2)] if piece.title else []),
        styles.soft(
            said("Project {number}, piece {code}", number=piece.number, code=piece.shown["piece"]),
            size.text - 0.5,
            most_lines=1,
        ),
    ]
    if piece.intent.strip():
        wanted = said("The plan for it: {intent}", intent=as_written(piece.intent.strip()))
        parts.append(
            cuts.watch(styles.plain(wanted, size.text, most_lines=2), "what was planned for it")
        )
    return Stack(parts)


def grade(shown: PublishedAssessment, size: PageSizes, width: float) -> Flowable:
    """The grade, and what it stands on."""
    if shown["percent"] is None:
        return styles.plain(said("Not graded yet."), size.text + 1.0)
    figure = percent(decimal_said(shown["percent"]))
    words = f"{figure}  {shown['grade']}".rstrip()
    told = Words(words, GRADE, font=SERIF_STRONG, leading=1.0)
    wide = min(width_of(words, GRADE, SERIF_STRONG) + 1.0, width * 0.62)
    basis = styles.soft(_basis(shown), size.text - 1.0)
    return Row([told, basis], [wide, None], 10.0)


def _basis(shown: PublishedAssessment) -> str:
    judged = sum(each["level"] is not None for each in shown["criteria"])
    words = counted(
        "The grade stands on {count} thing looked at below, by its weight.",
        "The grade stands on the {count} things looked at below, each by its weight.",
        judged,
    )
    if shown["weight_counted"] == shown["weight_total"]:
        return words
    left_out = said(
        "{counted} of {total} weight counts; what is excused is left out.",
        counted=decimal_said(shown["weight_counted"]),
        total=decimal_said(shown["weight_total"]),
    )
    return f"{words} {left_out}"


def strengths(page: FamilyPage, size: PageSizes, cuts: Cuts) -> list[Flowable]:
    """Two things that are strong, in the teacher's words or from the highest levels."""
    points = strong_points(page)
    if not points:
        return []
    heading = said("Two strengths") if len(points) == STRENGTHS else said("A strength")
    parts: list[Flowable] = [styles.label(heading, size.text)]
    for words in points:
        point = styles.plain(words, size.text, most_lines=size.point)
        parts += [
            Row([styles.strong("+", size.text), cuts.watch(point, "a strength")], [9.0, None], 0.0)
        ]
    return parts


def strong_points(page: FamilyPage) -> list[str]:
    """The teacher's strengths, and what was seen to be strong until there are two."""
    points = [as_written(each) for each in (page.strength, page.strength_too) if each.strip()]
    shown = page.pieces[0].shown
    return [*points, *seen_strengths(shown["criteria"], shown["checks"])][:STRENGTHS]


def step(page: FamilyPage, size: PageSizes, cuts: Cuts) -> Flowable | None:
    """The one thing to do next."""
    words = step_words(page)
    if not words:
        return None
    heading = said("Next step")
    told = styles.strong(words, size.text, most_lines=size.point)
    return OnGround(Stack([styles.label(heading, size.text), cuts.watch(told, "the next step")]))


def step_words(page: FamilyPage) -> str:
    """The teacher's next step for the family, else the published one; one that was proposed is
    said in the family's language."""
    if page.next_step.strip():
        return as_written(page.next_step.strip())
    shown = page.pieces[0].shown
    if "step" in shown:
        return step_said(shown, StepSource(**shown["step"]))
    return next((as_written(each) for each in shown["next_steps"]), "")


def kiln(page: FamilyPage, size: PageSizes, cuts: Cuts) -> Flowable:
    heading = said("What drying and the kiln did")
    outcomes = page.pieces[0].outcomes
    told = [outcome_said(each) for each in outcomes] or [said("Nothing was noted.")]
    words = styles.plain(" ".join(told), size.text, most_lines=size.outcome)
    return Stack([styles.label(heading, size.text), cuts.watch(words, "what the kiln did")])
