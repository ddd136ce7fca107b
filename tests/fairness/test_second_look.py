"""A second look: drawn by chance, judged blind, closed, compared and settled."""

import re
from datetime import timedelta

import pandas as pd
import pytest
from django.utils import timezone
from statsmodels.stats.inter_rater import cohens_kappa

from rubrics.fairness.comparison import compare_looks
from rubrics.fairness.second_look import (
    PAUSE,
    SecondLookError,
    close,
    colleague_named,
    judge_again,
    open_look,
    opens_at,
    settle,
)
from rubrics.judging.marking import set_level
from rubrics.models import Assessment, Mark, MarkChange, SecondLook, Settled
from tests.factories import make_photo, make_piece, make_student

from .test_evidence_file import text_of

FIRST = (4, 3, 3, 2, 1, 4, 2, 3, 4, 1, 2, 3, 4, 3, 2, 1, 3, 2, 4, 3)
SECOND = (4, 3, 2, 2, 1, 4, 3, 3, 3, 1, 2, 3, 4, 4, 2, 2, 3, 2, 4, 3)
"""Invented levels of twenty pieces."""


def judge_first(judged, levels, *, start=0):
    """A piece a level, that level on every criterion."""
    made = []
    for number, level in enumerate(levels, start=start):
        student = make_student(judged.section, f"Student {number}")
        piece = make_piece(judged.project, student, f"B-{number:03}")
        assessment = Assessment.objects.create(
            piece=piece, rubric=judged.rubric, assessor=judged.teacher
        )
        Mark.objects.bulk_create(
            Mark(
                assessment=assessment,
                criterion=criterion,
                level=next(each for each in criterion.levels.all() if each.number == level),
            )
            for criterion in judged.c.values()
        )
        made.append(piece)
    return made


@pytest.fixture
def batch(judged):
    judged.pieces = judge_first(judged, FIRST)
    return judged


@pytest.fixture
def look(batch):
    return open_look(batch.project, batch.teacher, reader=batch.colleague, within=0.05, seed=7)


def judge_second(look, reader, criteria, levels):
    for place in look.places.select_related("piece"):
        level = levels[int(place.piece.code[2:])]
        judge_again(place, reader, {each.pk: level for each in criteria})


def test_the_sample_has_the_size_of_the_wanted_precision_and_the_seed_draws_it_again(batch):
    # Cochran (1977) 4.4: n0 = 1.96^2 / 4 / 0.2^2 = 24.01; of 20, 24.01 / (1 + 23.01 / 20) = 11.2,
    # so 12, and agreement is told from 15 on.
    one = open_look(batch.project, batch.teacher, reader=batch.colleague, within=0.2, seed=3)
    two = open_look(batch.project, batch.teacher, reader=batch.teacher, within=0.2, seed=3)
    drawn = [list(each.places.values_list("piece", flat=True)) for each in (one, two)]
    assert len(drawn[0]) == 15
    assert drawn[0] == drawn[1]
    assert {level for place in one.places.all() for level in place.first.values()} == {1, 2, 3, 4}


def test_a_reader_looks_once_and_pieces_half_judged_are_not_drawn(batch):
    half = make_piece(batch.project, batch.bao, "H-1")
    criterion = next(iter(batch.c.values()))
    set_level(half, criterion, 3, batch.teacher, expected_version=0)
    look = open_look(batch.project, batch.teacher, reader=batch.colleague, within=0.05)
    assert look.batch == len(FIRST)
    assert half.pk not in look.places.values_list("piece", flat=True)
    with pytest.raises(SecondLookError, match="already"):
        open_look(batch.project, batch.teacher, reader=batch.colleague, within=0.05)


def test_the_same_reader_waits_a_day(batch, client):
    look = open_look(batch.project, batch.teacher, reader=batch.teacher, within=0.05)
    place = look.places.first()
    change = MarkChange.objects.create(
        assessment=place.piece.assessments.get(),
        mark=place.piece.assessments.get().marks.first(),
        version=1,
        who=batch.teacher,
        before={},
        after={},
    )
    client.force_login(batch.teacher)
    assert opens_at(look) == change.at + PAUSE
    assert b"would remember it" in client.get(f"/second-looks/{look.pk}/").content
    assert client.get(f"/second-looks/{look.pk}/1/").status_code == 302
    with pytest.raises(SecondLookError, match="less than a day"):
        judge_again(place, batch.teacher, {next(iter(batch.c.values())).pk: 3})
    MarkChange.objects.update(at=timezone.now() - PAUSE - timedelta(minutes=1))
    assert opens_at(look) is None
    assert client.get(f"/second-looks/{look.pk}/1/").status_code == 200


@pytest.mark.parametrize("who", ["student", "head", "teacher"])
def test_nobody_is_invited_who_can_read_the_first_levels(batch, who):
    with pytest.raises(SecondLookError):
        colleague_named(batch.project, getattr(batch, who).username)


def test_the_colleague_sees_codes_and_no_name_first_level_or_other_piece(client, batch, look):
    place = look.places.select_related("piece__student").first()
    place.piece.assessments.update(words="Words of the first look")
    photo, other = make_photo(place.piece), make_photo(batch.piece)
    client.force_login(batch.colleague)
    page = client.get(f"/second-looks/{look.pk}/{place.number}/")
    text = page.content.decode()
    assert place.piece.code in text
    assert f"/second-looks/{look.pk}/photos/{photo.pk}/middle/" in text
    assert place.piece.student.name not in text
    assert "Words of the first look" not in text
    chosen = re.findall(r'value="([^"]*)"[^>]*\bchecked', text)
    assert set(chosen) == {""}
    assert "uggested" not in text
    assert client.get(f"/second-looks/{look.pk}/photos/{other.pk}/middle/").status_code == 404
    for path in (f"/pieces/{place.piece_id}/", f"/projects/{batch.project.pk}/fairness/"):
        assert client.get(path).status_code == 404


def test_the_door_shuts_when_the_sample_is_handed_back(client, batch, look):
    client.force_login(batch.colleague)
    photo = make_photo(look.places.first().piece)
    assert "A second look is asked" in client.get("/second-looks/").content.decode()
    levels = {f"level_{each.pk}": "3" for each in batch.c.values()}
    answer = client.post(f"/second-looks/{look.pk}/1/", levels)
    assert answer.url == f"/second-looks/{look.pk}/2/"
    assert client.post(f"/second-looks/{look.pk}/close/").url == "/"
    assert client.get("/second-looks/").content.decode().strip() == ""
    for path in ("", "1/", f"photos/{photo.pk}/middle/", "result/"):
        assert client.get(f"/second-looks/{look.pk}/{path}").status_code == 404
    with pytest.raises(SecondLookError, match="closed"):
        judge_again(look.places.first(), batch.colleague, {next(iter(batch.c.values())).pk: 2})


def test_an_empty_judgement_is_refused_with_a_sentence(client, batch, look):
    client.force_login(batch.colleague)
    answer = client.post(f"/second-looks/{look.pk}/1/", {})
    assert answer.status_code == 422
    assert "Choose a level for one criterion" in answer.content.decode()
    assert not Assessment.objects.filter(kind="second").exists()


def test_kappa_is_that_of_the_reference_library(batch, look):
    judge_second(look, batch.colleague, batch.c.values(), SECOND)
    found = compare_looks(look)
    assert len(found.percents) == len(FIRST)
    # Reference: statsmodels, cohens_kappa with quadratic weights.
    table = pd.crosstab(pd.Series(FIRST), pd.Series(SECOND)).to_numpy()
    expected = cohens_kappa(table, wt="quadratic", return_results=False)
    for told in found.criteria:
        assert told.agreement.kappa.value == pytest.approx(expected)
    assert found.icc is not None
    assert found.limits.count == len(FIRST)


def test_the_page_tells_it_only_when_closed_and_too_few_says_so(client, batch, look):
    client.force_login(batch.teacher)
    path = f"/second-looks/{look.pk}/result/"
    place = look.places.first()
    judge_again(place, batch.colleague, {next(iter(batch.c.values())).pk: 1})
    assert "Kappa" not in client.get(path).content.decode()
    close(look)
    text = client.get(path).content.decode()
    assert "Too few pieces were read by both: 1, and it takes 15" in text


def test_settling_keeps_both_levels_and_changes_the_mark_with_its_reason(client, batch, look):
    judge_second(look, batch.colleague, batch.c.values(), SECOND)
    close(look)
    place = next(each for each in look.places.all() if each.piece.code == "B-002")
    criterion = next(iter(batch.c.values()))
    before = compare_looks(look)
    client.force_login(batch.teacher)
    told = {"place": place.pk, "criterion": criterion.pk, "level": 2, "why": "The rim dips."}
    path = f"/second-looks/{look.pk}/settle/"
    assert client.post(path, {**told, "why": ""}).status_code == 422
    assert client.post(path, told).status_code == 302
    mark = Mark.objects.by_teacher().get(assessment__piece=place.piece, criterion=criterion)
    assert mark.level.number == 2
    assert mark.changes.get().before["level"] == 3
    settled = Settled.objects.get()
    assert (settled.level, settled.why, settled.by) == (2, "The rim dips.", batch.teacher)
    after = compare_looks(look)
    assert after.together == before.together
    assert after.open_differences == before.open_differences - 1
    assert client.post(path, told).status_code == 422


def test_settling_at_the_first_level_is_recorded_too(batch, look):
    judge_second(look, batch.colleague, batch.c.values(), SECOND)
    place = next(each for each in look.places.all() if each.piece.code == "B-002")
    criterion = next(iter(batch.c.values()))
    with pytest.raises(SecondLookError, match="Close"):
        settle(place, criterion, 3, batch.teacher, why="It holds.")
    close(look)
    place.look.refresh_from_db()
    settle(place, criterion, 3, batch.teacher, why="It holds.")
    assert Settled.objects.get().level == 3
    assert not MarkChange.objects.exists()


def test_the_evidence_file_tells_of_it_once_it_is_closed(client, batch, look):
    judge_second(look, batch.colleague, batch.c.values(), SECOND)
    place = next(each for each in look.places.all() if each.piece.code == "B-002")
    assert "second time" not in text_of(client, batch.teacher, place.piece)
    close(look)
    place.look.refresh_from_db()
    settle(place, next(iter(batch.c.values())), 3, batch.teacher, why="It holds.")
    text = text_of(client, batch.teacher, place.piece)
    assert "drew it for a second look, by chance, of 20 pieces (seed 7)" in text
    assert "levels first and second: A 3 and 2" in text
    assert "at level 3. Why: It holds." in text


def test_pages_cost_the_same_for_many_pieces(client, batch, look, count_queries):
    client.force_login(batch.teacher)
    judge_second(look, batch.colleague, batch.c.values(), SECOND)
    close(look)
    paths = [f"/second-looks/{look.pk}/result/", f"/projects/{batch.project.pk}/fairness/"]
    few = [count_queries(client, path) for path in paths]
    SecondLook.objects.all().delete()
    Assessment.objects.filter(kind="second").delete()
    judge_first(batch, FIRST, start=20)
    again = open_look(batch.project, batch.teacher, reader=batch.colleague, within=0.05)
    judge_second(again, batch.colleague, batch.c.values(), SECOND * 2)
    close(again)
    paths[0] = f"/second-looks/{again.pk}/result/"
    assert again.places.count() > len(FIRST)
    assert [count_queries(client, path) for path in paths] == few
