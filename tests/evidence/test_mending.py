"""What can still be mended, the most urgent first; and the habits of a student as evidence."""

from datetime import date, timedelta

import pytest

from rubrics.evidence.collect import evidence
from rubrics.evidence.habits import habit_sentence
from rubrics.evidence.mending import mend_list
from studio.models import HabitTick
from tests.factories import (
    make_piece,
    make_project,
    make_section,
    make_student,
    read,
    read_rim,
    read_wall,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 10)


@pytest.fixture
def project():
    return make_project(make_section())


def piece(project, code, **fields):
    student = make_student(project.section, f"Maker of {code}")
    return make_piece(project, student, code, stage_since=TODAY - timedelta(days=2), **fields)


def listed(project):
    return mend_list(evidence(project), TODAY)


def test_a_thin_wall_and_a_high_rim_come_with_one_action_each(project):
    cup = piece(project, "K3-01", stage="leather-hard")
    read_wall(cup, 3.0, 6.0, 6.2, 6.1)
    read_rim(cup, 106, 106, 113, 106)
    (each,) = listed(project).to_mend
    assert each.piece == cup
    assert each.days == 2
    # The rest of the wall is at its planned 6.2 mm: it is not thinned for the thin side's sake.
    thin, rim = each.faults
    assert thin.found == "3.0 to 6.2\N{NO-BREAK SPACE}mm, thin by the handle"
    assert "clay cannot be put back" in thin.action
    assert rim.action.startswith("Shave the high places")
    assert [fault.is_certain for fault in each.faults] == [True, True]


def test_a_rim_without_height_to_spare_is_left_as_it_is(project):
    # Planned 95 mm fired of a clay that shrinks by 12 %, 2.5 % of it by now: 105.3 mm.
    cup = piece(project, "K3-01", stage="leather-hard")
    read_rim(cup, 98, 98, 105, 98)
    (each,) = listed(project).to_mend
    (rim,) = each.faults
    assert "cut level it would be 98.0\N{NO-BREAK SPACE}mm high" in rim.action
    assert "the plan says 105.3\N{NO-BREAK SPACE}mm" in rim.action


def test_a_rim_that_its_maker_draws_out_is_not_on_the_list(project):
    cup = piece(project, "K3-01", stage="leather-hard", intent_rim="drawn")
    read_rim(cup, 106, 106, 113, 106)
    assert [each.piece for each in listed(project).fine] == [cup]
    project.plan.has_drawn_rim = True
    project.plan.save()
    cup.intent_rim = ""
    cup.save()
    assert [each.piece for each in listed(project).fine] == [cup]
    cup.intent_rim = "level"
    cup.save()
    assert [each.piece for each in listed(project).to_mend] == [cup]


def test_a_wall_thicker_than_planned_is_scraped_where_it_is_thick(project):
    cup = piece(project, "K3-01", stage="leather-hard")
    read_wall(cup, 6.0, 6.2, 9.5, 6.1)
    (each,) = listed(project).to_mend
    assert [fault.action for fault in each.faults] == [
        "Scrape the wall opposite the handle a little at a time, and measure again."
    ]


def test_a_cup_said_to_be_soft_that_was_read_glazed_has_nothing_to_mend(project):
    cup = piece(project, "K3-01", stage="leather-hard")
    read_rim(cup, 98, 98, 105, 98, stage="glazed")
    assert [each.piece for each in listed(project).fine] == [cup]


def test_bone_dry_a_rim_is_rubbed_damp_and_a_thin_wall_is_left(project):
    cup = piece(project, "K3-01", stage="bone dry")
    read_wall(cup, 3.0, 6.0, 6.2, 6.1, stage="leather-hard")
    read_rim(cup, 98, 98, 105, 98, stage="bone dry")
    (each,) = listed(project).to_mend
    assert [fault.action[:24] for fault in each.faults] == [
        "It cannot be thickened n",
        "Rub the high place down ",
    ]


def test_what_dries_first_comes_first_and_fired_or_broken_pieces_not_at_all(project):
    for code, stage in (("K-1", "bone dry"), ("K-2", "leather-hard"), ("K-3", "bisque")):
        read_rim(piece(project, code, stage=stage), 98, 98, 105, 98)
    read_rim(piece(project, "K-4", stage="leather-hard", state="broken"), 98, 98, 105, 98)
    read_rim(piece(project, "K-5", stage="leather-hard"), 98, 98, 98, 98)
    piece(project, "K-6")
    found = listed(project)
    assert [each.piece.code for each in found.to_mend] == ["K-2", "K-1"]
    assert [each.piece.code for each in found.fine] == ["K-5"]
    assert [each.code for each in found.unread] == ["K-6"]


def test_the_fired_size_to_expect_stands_with_its_interval(project):
    # By hand: 108 mm leather-hard, wet shrinkage 2.5 % there and 12 % glazed (tests' stoneware):
    # 108 (1 - 0.12) / (1 - 0.025) = 97.48 mm. Spread 0.5 points to each stage, independent:
    # u = 97.48 hypot(0.005 / 0.975, 0.005 / 0.88) = 0.746 mm, and an exact ruler: U = 1.5 mm.
    cup = piece(project, "K3-01", stage="leather-hard")
    read(cup, "dimension", 108, name="height", own_u=1e-6)
    (each,) = listed(project).fine
    (size,) = each.sizes
    assert size.words == "Height: about 97 mm fired, from 96 to 99; planned 95"
    assert size.off_plan is True


@pytest.mark.parametrize("habits_begin", [None, date(2026, 3, 2)])
def test_habits_count_the_days_on_which_a_habit_was_kept(project, habits_begin):
    cup = piece(project, "K3-01")
    other = make_student(project.section, "Bao N.")
    project.begun_on = habits_begin
    project.save()
    cup.project = project

    def ticks(student, habit, *days):
        for day in days:
            HabitTick.objects.create(
                section=project.section, student=student, day=date(2026, 3, day), habit=habit
            )

    assert habit_sentence(cup) == ""
    ticks(other, "wrapped", 1, 3, 4, 5)
    ticks(cup.student, "wrapped", 1, 3, 4)
    ticks(other, "spare", 4)
    wrapped = "3 of 4 days" if habits_begin is None else "2 of 3 days"
    assert habit_sentence(cup) == (
        f"Wrapped and labelled {wrapped}, spare handle made 0 of 1 day. "
        "A day away shows as not ticked."
    )


def test_a_student_sees_at_once_what_to_mend_on_the_own_piece_and_what_to_leave(client, school):
    school.piece.stage = "leather-hard"
    school.piece.save()
    client.force_login(school.student)
    address = f"/pieces/{school.piece.pk}/mend/"
    assert client.get(address).content.strip() == b""
    read_wall(school.piece, 6.2, 6.2, 6.3, 6.2)
    read_rim(school.piece, 106, 106, 113, 106)
    text = client.get(address).content.decode()
    assert "While the clay can still change" in text
    assert "Shave the high places" in text
    assert "Leave as it is" in text
    client.force_login(school.other_student)
    assert client.get(address).status_code == 404


def test_a_fired_piece_has_nothing_to_mend_any_more(client, school):
    read_rim(school.piece, 106, 106, 113, 106, stage="glazed")
    type(school.piece).objects.filter(pk=school.piece.pk).update(stage="glazed")
    client.force_login(school.student)
    assert client.get(f"/pieces/{school.piece.pk}/mend/").content.strip() == b""
