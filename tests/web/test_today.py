"""The first page: what waits, the most urgent first, for that person."""

import pytest

from studio.models import Outcome
from tests.factories import (
    make_piece,
    make_project,
    make_section,
    make_student,
    make_user,
    read,
)
from tests.pages import page_text

pytestmark = pytest.mark.django_db


def today(client, user):
    client.force_login(user)
    return client.get("/")


def text(response):
    return response.content.decode()


def test_a_new_teacher_is_led_to_the_first_section(client):
    page = text(today(client, make_user("new", is_staff=True)))
    assert 'href="/sections/new/"' in page
    assert "Open your first section" in page


def test_each_empty_step_leads_to_the_next(client, school):
    section = make_section(school.teacher, name="Bell 9")
    page = page_text(today(client, school.teacher))
    assert f'No students yet. <a href="/sections/{section.pk}/students/"' in page
    student = make_student(section, "Zoe Q.")
    page = page_text(today(client, school.teacher))
    assert f'<a href="/sections/{section.pk}/projects/new/">Start one from a plan</a>' in page
    project = make_project(section)
    page = today(client, school.teacher)
    assert "1 student has no piece yet." in [item.sentence for item in page.context["found"]]
    assert f'href="/projects/{project.pk}/pieces/"' in text(page)
    make_piece(project, student, "Z-01")
    assert today(client, school.teacher).context["found"] == []


def test_what_spoils_first_is_told_first(client, school):
    pieces = {
        stage: make_piece(school.project, school.amara, f"X-{n}", stage=stage)
        for n, stage in enumerate(("leather-hard", "bone dry", "glazed"))
    }
    Outcome.objects.create(piece=pieces["glazed"], stage="glazed", kind="warp", doing="unclear")
    read(pieces["bone dry"], "rim_height", 64, stage="bone dry", doubt="64? Did you mean 94?")
    page = today(client, school.teacher)
    assert [item.sentence for item in page.context["found"]] == [
        "1 piece is leather-hard and not measured yet. What is found now can still be mended.",
        "1 bone-dry piece has no photo. "
        "One from before the kiln settles later whose doing a crack is.",
        "1 piece has a reading that looks like a slip.",
        "1 glazed piece waits for the last measuring.",
        "1 piece waits for your ruling on an outcome: the making or the kiln?",
    ]
    body = text(page)
    assert body.index("can still be mended") < body.index("for your ruling")


def test_what_is_done_waits_no_more(client, school):
    piece = make_piece(school.project, school.amara, "X-1", stage="leather-hard")
    assert len(today(client, school.teacher).context["found"]) == 1
    read(piece, "rim_height", 90, stage="leather-hard")
    assert today(client, school.teacher).context["found"] == []


def test_a_reading_of_an_earlier_stage_does_not_count_for_this_one(client, school):
    piece = make_piece(school.project, school.amara, "X-1", stage="glazed")
    read(piece, "rim_height", 90, stage="leather-hard")
    (item,) = today(client, school.teacher).context["found"]
    assert item.sentence == "1 glazed piece waits for the last measuring."


def test_lost_and_broken_pieces_wait_for_nobody(client, school):
    for n, state in enumerate(("lost", "broken")):
        make_piece(school.project, school.amara, f"X-{n}", stage="leather-hard", state=state)
    page = today(client, school.teacher)
    assert page.context["found"] == []
    assert "2 lost or broken" in text(page)


def test_the_most_urgent_of_all_sections_comes_first(client, school):
    make_piece(school.project, school.amara, "X-1", stage="glazed")
    other = make_section(school.teacher, name="Bell 9")
    project = make_project(other, "Tumbler")
    make_piece(project, make_student(other, "Zoe Q."), "Z-1", stage="leather-hard")
    found = today(client, school.teacher).context["found"]
    assert [item.project.title for item in found] == ["Tumbler", "Slab cup"]


def test_a_head_reads_and_has_nothing_to_do(client, school):
    make_piece(school.project, school.amara, "X-1", stage="leather-hard")
    page = today(client, school.head)
    assert page.context["found"] == []
    assert [each.section for each in page.context["shared"]] == [school.section]
    body = text(page)
    assert "Slab cup" in body
    for shut in ("/projects/new/", "/sections/new/", "Open your first section"):
        assert shut not in body


def test_a_colleague_sees_nothing_of_it(client, school):
    body = text(today(client, school.colleague))
    assert "Bell 5" in body
    for hidden in ("Bell 4", "Slab cup", "Amara"):
        assert hidden not in body


def test_a_student_sees_own_pieces_only(client, school):
    page = today(client, school.student)
    assert [piece.code for piece in page.context["pieces"]] == ["K3-01"]
    body = text(page)
    assert f'href="/pieces/{school.piece.pk}/"' in body
    for hidden in ("K3-02", "Bao", "/sections/", "/projects/", "Clays"):
        assert hidden not in body


def test_who_is_on_no_list_is_told_so(client, school):
    assert "not on a class list yet" in text(today(client, school.outsider))


def test_judging_and_telling_are_fetched_once_for_all_projects(client, school):
    body = text(today(client, school.teacher))
    assert body.count('data-hx-get="/today/judging/') == 1
    for place in ("judged", "told"):
        assert f'id="{place}-{school.project.pk}"' in body


def test_the_five_steps_stand_in_a_row_and_finished_projects_in_a_line(client, school):
    for n, stage in enumerate(("wet", "leather-hard", "leather-hard", "glazed")):
        make_piece(school.project, school.amara, f"X-{n}", stage=stage)
    old = make_project(school.section, "Pinch pot", number=4)
    make_piece(old, school.amara, "P-1", stage="glazed", state="finished")
    (rows,) = today(client, school.teacher).context["taught"]
    (row,) = rows.rows
    assert (row.project, rows.finished) == (school.project, 1)
    assert "2 leather-hard" in row.make
    assert "1 glazed" in row.fire
    assert row.hurry == "2 to measure now"


def test_only_the_first_wait_is_the_pages_next_act(client, school):
    for n, stage in enumerate(("leather-hard", "bone dry", "glazed")):
        make_piece(school.project, school.amara, f"X-{n}", stage=stage)
    body = text(today(client, school.teacher))
    waits = body[body.index('<ol class="waits">') : body.index("</ol>")]
    assert waits.count('class="button"') == 1
    assert waits.index('class="button"') < waits.index("no photo")


def test_thirty_pieces_and_ten_projects_cost_no_more_queries(client, school, count_queries):
    client.force_login(school.teacher)
    few = count_queries(client, "/")
    for n in range(10):
        section = make_section(school.teacher, name=f"Bell {n + 10}")
        project = make_project(section)
        for m in range(3):
            student = make_student(section, f"Student {n}-{m}")
            read(make_piece(project, student, f"Y-{m}"), "rim_height", 90)
    assert count_queries(client, "/") == few


def test_a_students_many_pieces_cost_no_more_queries(client, school, count_queries):
    client.force_login(school.student)
    few = count_queries(client, "/")
    for n in range(27):
        make_piece(school.project, school.amara, f"Y-{n}")
    assert count_queries(client, "/") == few
