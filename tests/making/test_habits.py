"""Habits: ticked once, taken back, only for who is in the section."""

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from studio.making import habits
from studio.models import HabitTick
from tests.factories import make_section, make_student

pytestmark = pytest.mark.django_db
DAY = date(2026, 3, 4)


def ticked(section, **over):
    asked = {"day": DAY, "habit": "wrapped", "student_id": "", "on": True, "by": None, "today": DAY}
    return habits.tick(section, **asked | over)


def test_a_tick_made_twice_is_one_and_is_taken_back():
    section = make_section()
    amara = make_student(section)
    for _ in range(2):
        row, cell = ticked(section, student_id=str(amara.pk))
        assert (row.student, cell.on) == (amara, True)
    assert [(t.student, t.day, t.habit) for t in HabitTick.objects.all()] == [
        (amara, DAY, "wrapped")
    ]
    ticked(section, student_id=str(amara.pk), on=False)
    assert not HabitTick.objects.exists()


def test_the_database_holds_one_tick_of_a_habit_a_day_and_no_unknown_habit():
    section = make_section()
    amara = make_student(section)
    row = {"section": section, "student": amara, "day": DAY}
    HabitTick.objects.create(habit="tools", **row)
    for habit in ("tools", "whistling"):
        with pytest.raises(IntegrityError), transaction.atomic():
            HabitTick.objects.create(habit=habit, **row)


@pytest.mark.parametrize(
    ("over", "said"),
    [
        ({"habit": "whistling"}, "no habit of the sheet"),
        ({"day": DAY + timedelta(days=1)}, "still to come"),
        ({"student_id": "0"}, "not in this section"),
        ({"student_id": "x'"}, "not in this section"),
    ],
)
def test_what_cannot_be_ticked_gets_a_sentence(over, said):
    section = make_section()
    make_student(section)
    with pytest.raises(habits.HabitError, match=said):
        ticked(section, **over)
    assert not HabitTick.objects.exists()


def test_all_are_ticked_but_those_who_left_and_other_sections():
    section, other = make_section(), make_section(name="Bell 5")
    amara, gone, alien = (
        make_student(section),
        make_student(section, "Gone G."),
        make_student(other, "Else E."),
    )
    enrolment = gone.enrolments.get()
    enrolment.left_on = enrolment.joined_on
    enrolment.save()
    ticked(section)
    assert [t.student for t in HabitTick.objects.all()] == [amara]
    column = habits.sheet(section, DAY).columns[0]
    assert (column.habit, column.count, column.all_on) == ("wrapped", 1, True)
    assert alien.habit_ticks.count() == 0


def test_a_week_shows_the_days_that_were_kept():
    section = make_section()
    amara, bao = make_student(section), make_student(section, "Bao N.")
    ticked(section, student_id=str(amara.pk))
    ticked(section, habit="tools")
    ticked(section, day=DAY - timedelta(days=7))
    week = habits.week(section, habits.monday_of(DAY))
    assert week.days == [DAY]
    assert [(r.student, r.days) for r in week.rows] == [
        (amara, [("wrapped and labelled", "tools cleaned")]),
        (bao, [("tools cleaned",)]),
    ]
