"""Anchor cups: answers stay closed until they are compared, then speak criterion by criterion."""

import pytest
from django.urls import reverse

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


def paper(setting, levels, student=None):
    criterion = setting.criteria[0]
    cups = list(setting.cups.all())
    given = {(cup.pk, criterion.pk): level for cup, level in zip(cups, levels, strict=True)}
    return eye.answer_on_paper(setting, {student or setting.school.bao: given})


def test_what_is_typed_in_from_paper_counts_once_beside_the_others(setting):
    give(setting, setting.school.teacher, 4, 3, 2)
    assert paper(setting, (4, 2, 2)) == 1
    assert paper(setting, (3, 2, 2)) == 1
    assert eye.answered_by(setting) == 2
    found = eye.spreads(setting, setting.criteria[:1])
    assert [each.counts for each in found] == [(1, 1, 0, 0), (0, 1, 1, 0), (0, 0, 2, 0)]
    assert [each.teacher for each in found] == [4, 3, 2]
    # Nothing on the sheet takes the answer away again.
    assert eye.answer_on_paper(setting, {setting.school.bao: {}}) == 0
    assert eye.answered_by(setting) == 1


def test_an_own_answer_takes_the_place_of_the_paper_and_is_not_typed_over(setting):
    amara = setting.school.amara
    paper(setting, (1, 1, 1), amara)
    give(setting, amara.login, 4, 4, 4)
    assert eye.answered_by(setting) == 1
    assert amara not in eye.on_paper(setting)
    with pytest.raises(CritiqueError, match="answered on the site"):
        paper(setting, (1, 1, 1), amara)
    assert set(eye.levels_of(setting, amara.login).values()) == {4}


def test_paper_comes_too_late_for_a_comparison(setting):
    eye.compare(setting)
    with pytest.raises(CritiqueError, match="too late"):
        paper(setting, (4, 3, 2))


def test_the_page_takes_a_row_a_student_and_says_what_it_cannot_read(setting, client):
    client.force_login(setting.school.teacher)
    address = reverse("eye_paper", args=[setting.pk])
    cups, bao, camila = list(setting.cups.all()), setting.school.bao, setting.school.students[2]
    count = len(setting.criteria)
    right, short = "4" * (count - 1) + "-", "4 3"

    def typed(**fields):
        return {
            f"paper-{student.pk}-{cups[0].pk}": text
            for student, text in ((bao, fields.get("bao")), (camila, fields.get("camila")))
            if text
        }

    told = client.post(address, typed(bao=right, camila=short)).content.decode()
    assert f"2 levels for {count} criteria" in told
    assert f'value="{right}"' in told
    assert eye.answered_by(setting) == 0
    told = client.post(address, typed(bao=right, camila="7" * count)).content.decode()
    assert "7: a level is one of 1, 2, 3, 4" in told
    assert client.post(address, typed(bao=" ".join(right))).status_code == 302
    assert len(eye.levels_on_paper(setting)[bao.pk]) == count - 1
    # The page shows what is kept, ready to be mended.
    assert " ".join(right) in client.get(address).content.decode()
    assert "answered" in client.get(reverse("eye", args=[setting.pk])).content.decode()
