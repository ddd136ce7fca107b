"""Checks as other pages fetch them."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.models import Reading
from tests.factories import make_piece, make_student, read, read_rim, read_wall
from tests.pages import page_text


def get(client, user, address):
    client.force_login(user)
    return client.get(address)


def test_all_checks_of_a_piece_are_drawn_and_told(client, school):
    read_rim(school.piece, 95, 95.5, 96, 97.3, 96.5, 96, 95.5, 95.2)
    read_wall(school.piece, 6.0, 6.1)
    page = get(client, school.teacher, f"/pieces/{school.piece.pk}/checks/")
    assert [each.picture.name for each in page.context["checks"]] == ["wall_evenness", "rim_level"]
    text = page_text(page)
    assert "<html" not in text
    assert text.count("<svg xmlns") == 2
    assert page.context["checks"][0].picture.sentence in text


def test_what_the_rubric_does_not_grade_is_told_so_where_it_is_called_outside(client, judged):
    read(judged.piece, "dimension", 100, name="mark", stage="wet")
    read(judged.piece, "dimension", 80, name="mark", stage="glazed")
    text = page_text(get(client, judged.teacher, f"/pieces/{judged.piece.pk}/checks/"))
    assert "outside" in text
    assert "The rubric does not grade that." in text


def test_a_piece_without_readings_says_so(client, school):
    text = page_text(get(client, school.teacher, f"/pieces/{school.piece.pk}/checks/"))
    assert "Nothing measured yet." in text


def test_one_stage_can_be_asked_for(client, school):
    read_rim(school.piece, 95, 95, 95, 98)
    read_rim(school.piece, 90, 90, 90, 91, stage="glazed")
    address = f"/pieces/{school.piece.pk}/checks/"
    for query, stage in (("", "glazed"), ("?stage=leather-hard", "leather-hard")):
        page = get(client, school.teacher, address + query)
        assert [each.stage for each in page.context["checks"]] == [stage]
    assert get(client, school.teacher, address + "?stage=wet").context["checks"] == []
    assert get(client, school.teacher, address + "?stage=nonsense").status_code == 200


def test_a_row_ends_with_verdict_and_figure(client, school):
    address = f"/pieces/{school.piece.pk}/checks/rim_level/row/"
    assert get(client, school.teacher, address).content == b""
    read_rim(school.piece, 95, 95.1, 95, 95)
    text = page_text(get(client, school.teacher, address))
    assert 'data-verdict="within"' in text
    # It rises by 0.1; the readings tell no better than 2 × 0.1 √2.
    assert "level, within 0.3\xa0mm" in text


def test_a_row_with_an_open_question_says_so(client, school):
    read_rim(school.piece, 95, 95, 95, 59)
    Reading.objects.filter(value=59).update(doubt="59? Did you mean 95?")
    address = f"/pieces/{school.piece.pk}/checks/rim_level/row/"
    assert "a reading is in question" in page_text(get(client, school.teacher, address))


def test_a_check_that_is_none_is_not_found(client, school):
    for address in (
        f"/pieces/{school.piece.pk}/checks/nonsense/row/",
        f"/projects/{school.project.pk}/checks/nonsense/",
    ):
        assert get(client, school.teacher, address).status_code == 404


def test_rows_of_a_sheet_come_at_once_and_ask_as_much_for_30_as_for_3(
    client, school, django_assert_num_queries
):
    address = f"/projects/{school.project.pk}/checks/rim_level/"
    read_rim(school.piece, 95, 95, 95, 96)
    client.force_login(school.teacher)
    with CaptureQueriesContext(connection) as few:
        rows = client.get(address).json()
    assert set(rows) == {str(school.piece.pk), str(school.other_piece.pk)}
    assert rows[str(school.other_piece.pk)] == ""
    for number in range(28):
        student = make_student(school.section, f"S{number}")
        read_rim(make_piece(school.project, student, f"S-{number}"), 95, 95, 95, 96)
    with django_assert_num_queries(len(few)):
        assert len(client.get(address).json()) == 30


@pytest.mark.parametrize("person", ["student", "colleague", "outsider"])
def test_a_sheet_is_its_readers_alone(client, school, person):
    for address in ("checks/rim_level/", "judge/state/"):
        found = get(client, getattr(school, person), f"/projects/{school.project.pk}/{address}")
        assert found.status_code == 404


def test_the_state_of_judging_in_a_sentence(client, school):
    text = page_text(get(client, school.head, f"/projects/{school.project.pk}/judge/state/"))
    assert "Judge: No rubric yet." in text
    assert "Tell: Not yet." in text


def test_the_state_of_one_step_alone(client, school):
    choose_rubric(school.project, ensure_starter_rubric())
    address = f"/projects/{school.project.pk}/judge/state/"
    for step, said in (("judge", "<p>0 of 2 finished.</p>"), ("tell", "<p>Not yet.</p>")):
        text = page_text(get(client, school.teacher, f"{address}?step={step}"))
        assert text.replace('<span class="figure">', "").replace("</span>", "").strip() == said
