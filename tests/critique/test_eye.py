"""Anchor cups: answers stay closed until they are compared, then speak criterion by criterion."""

import pytest

from rubrics.critique import eye
from rubrics.critique.errors import CritiqueError
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.photos import storing
from tests.photos.photo_files import plain_picture


@pytest.fixture
def setting(five):
    choose_rubric(five.project, ensure_starter_rubric())
    for number, piece in enumerate(five.pieces):
        upload = storing.take_in(plain_picture("tan", (64, 48)) + bytes([number]), f"{number}.jpg")
        storing.store(five.section, piece, upload, None)
    found = eye.open_setting(five.project, five.teacher, five.pieces[:3])
    found.school = five
    found.criteria = list(five.project.rubric_use.rubric.criteria.all())
    return found


def give(setting, user, *levels):
    """The same level on the first criterion of cups 1, 2, 3."""
    criterion = setting.criteria[0]
    cups = list(setting.cups.all())
    eye.answer(
        setting,
        user,
        {(cup.pk, criterion.pk): level for cup, level in zip(cups, levels, strict=False)},
    )


def test_three_different_cups_with_photos(setting):
    school = setting.school
    with pytest.raises(CritiqueError, match="Choose 3"):
        eye.open_setting(school.project, school.teacher, [school.piece] * 3)
    for photo in school.piece.photos.all():
        photo.delete()
    with pytest.raises(CritiqueError, match="K3-01"):
        eye.open_setting(school.project, school.teacher, school.pieces[:3])


def test_an_answer_is_renewed_until_they_are_compared(setting):
    user = setting.school.student
    give(setting, user, 4, 3, 2)
    give(setting, user, 3, 3)
    assert sorted(eye.levels_of(setting, user).values()) == [3, 3]
    eye.compare(setting)
    with pytest.raises(CritiqueError, match="compared already"):
        give(setting, user, 1, 1, 1)
    assert sorted(eye.levels_of(setting, user).values()) == [3, 3]


def test_where_answers_lie_apart_is_worth_a_word(setting):
    school = setting.school
    users = [school.teacher, *(student.login for student in school.students[:3])]
    # Cup 1: 4 4 4 3, all but together. Cup 2: 4 and 2, wide. Cup 3: 4 3 2 1, all apart.
    for user, levels in zip(users, [(4, 4, 4), (4, 4, 3), (4, 2, 2), (3, 4, 1)], strict=True):
        give(setting, user, *levels)
    found = eye.spreads(setting, setting.criteria[:1])
    assert [each.counts for each in found] == [(3, 1, 0, 0), (3, 0, 1, 0), (1, 1, 1, 1)]
    assert [each.teacher for each in found] == [4, 4, 4]
    assert [each.cup.number for each in eye.talking_points(found)] == [3, 2]
    assert found[2].said == "4 answers, from 1 to 4; the teacher 4"
    assert eye.answered_by(setting) == 4


def test_another_settings_cups_are_not_levelled(setting):
    other = eye.open_setting(
        setting.school.project, setting.school.teacher, setting.school.pieces[2:]
    )
    strange = {(cup.pk, setting.criteria[0].pk): 4 for cup in other.cups.all()}
    assert eye.answer(setting, setting.school.student, strange) == 0
