"""Summary of a student's ticks of studio habits, shown as evidence for the habits criterion.

No level is suggested: a day away shows as not ticked, and only the teacher knows which it was.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from django.utils import timezone

from rubrics.models import Criterion
from studio.models import HabitTick, Piece, Project

Habit = HabitTick.Habit
A_DAY_AWAY = "A day away shows as not ticked."


def is_about_habits(criterion: Criterion) -> bool:
    """Whether ticks speak to a criterion."""
    return criterion.group == Criterion.Group.HABITS


def habit_sentence(piece: Piece) -> str:
    """“Wrapped and labelled 9 of 11 days, …”, in one query; "" where no habit was ticked.

    The days of a habit are those on which it was ticked for anybody of the section, from the
    project's beginning to its end.
    """
    project = piece.project
    rows = HabitTick.objects.filter(section=piece.section_id, day__lte=_end(project))
    if project.begun_on is not None:
        rows = rows.filter(day__gte=project.begun_on)
    kept, own = defaultdict(set), defaultdict(set)
    for student, day, habit in rows.values_list("student", "day", "habit"):
        kept[habit].add(day)
        if student == piece.student_id:
            own[habit].add(day)
    parts = [
        f"{habit.label} {len(own[habit])} of {len(kept[habit])} "
        f"{'day' if len(kept[habit]) == 1 else 'days'}"
        for habit in Habit
        if kept[habit]
    ]
    if not parts:
        return ""
    said = ", ".join(parts)
    return f"{said[:1].upper()}{said[1:]}. {A_DAY_AWAY}"


def _end(project: Project) -> date:
    today = timezone.localdate()
    return today if project.due_on is None else min(project.due_on, today)
