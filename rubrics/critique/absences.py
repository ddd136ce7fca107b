"""Readers who go away while a critique is open, and who come back: what they read, who else does.

What was sent stands, always; a draft stays on record with the look it was written in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from django.db import transaction
from django.utils import timezone

from rubrics.critique.errors import CritiqueError
from rubrics.critique.grouped import regrouped
from rubrics.critique.opening import refuse_closed
from rubrics.critique.pairs import apart_in
from rubrics.models import Critique, Look, Shown
from rubrics.stats.dealing import Deal, kept_apart, replace_absent
from rubrics.stats.errors import CannotTellError
from rubrics.stats.grouping import readers_at
from studio.models import Student


@dataclass(frozen=True, slots=True)
class Replaced:
    """What became of the work of absent readers: looks that ended, and looks that began."""

    passed_on: int
    taken_up: int
    names: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Returned:
    """What those who came back read: taken over from others, and as one reader more."""

    taken_over: int
    added: int
    names: tuple[str, ...] = field(default=())

    @property
    def to_read(self) -> int:
        return self.taken_over + self.added


@transaction.atomic
def mark_absent(critique: Critique, absent: Iterable[Student]) -> Replaced:
    """Give what absent readers have not sent yet to others; their drafts stay on record.

    Groups that are left with three present go on as they are; smaller ones join others.

    Raises
    ------
    CritiqueError
        Too few are present, or the critique is closed.
    """
    gone, here = set(absent), _here(critique)
    away = _away(here) | (gone & set(here))
    if critique.group_size:
        ended, new = _sit(critique, here, away)
    else:
        ended, new = _replaced(critique, here, away)
    _pass_on(ended, new)
    _set_away(here, gone, away=True)
    return Replaced(len(ended), len(new), _names(gone))


@transaction.atomic
def mark_back(critique: Critique, students: Iterable[Student]) -> Returned:
    """Let students who were away read again, as many pieces as the others do.

    In groups they sit down at the table where their piece lies. Else they take over what readers
    with more than their share have not begun, their own old looks first; where nothing is left to
    take over they are one reader more of the pieces with the fewest.

    Raises
    ------
    CritiqueError
        The critique is closed.
    """
    here = _here(critique)
    back = [student for student in students if student in here and here[student].maker_absent]
    if critique.group_size:
        ended, new = _sit(critique, here, _away(here) - set(back))
    else:
        ended, new = _dealt_back(critique, here, back)
    _pass_on(ended, new)
    _set_away(here, back, away=False)
    return Returned(len(ended), len(new) - len(ended), _names(back))


def _here(critique: Critique) -> dict[Student, Shown]:
    """Maker -> the shown piece, with ``standing``; in two queries, the critique's row held."""
    # Two teachers who mark at once come one after the other.
    refuse_closed(Critique.objects.select_for_update().get(pk=critique.pk))
    shown = list(critique.shown.select_related("piece__student"))
    looks: dict[int, list[Look]] = {each.pk: [] for each in shown}
    rows = Look.objects.standing().filter(shown__critique=critique).select_related("reader")
    for look in rows:
        looks[look.shown_id].append(look)
    for each in shown:
        each.standing = looks[each.pk]
    return {each.piece.student: each for each in shown}


def _away(here: dict[Student, Shown]) -> set[Student]:
    return {maker for maker, each in here.items() if each.maker_absent}


def _names(students: Iterable[Student]) -> tuple[str, ...]:
    return tuple(sorted(student.name for student in students))


def _set_away(here: dict[Student, Shown], students: Iterable[Student], *, away: bool) -> None:
    ids = [here[student].pk for student in students if student in here]
    Shown.objects.filter(pk__in=ids).update(maker_absent=away)


# -- at tables -----------------------------------------------------------------------------------


def _sit(critique: Critique, here: dict[Student, Shown], away: Collection[Student]):
    """Seat all anew as little as can be; which looks end, which begin.

    A look that was sent stands; one that was begun stays while its reader sits at that table.
    """
    tables = regrouped(critique, list(here.values()), away)
    for number, those in enumerate(tables, start=1):
        Shown.objects.filter(pk__in=[here[maker].pk for maker in those]).update(group=number)
    begun = _begun(look for each in here.values() for look in each.standing)
    held: dict[Student, list[Student]] = {}
    standing: dict[Student, list[Student]] = {}
    for maker, those in ((maker, table) for table in tables for maker in table):
        for look in here[maker].standing:
            at_table = look.reader in those and look.reader not in away
            if look.sent_at is not None or (look.pk in begun and at_table):
                held.setdefault(maker, []).append(look.reader)
            elif at_table:
                standing.setdefault(maker, []).append(look.reader)
    critique.readers, by_piece = readers_at(tables, absent=away, held=held, standing=standing)
    critique.save(update_fields=["readers"])
    ended, new = [], []
    for maker, readers in by_piece.items():
        looks = here[maker].standing
        had = {look.reader for look in looks}
        ended += [look for look in looks if look.reader not in readers]
        new += [(here[maker], reader) for reader in readers if reader not in had]
    return ended, new


def _begun(looks: Iterable[Look]) -> set[int]:
    """Of these looks those in which something stands, by id."""
    ids = [look.pk for look in looks]
    return set(Look.objects.filter(pk__in=ids, remarks__isnull=False).values_list("pk", flat=True))


# -- dealt one by one ----------------------------------------------------------------------------


def _replaced(critique: Critique, here: dict[Student, Shown], away: Collection[Student]):
    makers = tuple(here)
    dealt = Deal(
        makers=makers,
        readers=tuple(tuple(look.reader for look in here[m].standing) for m in makers),
        apart=kept_apart(makers, apart_in(critique.project.section)),
        seed=critique.seed,
        absent=frozenset(_away(here)),
    )
    try:
        after = replace_absent(dealt, away).by_piece()
    except CannotTellError as error:
        raise CritiqueError(str(error)) from error
    ended, new = [], []
    for maker, each in here.items():
        leaving = [look for look in each.standing if look.reader in away and look.sent_at is None]
        had = {look.reader for look in each.standing}
        # A look that was sent stands, so only as many come as go.
        coming = [reader for reader in after[maker] if reader not in had]
        ended += leaving
        new += [(each, reader) for reader in coming[: len(leaving)]]
    return ended, new


def _dealt_back(critique: Critique, here: dict[Student, Shown], back: Iterable[Student]):
    apart = kept_apart(tuple(here), apart_in(critique.project.section))
    looks = [look for each in here.values() for look in each.standing]
    load = Counter(look.reader for look in looks)
    readers = {each.pk: {look.reader for look in each.standing} for each in here.values()}
    shown = {each.pk: (maker, each) for maker, each in here.items()}
    begun = _begun(looks)
    old = set(
        Look.objects.filter(shown__critique=critique, reader__in=list(back))
        .exclude(passed_on_at=None)
        .values_list("shown", "reader")
    )
    free = [look for look in looks if look.sent_at is None and look.pk not in begun]
    ended, new = [], []

    def may_read(student: Student, pk: int) -> bool:
        maker, _each = shown[pk]
        strangers = maker != student and frozenset((maker, student)) not in apart
        return strangers and student not in readers[pk]

    for student in sorted(back, key=lambda each: each.name):
        while load[student] < critique.readers:
            able = [
                look
                for look in free
                if load[look.reader] > critique.readers and may_read(student, look.shown_id)
            ]
            if able:
                look = max(
                    able,
                    key=lambda look: (load[look.reader], (look.shown_id, student.pk) in old),
                )
                free.remove(look)
                ended.append(look)
                load[look.reader] -= 1
                readers[look.shown_id].discard(look.reader)
                pk = look.shown_id
            else:
                left = [pk for pk in shown if may_read(student, pk)]
                if not left:
                    break
                pk = min(left, key=lambda pk: (len(readers[pk]), (pk, student.pk) not in old))
            new.append((shown[pk][1], student))
            readers[pk].add(student)
            load[student] += 1
    return ended, new


def _pass_on(looks: list[Look], new: list[tuple[Shown, Student]]) -> None:
    Look.objects.filter(pk__in=[look.pk for look in looks]).update(passed_on_at=timezone.now())
    for shown, reader in new:
        look, fresh = Look.objects.get_or_create(shown=shown, reader=reader)
        if not fresh:
            # Passed on once, and now back with the same reader.
            look.passed_on_at = None
            look.save(update_fields=["passed_on_at"])
