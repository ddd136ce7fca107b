"""The making board and the sheet of habits, as a teacher and a head meet them."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.models import HabitTick
from tests.factories import make_piece, make_student, read_rim
from tests.pages import page_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_teacher(client, school):
    client.force_login(school.teacher)
    return client


@pytest.fixture
def board(school):
    """Amara's K3-01 leather-hard for three days, Bao's K3-02 wet since today, a lost one."""
    today = timezone.localdate()
    school.project.pieces.update(stage_since=today)
    school.piece.stage, school.piece.stage_since = "leather-hard", today - timedelta(days=3)
    school.piece.save()
    make_piece(school.project, school.bao, "K3-09", state="lost")
    return f"/projects/{school.project.pk}/board/"


def rows(response):
    return [
        (row.piece.code, row.days_words, row.said.sentence)
        for row in response.context["board"].rows
    ]


def test_the_board_tells_stage_days_and_what_the_trade_says_the_soonest_first(as_teacher, board):
    answer = as_teacher.get(board)
    assert rows(answer) == [
        ("K3-01", "3 days", "Too dry for a handle soon: join the handle today."),
        ("K3-02", "since today", "Too wet for a handle. Wrap it tonight, the rim as well."),
    ]
    assert "K3-09" not in page_text(answer)
    for name in ("Amara O.", "Bao N.", "Waits: measuring and handle and mending."):
        assert name in page_text(answer)


def test_the_board_is_narrowed_by_stage_and_by_what_it_waits_for(as_teacher, board):
    def shown(question):
        return [code for code, *_ in rows(as_teacher.get(f"{board}?{question}"))]

    assert shown("stage=wet") == ["K3-02"]
    assert shown("wait=measuring") == ["K3-01"]
    assert shown("stage=wet&wait=measuring") == []
    assert shown("stage=nonsense&wait=nonsense") == ["K3-01", "K3-02"]


def test_a_move_comes_back_to_the_board_as_it_was_narrowed(as_teacher, school, board):
    data = {
        "stage": "leather-hard",
        "pieces": [school.other_piece.pk],
        "back": f"{board}?stage=wet",
    }
    answer = as_teacher.post(f"/projects/{school.project.pk}/stages/", data)
    assert answer.url == f"{board}?stage=wet"
    school.other_piece.refresh_from_db()
    moved = (school.other_piece.stage, school.other_piece.stage_since)
    assert moved == ("leather-hard", timezone.localdate())
    # Only the board's own questions are taken back, never an address.
    data["back"] = "https://elsewhere.example/?next=//elsewhere.example"
    assert as_teacher.post(f"/projects/{school.project.pk}/stages/", data).url == board


def test_a_head_reads_the_board_and_changes_nothing(client, school, board):
    client.force_login(school.head)
    page = page_text(client.get(board))
    assert "Too dry for a handle soon" in page
    assert "Move them on" not in page
    assert 'type="checkbox"' not in page


def test_the_make_step_counts_what_the_board_says(as_teacher, school, board):
    page = as_teacher.get(f"/projects/{school.project.pk}/")
    assert "1 too dry for a handle soon." in page.context["make_step"].lines
    assert f'href="{board}"' in page_text(page)
    assert 'id="stage-form"' not in page_text(page)


@pytest.mark.parametrize("page", ["board", "habits", "week"])
def test_queries_do_not_grow(as_teacher, school, page, django_assert_num_queries):
    path = {
        "board": f"/projects/{school.project.pk}/board/",
        "habits": f"/sections/{school.section.pk}/habits/",
        "week": f"/sections/{school.section.pk}/habits/week/",
    }[page]

    def fill(numbers):
        for number in numbers:
            student = make_student(school.section, f"Student {number}")
            make_piece(school.project, student, f"Q-{number:02d}")
            HabitTick.objects.create(
                section=school.section, student=student, day=timezone.localdate(), habit="tools"
            )

    fill(range(3))
    with CaptureQueriesContext(connection) as few:
        as_teacher.get(path)
    fill(range(3, 30))
    with django_assert_num_queries(len(few)):
        as_teacher.get(path)


def test_a_tap_ticks_and_another_takes_it_back_in_place(as_teacher, school):
    path = f"/sections/{school.section.pk}/habits/tick/"
    data = {"student": school.amara.pk, "habit": "wrapped", "on": "1"}
    page = page_text(as_teacher.post(path, data, headers={"HX-Request": "true"}))
    assert 'aria-pressed="true" aria-label="Amara O.: wrapped and labelled"' in page
    assert 'name="on" value="0"' in page
    tick = HabitTick.objects.get()
    found = (tick.student, tick.day, tick.habit, tick.by)
    assert found == (school.amara, timezone.localdate(), "wrapped", school.teacher)
    answer = as_teacher.post(path, data | {"on": "0"})
    assert answer.url.startswith(f"/sections/{school.section.pk}/habits/?day=")
    assert not HabitTick.objects.exists()


def test_a_tick_that_cannot_be_is_refused_with_a_sentence(as_teacher, school):
    path = f"/sections/{school.section.pk}/habits/tick/"
    answer = as_teacher.post(path, {"habit": "whistling", "on": "1"})
    assert (answer.status_code, page_text(answer)) == (
        422,
        "That is no habit of the sheet; reload the page. Nothing was changed.",
    )


def test_a_colleagues_student_is_not_ticked(as_teacher, client, school):
    client.force_login(school.colleague)
    path = f"/sections/{school.section.pk}/habits/tick/"
    assert client.post(path, {"habit": "tools", "on": "1"}).status_code == 404
    assert not HabitTick.objects.exists()


def test_the_list_to_mend_is_for_paper_and_hides_names_when_asked(as_teacher, school):
    read_rim(school.piece, 106, 106, 113, 106)
    school.project.pieces.update(stage="leather-hard")
    path = f"/projects/{school.project.pk}/mend/"
    page = page_text(as_teacher.get(path))
    for told in ("K3-01", "Amara O.", "Shave", 'class="mend-box"', "Not read yet:", "K3-02"):
        assert told in page
    assert "Amara O." not in page_text(as_teacher.get(f"{path}?names=0"))
    assert "Bao N." not in page


def test_queries_of_the_list_to_mend_do_not_grow(as_teacher, school, django_assert_num_queries):
    def fill(numbers):
        for number in numbers:
            student = make_student(school.section, f"Student {number}")
            cup = make_piece(school.project, student, f"Q-{number:02d}", stage="leather-hard")
            read_rim(cup, 98, 98, 105, 98)

    path = f"/projects/{school.project.pk}/mend/"
    fill(range(3))
    with CaptureQueriesContext(connection) as few:
        as_teacher.get(path)
    fill(range(3, 30))
    with django_assert_num_queries(len(few)):
        as_teacher.get(path)
