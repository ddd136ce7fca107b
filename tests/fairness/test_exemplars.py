"""Exemplars stand at the left end of their shelf, by code and photo, for who pinned them."""

import pytest

from rubrics.fairness.exemplars import pin
from rubrics.judging.marking import clear_mark, set_level
from rubrics.judging.marking.errors import GradingError
from rubrics.models import Exemplar
from tests.factories import make_photo

from .test_second_look import judge_first


@pytest.fixture
def criterion(judged):
    criterion = next(iter(judged.c.values()))
    set_level(judged.piece, criterion, 4, judged.teacher, expected_version=0)
    return criterion


def shelf(judged, criterion):
    return f"/projects/{judged.project.pk}/judge/{criterion.pk}/"


def test_it_is_pinned_to_the_level_it_has_and_shown_without_its_name(client, judged, criterion):
    photo = make_photo(judged.piece)
    client.force_login(judged.teacher)
    path = f"/pieces/{judged.piece.pk}/exemplar/{criterion.pk}/"
    assert client.post(path).url == shelf(judged, criterion)
    assert Exemplar.objects.get().level.number == 4
    text = client.get(shelf(judged, criterion)).content.decode()
    place = text.index("the exemplar of level 4")
    assert f"/photos/{photo.pk}/small/" in text[place - 300 : place]
    assert judged.amara.name not in text
    client.post(path, {"down": "1"})
    assert not Exemplar.objects.exists()


def test_another_piece_takes_its_place(judged, criterion):
    pin(judged.piece, criterion, judged.teacher)
    set_level(judged.other_piece, criterion, 4, judged.teacher, expected_version=0)
    pin(judged.other_piece, criterion, judged.teacher)
    assert Exemplar.objects.get().piece == judged.other_piece


def test_a_piece_without_a_level_stands_for_none(client, judged, criterion):
    version = judged.piece.assessments.get().version
    clear_mark(judged.piece, criterion, judged.teacher, expected_version=version)
    with pytest.raises(GradingError, match="a level first"):
        pin(judged.piece, criterion, judged.teacher)
    client.force_login(judged.teacher)
    path = f"/pieces/{judged.piece.pk}/exemplar/{criterion.pk}/"
    assert "a level first" in client.post(path, follow=True).content.decode()


def test_the_shelf_costs_the_same_for_one_exemplar_as_for_four(
    client, judged, criterion, count_queries
):
    made = judge_first(judged, (4, 3, 2, 1))
    client.force_login(judged.teacher)
    pin(made[0], criterion, judged.teacher)
    # The first time the order is kept, too.
    client.get(shelf(judged, criterion))
    one = count_queries(client, shelf(judged, criterion))
    for piece in made[1:]:
        pin(piece, criterion, judged.teacher)
    assert count_queries(client, shelf(judged, criterion)) == one
