"""Groups round one table: each member looks at pieces of the others, every piece read as often."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from rubrics.critique.errors import CritiqueError
from rubrics.critique.pairs import apart_in
from rubrics.models import Critique, Shown
from rubrics.stats.errors import CannotTellError
from rubrics.stats.grouping import group, regroup
from studio.models import Student

Tables = tuple[tuple[Student, ...], ...]


def first_groups(
    critique: Critique, makers: Sequence[Student], gone: Collection[Student]
) -> Tables:
    """Those who are present into groups; the pieces of the others lie on the smallest tables.

    Raises
    ------
    CritiqueError
        Too few makers, or pairs that no grouping keeps apart.
    """
    apart = apart_in(critique.project.section)
    present = [maker for maker in makers if maker not in gone]
    size, seed = critique.group_size, critique.seed
    try:
        tables = group(present, size=size, apart=apart, seed=seed).groups
        if not gone:
            return tables
        away = [(maker,) for maker in makers if maker in gone]
        return regroup((*tables, *away), gone, size=size, apart=apart, seed=seed)
    except CannotTellError as error:
        raise CritiqueError(str(error)) from error


def regrouped(critique: Critique, shown: Sequence[Shown], gone: Collection[Student]) -> Tables:
    """The groups once ``gone`` are away; those with three present stay together.

    Raises
    ------
    CritiqueError
        Too few are present, or pairs that no grouping keeps apart.
    """
    tables: dict[int, list[Student]] = {}
    for each in sorted(shown, key=lambda each: each.piece.code):
        tables.setdefault(each.group, []).append(each.piece.student)
    try:
        return regroup(
            [tables[number] for number in sorted(tables)],
            gone,
            size=critique.group_size,
            apart=apart_in(critique.project.section),
            seed=critique.seed,
        )
    except CannotTellError as error:
        raise CritiqueError(str(error)) from error
