"""Pages for families and the class summary, through their addresses."""

import io
import json

import pypdf
import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from rubrics.families import print_runs
from rubrics.families.portfolios import enrolled
from rubrics.models import Report
from studio.models import Enrolment, Section, Student
from tests.world import make_world

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return make_world()


@pytest.fixture
def teacher(world):
    client = Client()
    client.force_login(world.people["teacher"])
    return client


def at(world, name, **more):
    keys = {"section_id": world.ids["section_id"]} | more
    return reverse(name, kwargs=keys)


def student_page(world, name="report_preview", **more):
    return at(world, name, student_id=world.ids["student_id"], **more)


WORDS = {
    "seen": 0,
    "family_language": "es",
    "strength": "You kept going.",
    "strength_too": "",
    "next_step": "Roll on both sticks.",
    "student_words": "I liked the handle.",
    "words": "A fine term’s work.",
}


def text_of(answer) -> str:
    data = b"".join(answer.streaming_content) if answer.streaming else answer.content
    reader = pypdf.PdfReader(io.BytesIO(data))
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_words_are_kept_and_printed(world, teacher):
    answer = teacher.post(student_page(world), WORDS)
    assert answer.status_code == 302
    printed = text_of(teacher.get(student_page(world, "report_pdf")))
    for said in ("You kept going.", "Roll on both sticks.", "I liked the handle.", "A fine term’s"):
        assert said in printed
    assert "Próximo paso" in printed
    shown = teacher.get(student_page(world)).content.decode()
    assert "You kept going." in shown
    assert student_page(world, "report_picture", sheet=1) in shown


def test_a_second_window_overwrites_nothing(world, teacher):
    teacher.post(student_page(world), WORDS)
    answer = teacher.post(student_page(world), WORDS | {"words": "Other words."})
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "in another window" in page
    assert "Other words." in page
    assert Report.objects.get().words == WORDS["words"]


def test_words_that_are_too_long_stay_in_the_form(world, teacher):
    answer = teacher.post(student_page(world), WORDS | {"next_step": "x" * 301})
    assert "x" * 301 in answer.content.decode()
    assert not Report.objects.exists()


def test_the_preview_is_a_picture_of_the_sheet(world, teacher):
    answer = teacher.get(student_page(world, "report_picture", sheet=1))
    assert answer["Content-Type"] == "image/png"
    assert answer.content.startswith(b"\x89PNG")
    assert teacher.get(student_page(world, "report_picture", sheet=9)).status_code == 404


def test_a_private_note_is_never_printed(world, teacher):
    Enrolment.objects.update(note="needs a scribe")
    assert "scribe" not in text_of(teacher.get(student_page(world, "report_pdf")))


def test_a_student_without_anything_published_has_no_page(world, teacher):
    other = Student.objects.exclude(pk=world.ids["student_id"]).get(name="Bao N.")
    answer = teacher.get(at(world, "report_preview", student_id=other.pk))
    assert "Nothing of this student is published yet" in answer.content.decode()
    assert teacher.get(at(world, "report_pdf", student_id=other.pk)).status_code == 404


def test_a_whole_section_is_printed_in_chunks(world, teacher):
    run = json.loads(teacher.post(at(world, "report_run"), {"order": "name", "more": "on"}).content)
    assert run["students"] == 1
    assert teacher.get(run["joined"]).status_code == 404
    for chunk in run["chunks"]:
        assert json.loads(teacher.post(chunk).content) == {"done": 1}
    answer = teacher.get(run["joined"])
    assert answer["Content-Type"] == "application/pdf"
    assert "Amara O." in text_of(answer)


def test_a_cancelled_printing_leaves_nothing(world, teacher):
    run = json.loads(teacher.post(at(world, "report_run"), {"order": "name"}).content)
    teacher.post(run["chunks"][0])
    folder = settings.MEDIA_ROOT / "reports" / run["stop"].split("/")[-3]
    assert folder.exists()
    teacher.post(run["stop"])
    assert not folder.exists()
    assert teacher.post(run["chunks"][0]).status_code == 404
    assert teacher.get(run["joined"]).status_code == 404


def test_a_printing_is_gone_after_an_hour(world, teacher, monkeypatch):
    run = json.loads(teacher.post(at(world, "report_run"), {"order": "name"}).content)
    teacher.post(run["chunks"][0])
    folder = settings.MEDIA_ROOT / "reports" / run["stop"].split("/")[-3]
    assert teacher.get(run["joined"]).status_code == 200
    made = folder.stat().st_mtime
    monkeypatch.setattr(print_runs.time, "time", lambda: made + 3599)
    assert teacher.get(run["joined"]).status_code == 200
    monkeypatch.setattr(print_runs.time, "time", lambda: folder_made + 3601)
    folder_made = folder.stat().st_mtime
    assert teacher.get(run["joined"]).status_code == 404
    assert not folder.exists()


def test_a_removed_student_leaves_no_printing_behind(world, teacher):
    run = json.loads(teacher.post(at(world, "report_run"), {"order": "name"}).content)
    folder = settings.MEDIA_ROOT / "reports" / run["stop"].split("/")[-3]
    print_runs.forget(world.ids["student_id"] + 1)
    assert folder.exists()
    Student.objects.get(pk=world.ids["student_id"]).delete()
    assert not folder.exists()


def test_another_teacher_of_the_section_sees_no_printing_of_mine(world, teacher):
    run = json.loads(teacher.post(at(world, "report_run"), {"order": "name"}).content)
    colleague = world.people["colleague"]
    section = Section.objects.get(pk=world.ids["section_id"])
    section.memberships.create(user=colleague, role="teacher")
    other = Client()
    other.force_login(colleague)
    assert other.post(run["chunks"][0]).status_code == 404


def test_conference_times_decide_the_order(world, teacher):
    section = Section.objects.get(pk=world.ids["section_id"])
    amara, bao, *_ = students = enrolled(section)
    times = {f"time-{each.pk}": "" for each in students}
    times |= {f"language-{each.pk}": "en" for each in students}
    times |= {f"time-{amara.pk}": "17:40", f"language-{amara.pk}": "es"}
    assert teacher.post(at(world, "report_section"), times).status_code == 302
    assert f"{Report.objects.get(student=amara).conference_at:%H:%M}" == "17:40"
    assert Student.objects.get(pk=amara.pk).family_language == "es"
    wrong = teacher.post(at(world, "report_section"), times | {f"time-{bao.pk}": "soon"})
    assert "Write a time such as 17:40." in wrong.content.decode()
    printed = teacher.get(at(world, "report_all"), {"order": "time", "paper": "a4"})
    assert "Amara O." in text_of(printed)


def test_a_head_reads_counts_and_no_name(world):
    head = Client()
    head.force_login(world.people["head"])
    page = head.get(at(world, "class_summary")).content.decode()
    assert "Levels by criterion, project 3" in page
    printed = text_of(head.get(at(world, "class_summary_pdf")))
    assert "4 pieces, 1 judged, 1 published" in printed
    for text in (page, printed):
        assert "Amara" not in text
        assert "K3-01" not in text


def test_the_list_costs_the_same_for_one_and_for_many(
    world, teacher, django_assert_max_num_queries
):
    section = Section.objects.get(pk=world.ids["section_id"])
    for place in range(8):
        student = Student.objects.create(name=f"Student {place}")
        section.enrolments.create(student=student)
    with django_assert_max_num_queries(12):
        teacher.get(at(world, "report_section"))
    with django_assert_max_num_queries(16):
        teacher.get(at(world, "report_all"), {"order": "code"})
