"""Studio habits: the sheet of a day, the summary of a week, and every write to ticks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction

from studio.models import HabitTick, Section, Student

Habit = HabitTick.Habit
DAYS_IN_A_WEEK = 7


class HabitError(ValueError):
    """A tick that cannot be made; the message is a sentence for the teacher."""


@dataclass(frozen=True, slots=True)
class HabitCell:
    """One habit of one student on the sheet's day."""

    habit: str
    label: str
    on: bool


@dataclass(frozen=True, slots=True)
class StudentRow:
    """One student's habits on a day."""

    student: Student
    cells: list[HabitCell]


@dataclass(frozen=True, slots=True)
class HabitColumn:
    """One habit down the class."""

    habit: str
    label: str
    count: int
    all_on: bool


@dataclass(frozen=True, slots=True)
class HabitsSheet:
    """Students down, habits across."""

    columns: list[HabitColumn]
    rows: list[StudentRow]


def enrolled(section: Section) -> list[Student]:
    """The students of a section today, by name."""
    return list(
        section.students.filter(enrolments__section=section, enrolments__left_on=None).distinct()
    )


def sheet(section: Section, day: date) -> HabitsSheet:
    """The sheet of one day, in two queries."""
    ticked = set(HabitTick.objects.filter(section=section, day=day).values_list("student", "habit"))
    rows = [_row(student, ticked) for student in enrolled(section)]
    counts = {habit: sum((row.student.pk, habit) in ticked for row in rows) for habit in Habit}
    return HabitsSheet(
        columns=[
            HabitColumn(habit.value, habit.label, counts[habit], counts[habit] == len(rows) > 0)
            for habit in Habit
        ],
        rows=rows,
    )


def _row(student: Student, ticked: set[tuple[int, str]]) -> StudentRow:
    return StudentRow(
        student,
        [
            HabitCell(habit.value, habit.label, (student.pk, habit.value) in ticked)
            for habit in Habit
        ],
    )


@dataclass(frozen=True, slots=True)
class WeekRow:
    """One student's week: for each day the words of what was ticked."""

    student: Student
    days: list[tuple[str, ...]]
    count: int


@dataclass(frozen=True, slots=True)
class Week:
    """One week of a section."""

    days: list[date]
    kept: int
    rows: list[WeekRow]


def monday_of(day: date) -> date:
    """The Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def week(section: Section, monday: date) -> Week:
    """One week looked back at, in two queries; only days on which anything was ticked."""
    rows = HabitTick.objects.filter(
        section=section, day__gte=monday, day__lt=monday + timedelta(days=DAYS_IN_A_WEEK)
    ).values_list("student", "day", "habit")
    ticked: dict[tuple[int, date], set[str]] = {}
    for student, day, habit in rows:
        ticked.setdefault((student, day), set()).add(habit)
    days = sorted({day for _, day in ticked})
    return Week(
        days=days,
        kept=len(days),
        rows=[
            WeekRow(
                student,
                [_labels(ticked.get((student.pk, day), ())) for day in days],
                sum(len(ticked.get((student.pk, day), ())) for day in days),
            )
            for student in enrolled(section)
        ],
    )


def _labels(habits) -> tuple[str, ...]:
    return tuple(habit.label for habit in Habit if habit.value in habits)


@transaction.atomic
def tick(
    section: Section, *, day: date, habit: str, student_id: str, on: bool, by, today: date
) -> tuple[StudentRow, HabitCell] | None:
    """Tick a habit of a student, of all where ``student_id`` is "", or take the tick back.

    Returns the student's row and cell as they now stand; None where it was for all. To tick what
    is ticked already changes nothing.

    Raises
    ------
    HabitError
        No such habit, a day ahead, or a student who is not in the section.
    """
    if habit not in Habit.values:
        raise HabitError("That is no habit of the sheet; reload the page. Nothing was changed.")
    if day > today:
        raise HabitError("That day is still to come. Nothing was changed.")
    students = enrolled(section)
    if student_id:
        students = [each for each in students if str(each.pk) == student_id]
        if not students:
            raise HabitError("That student is not in this section now. Nothing was changed.")
    if on:
        HabitTick.objects.bulk_create(
            [
                HabitTick(section=section, student=each, day=day, habit=habit, by=by)
                for each in students
            ],
            ignore_conflicts=True,
        )
    else:
        HabitTick.objects.filter(
            section=section, day=day, habit=habit, student__in=students
        ).delete()
    if not student_id:
        return None
    row = StudentRow(students[0], [])
    return row, HabitCell(habit, Habit(habit).label, on)
