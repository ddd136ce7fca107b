"""The first page's part of judging: what waits to be judged and sent, all projects at once."""

import re

import pytest

from rubrics.judging import batch, marking
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from tests.factories import make_piece, make_project, make_section, make_student, read_wall
from tests.pages import page_text

pytestmark = pytest.mark.django_db
PATH = "/today/judging/"


@pytest.fixture
def rubric(school):
    found = ensure_starter_rubric()
    choose_rubric(school.project, found)
    return found


def judge(school, rubric, piece):
    """Level 3 on every criterion, with a reason where the readings suggest another."""
    for criterion in rubric.criteria.all():
        version = batch.load_batch(school.project).version(piece)
        marking.set_level(
            piece, criterion, 3, by=school.teacher, expected_version=version, reason_text="seen"
        )


def asked(client, user, path=PATH):
    client.force_login(user)
    return page_text(client.get(path))


def test_glazed_pieces_wait_to_be_judged_and_judged_ones_to_be_sent(client, school, rubric):
    project = school.project
    for n in range(3):
        make_piece(project, school.amara, f"X-{n}", stage="glazed")
    page = asked(client, school.teacher)
    now = batch.progress(project)
    assert now.to_judge == 3
    assert "3 pieces are glazed and not judged yet." in page
    assert f'href="/projects/{project.pk}/judge/"' in page
    assert re.search(rf'id="judged-{project.pk}".*?0 of {now.pieces}<', page)
    assert re.search(rf'id="told-{project.pk}".*?0 of {now.pieces}<', page)


def test_a_judged_piece_waits_to_be_sent_unless_a_reason_is_missing(client, school, rubric):
    project = school.project
    first, second = (make_piece(project, school.amara, f"X-{n}", stage="glazed") for n in range(2))
    judge(school, rubric, first)
    judge(school, rubric, second)
    # A level that leaves the suggestion and has no reason holds its piece back.
    wall = rubric.criteria.get(letter="B")
    second.assessments.get().marks.filter(criterion=wall).update(
        suggested=4, reason="", reason_text=""
    )
    page = asked(client, school.teacher)
    assert "1 piece is judged and not sent yet." in page
    assert "not judged yet" not in page
    assert f'href="/projects/{project.pk}/look-over/"' in page
    assert batch.progress(project) == batch.load_batch(project).progress()


def test_counts_are_those_of_each_project_by_itself(school, rubric):
    other = make_project(make_section(school.teacher, name="Bell 9"), "Tumbler")
    choose_rubric(other, rubric)
    zoe = make_student(other.section, "Zoe Q.")
    for n in range(4):
        make_piece(other, zoe, f"Z-{n}", stage="glazed" if n else "wet")
    make_piece(school.project, school.amara, "X-1", stage="glazed", state="lost")
    bare = make_project(school.section, "Coil pot", number=4)
    together = batch.progress_by_project([school.project, other, bare])
    assert bare.pk not in together
    for project in (school.project, other):
        assert together[project.pk] == batch.load_batch(project).progress()
        assert together[project.pk] == batch.progress(project)


def test_a_project_with_pieces_and_no_rubric_asks_for_one(client, school):
    read_wall(school.piece, 6, 6, 6, 6)
    page = asked(client, school.teacher)
    assert f'href="/projects/{school.project.pk}/rubric/"' in page
    assert f'id="judged-{school.project.pk}" data-hx-swap-oob="true">no rubric<' in page


def test_who_only_reads_is_asked_for_nothing(client, school, rubric):
    make_piece(school.project, school.amara, "X-1", stage="glazed")
    page = asked(client, school.head)
    assert f'id="judged-{school.project.pk}"' in page
    assert "<a" not in page
    assert "not judged yet" not in page
    for stranger in (school.colleague, school.student):
        assert f'-{school.project.pk}"' not in asked(client, stranger)


def test_ten_projects_cost_no_more_queries(client, school, rubric, count_queries):
    client.force_login(school.teacher)
    few = count_queries(client, PATH)
    for n in range(10):
        project = make_project(make_section(school.teacher, name=f"Bell {n + 10}"))
        choose_rubric(project, rubric)
        make_piece(project, make_student(project.section, f"Student {n}"), "Y-1", stage="glazed")
    assert count_queries(client, PATH) == few


def test_a_projects_own_page_asks_of_it_alone(client, school, rubric):
    make_piece(school.project, school.amara, "X-1", stage="glazed")
    other = make_project(make_section(school.teacher, name="Bell 9"), "Tumbler")
    make_piece(other, make_student(other.section, "Zoe Q."), "Z-1", stage="glazed")
    page = asked(client, school.teacher, f"{PATH}?project={school.project.pk}")
    assert "1 piece is glazed and not judged yet." in page
    for elsewhere in ("Tumbler", "swap-oob", "No rubric"):
        assert elsewhere not in page
    body = page_text(client.get(f"/projects/{school.project.pk}/"))
    assert f'data-hx-get="{PATH}?project={school.project.pk}' in body
    hidden = asked(client, school.colleague, f"{PATH}?project={school.project.pk}")
    assert "not judged" not in hidden
