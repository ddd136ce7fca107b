"""Rubrics: the starter, frozen in use, versions, and which one judges a project."""

from dataclasses import replace
from decimal import Decimal

import pytest

from rubrics.checks.register import judgeable
from rubrics.craft.plan import STARTER_LIMITS
from rubrics.judging.batch import load_batch
from rubrics.judging.marking import clear_mark, open_assessment, set_level
from rubrics.models import Assessment, Rubric
from rubrics.rubric.starter_rubric import (
    STARTER_NAME,
    STARTERS,
    ensure_starter_rubric,
    ensure_starter_rubrics,
)
from rubrics.rubric.versions import (
    RubricRefused,
    choose_rubric,
    content_of,
    copy_rubric,
    make_rubric,
    new_version,
    newer_version,
    save_rubric,
)


@pytest.fixture
def own(judged):
    """The teacher's own copy of the starter rubric."""
    return copy_rubric(judged.rubric, judged.teacher)


def test_the_starters_are_made_once_and_whole(db):
    made = ensure_starter_rubrics()
    assert ensure_starter_rubrics() == made
    assert ensure_starter_rubric() == made[0]
    assert [each.name for each in made] == [
        "Slab cup with a squared foot",
        "Pinch or coil form",
        "Free form",
    ]
    for rubric in made:
        criteria = list(rubric.criteria.all())
        assert sum(each.weight for each in criteria) == 100
        assert "".join(each.letter for each in criteria) == "ABCDEFGHI"[: len(criteria)]
        for each in criteria:
            assert [(level.number, level.points) for level in each.levels.all()] == [
                (4, 100),
                (3, 85),
                (2, 70),
                (1, 55),
            ]


def test_every_criterion_says_what_no_measure_sees(db):
    for rubric in ensure_starter_rubrics():
        for each in rubric.criteria.all():
            measured = each.limits.exists()
            said = "No measure sees" if measured else "Judged by eye"
            assert said in each.description, each


def test_thinking_stands_apart_from_tidiness_and_from_the_photo(db):
    for rubric in ensure_starter_rubrics():
        by_group = {each.group: each for each in rubric.criteria.filter(group__in=APART)}
        thinking, habits = by_group["thinking"], by_group["habits"]
        assert "never from a photo of the finished piece" in thinking.description
        assert thinking.weight >= 3 * habits.weight
        tidy = {"wrapped", "clean", "cleaned", "tools", "dust"}
        for level in thinking.levels.all():
            assert not tidy & set(level.descriptor.lower().replace(",", "").split())


APART = ("thinking", "habits")


def test_what_the_slab_cup_is_judged_by_leaves_no_figure_of_the_trade_ungraded(db):
    figures = set(ensure_starter_rubric().criteria.values_list("limits__figure", flat=True)) - {
        None
    }
    assert figures <= set(judgeable())
    # The clay's own shrinkage is nobody's craft, and the share that is open is told by its length.
    assert set(STARTER_LIMITS) - figures == {"shrinkage.difference", "seam_join.open_fraction"}
    bounds = {
        limit.figure: (limit.a, limit.b, limit.c)
        for each in ensure_starter_rubric().criteria.all()
        for limit in each.limits.all()
    }
    assert all(
        tuple(map(float, abc)) == STARTER_LIMITS[figure].bounds for figure, abc in bounds.items()
    )


def test_a_starter_from_before_stays_beside_the_new_one(school):
    Rubric.objects.all().delete()
    old = make_rubric(STARTER_NAME, content_of(make_rubric("x", STARTERS[1].criteria)))
    choose_rubric(school.project, old)
    new = ensure_starter_rubric()
    assert (new.version, new.previous, old.version) == (2, old, 1)
    assert load_batch(school.project).rubric == old
    assert len(load_batch(school.project).criteria) == len(STARTERS[1].criteria)


def test_a_copy_says_the_same_and_is_ones_own(judged, own):
    assert content_of(own) == content_of(judged.rubric)
    assert (own.owner, own.name, own.version) == (judged.teacher, STARTER_NAME, 1)
    assert copy_rubric(judged.rubric, judged.teacher).name == f"{STARTER_NAME} (2)"


def test_a_rubric_nobody_was_judged_by_is_changed_in_place(own):
    first, *rest = content_of(own)
    save_rubric(own, name="Cups", criteria=[*rest, replace(first, weight=Decimal(25))])
    own.refresh_from_db()
    assert own.name == "Cups"
    assert [each.letter for each in own.criteria.all()] == list("BCDEFGHIA")
    assert own.criteria.get(letter="A").weight == 25


def test_a_rubric_in_use_is_frozen_and_a_change_makes_a_version(judged, own):
    choose_rubric(judged.project, own)
    criterion = own.criteria.first()
    set_level(judged.piece, criterion, 3, judged.teacher, expected_version=0)
    with pytest.raises(RubricRefused, match="Make a new version"):
        save_rubric(own, name="Other", criteria=content_of(own))
    second = new_version(own, judged.teacher)
    assert (second.version, second.previous, second.frozen_at) == (2, own, None)
    assert content_of(second) == content_of(own)
    assert newer_version(own) == second
    save_rubric(second, name=second.name, criteria=content_of(second)[:3])
    assert load_batch(judged.project).rubric == own
    assert len(load_batch(judged.project).criteria) == 9


def test_only_the_owner_makes_a_version(judged, own):
    with pytest.raises(RubricRefused, match="take a copy"):
        new_version(own, judged.colleague)
    with pytest.raises(RubricRefused, match="take a copy"):
        new_version(judged.rubric, judged.teacher)


def test_two_rubrics_of_one_name_are_refused(judged, own):
    other = copy_rubric(judged.rubric, judged.teacher)
    with pytest.raises(RubricRefused, match="another rubric called"):
        save_rubric(other, name=own.name, criteria=content_of(other))


def test_a_project_with_marks_keeps_its_version(judged, own):
    set_level(judged.piece, judged.c["A"], 3, judged.teacher, expected_version=0)
    with pytest.raises(RubricRefused, match="1 piece is marked by “Slab cup with a squared foot”"):
        choose_rubric(judged.project, own)
    assert load_batch(judged.project).rubric == judged.rubric


def test_a_project_whose_marks_were_taken_back_may_move(judged, own):
    set_level(judged.piece, judged.c["A"], 3, judged.teacher, expected_version=0)
    clear_mark(judged.piece, judged.c["A"], judged.teacher, expected_version=1)
    open_assessment(judged.other_piece, judged.teacher)
    choose_rubric(judged.project, own)
    assert {each.rubric for each in Assessment.objects.all()} == {own}
    criterion = Rubric.objects.get(pk=own.pk).criteria.first()
    set_level(judged.piece, criterion, 4, judged.teacher, expected_version=2)
    assert len(load_batch(judged.project).marks) == 1
