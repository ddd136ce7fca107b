"""Whether the eye moved: within a sitting, between readers, and between students and teacher.

All that a project's page shows is held together (:func:`rubrics.stats.drift.together`), so that a
page without any shift raises a false alarm in one case of twenty at most.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

from rubrics.fairness.comparison import compare_looks
from rubrics.fairness.shelf_order import Orders, followed, orders_of
from rubrics.models import Criterion, Mark, MarkChange
from rubrics.stats.drift import Shift, between_readers, over_sitting, own_and_teacher, together
from rubrics.stats.errors import CannotTellError
from studio.models import Project

SITTING_ENDS = timedelta(hours=2)
"""A pause between two marks that ends a sitting (our choice)."""


@dataclass(frozen=True, slots=True)
class Moved:
    """One question put to the marks: its shift, or the sentence why none can be told."""

    what: str
    witnesses: str
    shift: Shift | None
    because: str = ""
    said: str = ""


def moved(project: Project, criteria: Sequence[Criterion], looks: Iterable) -> list[Moved]:
    """All questions of a project's page, in the order in which it shows them.

    Parameters
    ----------
    looks : iterable of SecondLook
        The closed ones, with their readers.
    """
    asked = [
        *_sittings(project, criteria),
        *(_between(look) for look in looks),
        *_own_eye(project),
    ]
    held = iter(together([each.shift for each in asked if each.shift is not None]))
    return [each if each.shift is None else _spoken(each, next(held)) for each in asked]


def _ask(what: str, witnesses: str, tell) -> Moved:
    try:
        return Moved(what, witnesses, tell())
    except CannotTellError as error:
        return Moved(what, witnesses, None, str(error))


def _spoken(asked: Moved, shift: Shift) -> Moved:
    said = "Nothing that chance does not explain."
    if shift.told:
        way = "higher" if shift.value > 0 else "lower"
        said = f"{asked.what}: {abs(shift.value):.1f} levels {way}. Look at these marks again."
    return Moved(asked.what, asked.witnesses, shift, said=said)


# -- within a sitting ----------------------------------------------------------------------------


class Given(NamedTuple):
    """A piece's first level on one criterion."""

    at: datetime
    level: int
    piece: int = 0
    who: int | None = None


def _sittings(project: Project, criteria: Sequence[Criterion]) -> list[Moved]:
    """Of the criteria judged by eye: what was measured stands in the order of the measure on the
    shelves, so there the pieces themselves rise and fall along the sitting."""
    given = _given(project)
    orders = orders_of(project)
    return [
        _ask(
            f"{each}, first to last of a sitting",
            "pieces",
            lambda each=each: _over(each, longest_sitting(given.get(each.pk, [])), orders),
        )
        for each in criteria
        if not each.limits.all()
    ]


def _over(criterion: Criterion, sitting: Sequence[Given], orders: Orders) -> Shift:
    found = over_sitting([each.level for each in sitting])
    order = orders.before(criterion.pk, sitting[0].who, sitting[-1].at)
    if order is not None and not followed(order, [each.piece for each in sitting]):
        raise CannotTellError(
            "The pieces were not judged in the order by chance in which they stood: the best or "
            "the weakest may have come first, so a rise would not be the eye's."
        )
    return found


def _given(project: Project) -> dict[int, list[Given]]:
    """When each piece first got a level, and which, by criterion id; in the order of judging.

    Marks given many at once, and those that stand beside a suggestion, have no order of the eye.
    """
    rows = (
        MarkChange.objects.standing()
        .filter(
            assessment__piece__project=project,
            assessment__kind="teacher",
            mark__isnull=False,
            together__isnull=True,
            after_publishing=False,
            mark__suggested__isnull=True,
        )
        .order_by("at", "pk")
        .values_list("mark", "mark__criterion", "at", "after__level", "assessment__piece", "who")
    )
    seen: set[int] = set()
    given: dict[int, list[Given]] = {}
    for mark, criterion, at, level, piece, who in rows:
        if level is not None and mark not in seen:
            seen.add(mark)
            given.setdefault(criterion, []).append(Given(at, level, piece, who))
    return given


def longest_sitting(given: Sequence[Given]) -> list[Given]:
    """Of the sittings of one person each, that with the most pieces, the first of several."""
    sittings: list[list[Given]] = []
    # By person; within one, time's order stays.
    last = None
    for each in sorted(given, key=lambda each: each.who or 0):
        if last is None or each.who != last.who or each.at - last.at > SITTING_ENDS:
            sittings.append([])
        sittings[-1].append(each)
        last = each
    return max(sittings, key=len, default=[])


# -- between readers -----------------------------------------------------------------------------


def _between(look) -> Moved:
    found = compare_looks(look)
    name = (look.reader.get_full_name() or look.reader.get_username()) if look.reader else ""
    who = name or "a reader who has left"
    return _ask(
        f"The second look by {who} against the first",
        "pieces",
        lambda: between_readers(found.first, found.second),
    )


# -- students and teacher over a term ------------------------------------------------------------


def _own_eye(project: Project) -> list[Moved]:
    """Of the section's projects: students' own levels less the teacher's, and how that changes."""
    rows = Mark.objects.filter(
        assessment__piece__section=project.section_id,
        assessment__piece__project__isnull=False,
        assessment__kind__in=("self", "teacher"),
        level__isnull=False,
    ).values_list(
        "assessment__piece",
        "criterion",
        "assessment__kind",
        "level__number",
        "assessment__piece__student",
        "assessment__piece__project__number",
    )
    marks: dict[tuple[int, int], dict] = {}
    for piece, criterion, kind, level, student, number in rows:
        marks.setdefault((piece, criterion), {"of": (student, number)})[kind] = level
    both = [each for each in marks.values() if "self" in each and "teacher" in each]
    what = "Students' own levels against yours, over the section's projects"
    if not both:
        return [Moved(what, "students", None, "No student has judged an own piece yet.")]
    columns = (
        [each["of"][0] for each in both],
        [each["of"][1] or 0 for each in both],
        [each["self"] for each in both],
        [each["teacher"] for each in both],
    )
    try:
        eye = own_and_teacher(*columns)
    except CannotTellError as error:
        return [Moved(what, "students", None, str(error))]
    found = [Moved(what, "students", eye.difference)]
    if eye.change is not None:
        found.append(Moved("The same, change per project", "students", eye.change))
    return found
