"""Whether the eye moved: what is asked of which marks, and what the page says."""

from datetime import timedelta
from random import Random

import pytest
from django.utils import timezone
from scipy import stats

from rubrics.fairness.drift import SITTING_ENDS, Given, longest_sitting, moved
from rubrics.fairness.evidence_file import evidence_file as collect
from rubrics.fairness.second_look import close, judge_again, open_look
from rubrics.fairness.shelf_order import FOLLOWED, KEPT_FOR, followed, record_order
from rubrics.models import Assessment, Mark, MarkChange, SecondLook, ShelfOrder

from .test_second_look import FIRST, judge_first

RISING = (1, 1, 1, 2, 1, 2, 2, 2, 3, 2, 3, 3, 3, 4, 3, 4, 3, 4, 4, 4)
"""Invented: the eye grows kinder along the sitting."""


def by_eye(judged):
    """The first criterion that no check speaks to."""
    return next(each for each in judged.c.values() if not each.limits.all())


def judge_in_order(judged, levels, *, minutes=1.0):
    """Each piece judged so many minutes after the one before, on one criterion."""
    criterion = by_eye(judged)
    begun = timezone.now() - timedelta(days=3)
    for place, piece in enumerate(judge_first(judged, levels)):
        mark = Mark.objects.get(assessment__piece=piece, criterion=criterion)
        change = MarkChange.objects.create(
            assessment=mark.assessment,
            mark=mark,
            version=1,
            who=judged.teacher,
            before={"level": None},
            after={"level": levels[place]},
        )
        MarkChange.objects.filter(pk=change.pk).update(
            at=begun + timedelta(minutes=minutes * place)
        )


def asked(judged):
    criteria = list(judged.rubric.criteria.prefetch_related("limits"))
    looks = SecondLook.objects.with_levels().filter(closed_at__isnull=False)
    return {each.what: each for each in moved(judged.project, criteria, looks)}


def sitting_of(judged):
    return asked(judged)[f"{by_eye(judged)}, first to last of a sitting"]


def test_a_drift_is_told_and_is_the_slope_of_the_reference(judged):
    judge_in_order(judged, RISING)
    found = sitting_of(judged)
    # Reference: scipy, linregress of the levels on their place; from the first to the last.
    line = stats.linregress(range(len(RISING)), RISING)
    assert found.shift.value == pytest.approx(line.slope * (len(RISING) - 1))
    assert found.shift.chance == pytest.approx(line.pvalue)
    assert found.shift.told
    assert "levels higher" in found.said


def test_levels_in_no_order_raise_no_alarm(judged):
    judge_in_order(judged, FIRST)
    found = sitting_of(judged)
    assert not found.shift.told
    assert found.said == "Nothing that chance does not explain."


def test_what_was_measured_is_not_asked_for_it_stands_in_the_order_of_the_measure(judged):
    judge_in_order(judged, RISING)
    measured = [each for each in judged.c.values() if each.limits.all()]
    assert measured
    assert not any(str(each) in what for each in measured for what in asked(judged))


def test_marks_kept_many_at_once_have_no_order(judged):
    judge_in_order(judged, RISING)
    MarkChange.objects.update(together="00000000-0000-4000-8000-000000000001")
    found = sitting_of(judged)
    assert found.shift is None
    assert "Too few" in found.because


def test_a_pause_ends_a_sitting():
    now = timezone.now()
    pause = SITTING_ENDS + timedelta(minutes=1)
    times = [now, now + timedelta(minutes=5), now + pause + timedelta(minutes=5)]
    given = [Given(at, level) for at, level in zip(times, (4, 3, 2), strict=True)]
    assert [each.level for each in longest_sitting(given)] == [4, 3]
    assert longest_sitting([]) == []


def test_a_strict_colleague_shows_beside_the_first_levels(judged):
    judge_first(judged, FIRST)
    look = open_look(judged.project, judged.teacher, reader=judged.colleague, within=0.05)
    for place in look.places.all():
        lower = {int(pk): max(1, level - 1) for pk, level in place.first.items()}
        judge_again(place, judged.colleague, lower)
    close(look)
    found = asked(judged)["The second look by colleague against the first"]
    # Sixteen or seventeen of the twenty go down a level; those at the foot of the scale stay.
    down = sum(level > 1 for level in FIRST)
    assert found.shift.value == pytest.approx(-down / len(FIRST))
    assert found.shift.told
    assert "lower" in found.said


def test_students_own_levels_over_the_section(judged):
    pieces = judge_first(judged, FIRST[:12])
    for place, piece in enumerate(pieces):
        own = Assessment.objects.create(piece=piece, rubric=judged.rubric, kind="self")
        for mark in Mark.objects.by_teacher().filter(assessment__piece=piece):
            number = min(4, mark.level.number + (place % 3 > 0))
            level = mark.criterion.levels.get(number=number)
            Mark.objects.create(assessment=own, criterion=mark.criterion, level=level)
    found = next(each for what, each in asked(judged).items() if what.startswith("Students' own"))
    kinder = sum(FIRST[place] < 4 for place in range(12) if place % 3 > 0)
    assert found.shift.value == pytest.approx(kinder / 12)
    assert found.shift.count == 12


def test_the_page_says_too_few_by_the_rule_and_costs_the_same_with_more_looks(
    client, judged, count_queries
):
    judge_first(judged, FIRST)
    client.force_login(judged.teacher)
    path = f"/projects/{judged.project.pk}/fairness/"
    assert "Too few pieces of this sitting were judged: 0" in client.get(path).content.decode()
    counts = []
    for reader in (judged.colleague, judged.outsider):
        look = open_look(judged.project, judged.teacher, reader=reader, within=0.05)
        for place in look.places.all():
            judge_again(place, reader, {int(pk): level for pk, level in place.first.items()})
        close(look)
        counts.append(count_queries(client, path))
    assert counts[0] == counts[1]


def test_two_readers_of_one_afternoon_have_two_sittings():
    now = timezone.now()
    given = [
        Given(now + timedelta(minutes=minute), level, who=who)
        for minute, (level, who) in enumerate([(4, 1), (1, 2), (3, 1), (2, 1), (1, 2)])
    ]
    assert [each.level for each in longest_sitting(given)] == [4, 3, 2]


def keep_order(judged, pieces):
    order = record_order(judged.project, by_eye(judged), judged.teacher, pieces)
    begun = timezone.now() - timedelta(days=3, minutes=5)
    ShelfOrder.objects.filter(pk=order.pk).update(shown_at=begun)


def judged_pieces(judged):
    rows = MarkChange.objects.order_by("at").select_related("assessment__piece")
    return [row.assessment.piece for row in rows]


def test_pieces_judged_as_they_stood_tell_a_drift(judged):
    judge_in_order(judged, RISING)
    keep_order(judged, judged_pieces(judged))
    assert sitting_of(judged).shift.told


def test_pieces_picked_off_the_shelf_tell_none(judged):
    judge_in_order(judged, RISING)
    # They stood in another order than they were taken: every second one first.
    pieces = judged_pieces(judged)
    keep_order(judged, pieces[::2][::-1] + pieces[1::2])
    found = sitting_of(judged)
    assert found.shift is None
    assert "not judged in the order" in found.because


def test_an_order_followed_is_the_tau_of_the_reference():
    shown = list(range(9))
    found = set()
    for seed in range(40):
        chance, judged = Random(seed), shown.copy()
        for _ in range(seed):
            at = chance.randrange(8)
            judged[at], judged[at + 1] = judged[at + 1], judged[at]
        # Reference: scipy, Kendall's tau of places without ties.
        tau = stats.kendalltau(range(9), judged).statistic
        found.add(followed(shown, judged))
        assert followed(shown, judged) == (tau >= FOLLOWED - 1e-12)
    assert found == {True, False}


def test_a_shelf_keeps_the_order_it_shows_once_a_sitting(client, judged):
    judge_in_order(judged, RISING)
    client.force_login(judged.teacher)
    address = f"/projects/{judged.project.pk}/judge/{by_eye(judged).pk}/"
    page = client.get(address)
    client.get(address)
    order = ShelfOrder.objects.get()
    for row in [*(each.tiles for each in page.context["shelves"]), page.context["board"]]:
        places = [order.pieces.index(tile.piece.pk) for tile in row]
        assert places == sorted(places)
    assert (order.reader, order.criterion) == (judged.teacher, by_eye(judged))
    ShelfOrder.objects.update(shown_at=timezone.now() - KEPT_FOR)
    client.get(address)
    assert ShelfOrder.objects.count() == 2


def test_the_evidence_file_tells_the_place_on_the_shelf(judged):
    judge_in_order(judged, RISING)
    pieces = judged_pieces(judged)
    keep_order(judged, pieces)
    told = collect(pieces[2], day=timezone.localdate())
    assert any("place 3 of 20" in event.what for event in told.events)
