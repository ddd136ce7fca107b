"""What an open judging page asks for: the marks as they stand now, for whoever judges them."""

import pytest

from rubrics.judging.marking import clear_mark, set_level
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from tests.factories import read_wall


@pytest.fixture
def judged(school):
    """The school, judged by the starter rubric; both pieces measure level 4 on the wall."""
    choose_rubric(school.project, ensure_starter_rubric())
    school.c = {each.letter: each for each in ensure_starter_rubric().criteria.all()}
    for piece in (school.piece, school.other_piece):
        read_wall(piece, 6.0, 6.1, 6.0, 6.1)
    return school


@pytest.fixture
def now(client, judged):
    """Return ``now(**asked)``: the answer to an open page of the teacher."""
    client.force_login(judged.teacher)
    return lambda **asked: client.get(f"/projects/{judged.project.pk}/judge/now/", asked)


def test_a_shelf_is_told_its_marks_and_how_many_are_done(now, judged):
    set_level(judged.piece, judged.c["B"], 2, judged.colleague, expected_version=0)
    set_level(judged.piece, judged.c["A"], 3, judged.colleague, expected_version=1)
    answer = now(criterion=judged.c["B"].pk).json()
    [mark] = answer["marks"]
    assert (mark["code"], mark["level"], mark["place"]) == ("K3-01", 2, "2")
    assert mark["wants_reason"]
    assert (answer["done"], answer["of"]) == (1, 2)


def test_a_piece_is_told_its_own_marks_only(now, judged):
    for piece in (judged.piece, judged.other_piece):
        set_level(piece, judged.c["A"], 3, judged.colleague, expected_version=0)
    answer = now(piece=judged.piece.pk).json()
    assert [mark["code"] for mark in answer["marks"]] == ["K3-01"]


def test_a_mark_taken_back_stands_where_its_checks_put_it_today(now, judged):
    set_level(judged.piece, judged.c["B"], 2, judged.colleague, expected_version=0)
    clear_mark(judged.piece, judged.c["B"], judged.colleague, expected_version=1)
    [mark] = now(criterion=judged.c["B"].pk).json()["marks"]
    assert (mark["state"], mark["level"], mark["place"]) == ("suggested", None, "4")


@pytest.mark.parametrize("asked", ["wall", "-1", "1.5", "9" * 30])
@pytest.mark.parametrize("name", ["criterion", "piece"])
def test_nonsense_is_answered_in_a_sentence(now, name, asked):
    answer = now(**{name: asked})
    assert answer.status_code == 400
    assert answer.json()["sentence"].endswith("Reload the page.")


@pytest.mark.parametrize("name", ["criterion", "piece"])
def test_a_number_of_nothing_has_no_marks(now, name):
    assert now(**{name: "9" * 18}).json()["marks"] == []
