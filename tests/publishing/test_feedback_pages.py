"""What is told of a piece, and to whom: nobody reads what is not published, or not theirs."""

import io

import pytest
from django.core.files.base import ContentFile
from PIL import Image
from pypdf import PdfReader

from rubrics.judging.marking import excuse, set_level, set_words
from rubrics.models import Assessment
from rubrics.publishing.publish import publish
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.models import Photo, Reading
from tests.factories import read_rim, read_wall
from tests.pages import page_text

PEOPLE = ("teacher", "colleague", "head", "student", "other_student", "outsider")


@pytest.fixture
def graded(school):
    """The first piece measured, judged on every criterion, with words, not published."""
    rubric = ensure_starter_rubric()
    choose_rubric(school.project, rubric)
    school.c = {each.letter: each for each in rubric.criteria.all()}
    read_rim(school.piece, 95, 95.5, 96, 96.9, 96.5, 96, 95.5, 95.2)
    read_wall(school.piece, 6.0, 7.5, 6.0, 6.0)
    give = {"by": school.teacher, "expected_version": 99}
    for criterion in school.c.values():
        set_level(school.piece, criterion, 3, **give)
    set_level(school.piece, school.c["D"], 3, reason="seen", reason_text="It stands calm.", **give)
    set_words(
        school.piece,
        school.teacher,
        words="A calm, even cup.",
        next_step="Bevel both ends alike.",
        seen_words="",
        seen_next_step="",
    )
    return school


@pytest.fixture
def told(graded):
    """The same, published."""
    publish(graded.project, graded.teacher)
    return graded


def answers(client, school, address: str) -> dict:
    found = {}
    for name in PEOPLE:
        client.force_login(getattr(school, name))
        found[name] = client.get(address).status_code
    return found


def text_of(client, user, address: str) -> str:
    client.force_login(user)
    return page_text(client.get(address))


def test_nobody_but_the_teacher_reads_a_draft(client, graded):
    address = f"/pieces/{graded.piece.pk}/feedback/"
    for name in ("student", "head"):
        text = text_of(client, getattr(graded, name), address)
        assert "A calm, even cup." not in text
        assert "not yet" in text
    text = text_of(client, graded.teacher, address)
    assert "A calm, even cup." in text
    assert "does not see this yet" in text
    assert answers(client, graded, f"/pieces/{graded.piece.pk}/sum/") == {
        "teacher": 200,
        "colleague": 404,
        "head": 404,
        "student": 404,
        "other_student": 404,
        "outsider": 404,
    }


@pytest.mark.parametrize("page", ["feedback/", "feedback.pdf", "sum/"])
def test_what_is_published_is_read_by_its_maker_the_teacher_and_the_head(client, told, page):
    assert answers(client, told, f"/pieces/{told.piece.pk}/{page}") == {
        "teacher": 200,
        "colleague": 404,
        "head": 200,
        "student": 200,
        "other_student": 404,
        "outsider": 404,
    }


@pytest.mark.parametrize("page", ["changes/", "checks/", "checks/rim_level/row/"])
def test_the_record_and_the_live_checks_are_the_grown_ups(client, told, page):
    assert answers(client, told, f"/pieces/{told.piece.pk}/{page}") == {
        "teacher": 200,
        "colleague": 404,
        "head": 200,
        "student": 404,
        "other_student": 404,
        "outsider": 404,
    }


def test_the_page_says_strength_step_levels_and_reasons_in_words(client, told):
    text = text_of(client, told.student, f"/pieces/{told.piece.pk}/feedback/")
    for said in (
        "A calm, even cup.",
        "Bevel both ends alike.",
        "The wall stays between 6.0 and 7.5\u00a0mm all the way round.",
        "level 3 of 4",
        "It stands calm.",
        "85 %",
    ):
        assert said in text
    assert text.count("<svg xmlns") == 2
    assert "PRIVATE-NOTE" not in text


def test_a_step_can_be_taken_up_once_it_is_sent_and_not_before(client, graded):
    address = f"/pieces/{graded.piece.pk}/feedback/"
    draft = text_of(client, graded.teacher, address)
    assert "One next step" in draft
    assert "Not answered yet." not in draft
    publish(graded.project, graded.teacher)
    assert "I take this up" in text_of(client, graded.student, address)
    assert "Not answered yet." in text_of(client, graded.teacher, address)


def test_the_page_shows_what_was_published_and_not_what_is_measured_since(client, told):
    address = f"/pieces/{told.piece.pk}/feedback/"
    client.force_login(told.student)
    before = client.get(address).context["shown"]
    Reading.objects.update(value=9)
    told.project.title = "Renamed"
    told.project.save()
    assert client.get(address).context["shown"] == before


def test_a_student_learns_that_a_level_changed_but_not_the_why(client, told):
    late = {"by": told.teacher, "expected_version": 99, "why": "WHY-FOR-THE-RECORD"}
    set_level(told.piece, told.c["A"], 4, **late)
    text = text_of(client, told.student, f"/pieces/{told.piece.pk}/feedback/")
    assert "A Intent, revision and critique, from level 3 to level 4" in text
    assert "WHY-FOR-THE-RECORD" not in text
    record = text_of(client, told.head, f"/pieces/{told.piece.pk}/changes/")
    assert "WHY-FOR-THE-RECORD" in record
    assert "Thea Teach" in record


def test_an_accommodation_stays_between_teacher_and_student(client, graded):
    excuse(
        graded.piece,
        graded.c["G"],
        graded.teacher,
        expected_version=99,
        reason="access",
        reason_text="HELPERS-HANDS",
    )
    publish(graded.project, graded.teacher)
    for name in ("student", "head"):
        text = text_of(client, getattr(graded, name), f"/pieces/{graded.piece.pk}/feedback/")
        assert "HELPERS-HANDS" not in text
        assert "accommodation" not in text
        assert "of the 95 parts of 100 that count" in text


def test_an_accommodations_reason_is_on_the_teachers_record_and_not_on_the_heads(client, graded):
    why = {"reason": "access", "reason_text": "HELPERS-HANDS"}
    excuse(graded.piece, graded.c["G"], graded.teacher, expected_version=99, **why)
    excuse(
        graded.piece,
        graded.c["F"],
        graded.teacher,
        expected_version=99,
        reason="kiln",
        reason_text="A NEIGHBOUR BURST",
    )
    publish(graded.project, graded.teacher)
    address = f"/pieces/{graded.piece.pk}/changes/"
    theirs, heads = (text_of(client, user, address) for user in (graded.teacher, graded.head))
    assert "HELPERS-HANDS" in theirs
    assert "agreed accommodation" in theirs
    assert "HELPERS-HANDS" not in heads
    assert "accommodation" not in heads
    # Any other reason is the head's to read as well.
    assert "A NEIGHBOUR BURST" in theirs
    assert "A NEIGHBOUR BURST" in heads


def test_the_sum_is_laid_out_line_by_line(client, told):
    late = {"by": told.teacher, "expected_version": 99, "why": "Looked again."}
    set_level(told.piece, told.c["A"], 4, **late)
    excuse(told.piece, told.c["G"], reason="kiln", **late)
    client.force_login(told.student)
    page = client.get(f"/pieces/{told.piece.pk}/sum/")
    # By hand: 15 × 100 + (10 + 15 + 10 + 10 + 10 + 15 + 10) × 85 = 8300, of 95 × 100: 87.368 %.
    assert (page.context["earned"], page.context["possible"]) == ("8300", "9500")
    text = page_text(page)
    assert "100 × 8300 / 9500 = 87.368" in text
    assert "<strong>87 %</strong>, of the 95 parts of 100 that count" in text
    assert "gives <strong>B</strong> from 80 %" in text
    assert page.context["shown"]["percent"] == "87"


def test_the_paper_is_one_page_with_the_same_words(client, told):
    data = io.BytesIO()
    Image.new("RGB", (60, 40), "#a86b4a").save(data, "JPEG")
    photo = Photo(
        section=told.section,
        piece=told.piece,
        stage="glazed",
        width=60,
        height=40,
        sha256="x",
        taken_at=None,
    )
    photo.middle.save("cup.jpg", ContentFile(data.getvalue()))
    Assessment.objects.update(shown=Assessment.objects.get().shown | {"photos": [photo.pk]})
    client.force_login(told.student)
    answer = client.get(f"/pieces/{told.piece.pk}/feedback.pdf")
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="K3-01-feedback.pdf"'
    document = PdfReader(io.BytesIO(answer.content))
    assert len(document.pages) == 1
    words = " ".join(document.pages[0].extract_text().split())
    assert "Amara O." in words
    assert "Bevel both ends alike." in words


def test_a_photo_whose_file_is_gone_does_not_stop_the_paper(client, told):
    photo = Photo.objects.create(
        section=told.section,
        piece=told.piece,
        width=60,
        height=40,
        sha256="y",
        middle="photos/gone.jpg",
    )
    Assessment.objects.update(shown=Assessment.objects.get().shown | {"photos": [photo.pk]})
    client.force_login(told.student)
    answer = client.get(f"/pieces/{told.piece.pk}/feedback.pdf")
    assert answer.content.startswith(b"%PDF")


def test_the_paper_of_a_draft_sends_the_teacher_back_with_a_word(client, graded):
    client.force_login(graded.teacher)
    answer = client.get(f"/pieces/{graded.piece.pk}/feedback.pdf", follow=True)
    assert "is not published yet; publish it, then print it." in page_text(answer)


def test_without_a_rubric_the_teacher_is_sent_to_choose_one(client, school):
    client.force_login(school.teacher)
    answer = client.get(f"/pieces/{school.piece.pk}/feedback/")
    assert (answer.status_code, answer.url) == (302, f"/projects/{school.project.pk}/rubric/")
    client.force_login(school.student)
    assert "not yet" in page_text(client.get(f"/pieces/{school.piece.pk}/feedback/"))
