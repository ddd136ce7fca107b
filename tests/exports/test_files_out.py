"""Results, rubrics and records out, and a student removed, as the people meet them."""

import io
import json
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from rubrics.models import Rubric
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import content_of, copy_rubric, make_rubric
from studio.models import Enrolment, Section, Student


@pytest.fixture
def as_teacher(client, school):
    client.force_login(school.teacher)
    return client


def test_the_results_page_tells_states(as_teacher, school):
    page = as_teacher.get(f"/sections/{school.section.pk}/results/")
    text = page.content.decode()
    assert "0 results so far" in text
    assert text.count("not submitted") == 2


def test_files_come_with_a_name_and_are_not_kept_on_the_way(as_teacher, school):
    start = f"/sections/{school.section.pk}/results"
    answers = {
        kind: as_teacher.get(f"{start}/{kind}")
        for kind in ("oneroster.zip", "grades.csv", "grades.xlsx", "grades.pdf")
    }
    assert answers.pop("grades.pdf").status_code == 404
    assert {kind: answer["Content-Disposition"] for kind, answer in answers.items()} == {
        "oneroster.zip": 'attachment; filename="bell-4-oneroster.zip"',
        "grades.csv": 'attachment; filename="bell-4-grades.csv"',
        "grades.xlsx": 'attachment; filename="bell-4-grades.xlsx"',
    }
    assert {answer["Cache-Control"] for answer in answers.values()} == {"no-store"}
    assert zipfile.is_zipfile(io.BytesIO(answers["oneroster.zip"].content))


def test_a_key_too_long_is_told_on_the_page(as_teacher, school):
    long = {"period": "x" * 300}
    answer = as_teacher.get(f"/sections/{school.section.pk}/results/oneroster.zip", long)
    assert answer.status_code == 422
    assert "at most 255" in answer.content.decode()


def test_a_rubric_goes_out_and_comes_in_as_an_own_one(as_teacher, school):
    own = copy_rubric(ensure_starter_rubric(), school.teacher)
    out = as_teacher.get(f"/rubrics/{own.pk}/case.json")
    said = json.loads(out.content)
    assert said["CFRubrics"][0]["identifier"] == str(own.uid)
    assert said["CFRubrics"][0]["uri"] == f"http://testserver/rubrics/{own.pk}/"
    file = SimpleUploadedFile("a.json", out.content)
    look = as_teacher.post("/rubrics/case/", {"file": file})
    assert look.context["incoming"].problems == ()
    assert Rubric.objects.filter(owner=school.teacher).count() == 1
    taken = as_teacher.post("/rubrics/case/", {"text": look.context["text"], "keep": "1"})
    made = Rubric.objects.get(owner=school.teacher, name=f"{own.name} (2)")
    assert taken.url == f"/rubrics/{made.pk}/"
    assert content_of(made) == content_of(own)
    assert made.uid != own.uid


def test_a_rubric_that_cannot_be_taken_is_told_and_not_made(as_teacher, school):
    bad = {"CFRubrics": [{"title": "x", "CFRubricCriteria": [{"category": "Rim"}]}]}
    for data in ({"text": json.dumps(bad), "keep": "1"}, {"text": "{", "keep": "1"}):
        answer = as_teacher.post("/rubrics/case/", data)
        assert answer.status_code == 422
    assert not Rubric.objects.filter(owner=school.teacher).exists()


def test_another_teachers_rubric_does_not_go_out(as_teacher, school):
    theirs = make_rubric("Theirs", content_of(ensure_starter_rubric()), school.colleague)
    assert as_teacher.get(f"/rubrics/{theirs.pk}/case.json").status_code == 404


def test_the_record_is_sent_and_the_note_only_by_its_tick(as_teacher, school):
    path = f"/students/{school.amara.pk}/record/"
    assert 'name="with_note"' in as_teacher.get(path).content.decode()
    for data, holds in (({}, False), ({"with_note": "1"}, True)):
        answer = as_teacher.post(path, data)
        parcel = zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))
        assert ("PRIVATE-NOTE" in parcel.read("record.json").decode()) is holds
        assert "Amara" not in answer["Content-Disposition"]
    assert (
        'name="with_note"'
        not in as_teacher.get(f"/students/{school.bao.pk}/record/").content.decode()
    )


def test_a_student_goes_only_with_the_name_written_out(as_teacher, school):
    path = f"/students/{school.amara.pk}/remove/"
    assert as_teacher.get(path).context["goes"].login == "student"
    wrong = as_teacher.post(path, {"name": "amara"})
    assert wrong.status_code == 422
    assert "This is not the name of the student who would go" in wrong.content.decode()
    assert Student.objects.count() == 2
    assert as_teacher.post(path, {"name": "Amara O."}).url == "/"
    assert list(Student.objects.all()) == [school.bao]


def test_a_student_of_another_teacher_too_is_let_go_instead(as_teacher, school):
    theirs = Section.objects.get(name="Bell 5")
    Enrolment.objects.create(student=school.amara, section=theirs)
    path = f"/students/{school.amara.pk}/remove/"
    assert "Let the student leave your section instead" in as_teacher.get(path).content.decode()
    assert as_teacher.post(path, {"name": "Amara O."}).status_code == 422
    assert Student.objects.count() == 2
