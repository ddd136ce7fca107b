"""Sections, class lists, students and their logins, as a teacher meets them."""

import io
import re

import pytest
from pypdf import PdfReader

from studio.models import Enrolment, PlaceRequest, Section, Student
from studio.people import sign_in_codes
from tests.factories import make_piece, make_project, make_section, make_student
from tests.pages import page_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_teacher(client, school):
    client.force_login(school.teacher)
    return client


def text(response):
    return response.content.decode()


def test_a_teacher_opens_a_section_and_is_led_to_its_class_list(as_teacher, school):
    answer = as_teacher.post("/sections/new/", {"name": "Bell 9", "term": "", "unit": "in"})
    section = Section.objects.get(name="Bell 9")
    assert answer.url == f"/sections/{section.pk}/students/"
    assert section.unit == "in"
    assert [m.user for m in section.memberships.all()] == [school.teacher]


def test_a_class_list_offers_what_follows_it(as_teacher, school):
    section = make_section(school.teacher, name="Bell 9")
    path = f"/sections/{section.pk}/students/"
    assert "Next: " not in page_text(as_teacher.get(path))
    zoe = make_student(section, "Zoe Q.")
    assert "Next: start a project" in page_text(as_teacher.get(path))
    project = make_project(section, "Tumbler")
    assert "Next: begin the pieces of Tumbler" in page_text(as_teacher.get(path))
    make_piece(project, zoe, "Z-1")
    assert "Next: " not in page_text(as_teacher.get(path))


def test_a_refused_section_keeps_what_was_entered(as_teacher):
    page = text(as_teacher.post("/sections/new/", {"name": "", "term": "Autumn", "unit": "in"}))
    assert "Give the section a name, such as Bell 4." in page
    assert 'value="Autumn"' in page
    assert re.search(r'value="in"[^>]*checked', page)
    assert Section.objects.filter(term="Autumn").count() == 0


def test_a_section_is_put_away_and_brought_back(as_teacher, school):
    path = f"/sections/{school.section.pk}/archive/"
    as_teacher.post(path)
    today = as_teacher.get("/")
    assert [section.pk for section in today.context["archived"]] == [school.section.pk]
    assert today.context["taught"] == []
    as_teacher.post(path)
    assert [each.section.pk for each in as_teacher.get("/").context["taught"]] == [
        school.section.pk
    ]


def scale(*rows):
    data = {"bands-TOTAL_FORMS": len(rows), "bands-INITIAL_FORMS": 0}
    for n, (label, edge) in enumerate(rows):
        data |= {f"bands-{n}-label": label, f"bands-{n}-from_percent": edge}
    return data


def test_a_grade_scale_is_replaced(as_teacher, school):
    path = f"/sections/{school.section.pk}/grades/"
    as_teacher.post(path, scale(("Pass", "49.5"), ("Not yet", "0"), ("", "")))
    assert [(b.label, float(b.from_percent)) for b in school.section.grade_bands.all()] == [
        ("Pass", 49.5),
        ("Not yet", 0.0),
    ]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([("A", "90"), ("B", "10")], "The last grade begins at 10 %"),
        ([("A", "0"), ("B", "50")], "should fall from the top row down"),
        ([("A", "50"), ("a", "0")], "One grade stands twice"),
        ([("A", "50"), ("B", "50"), ("C", "0")], "Two grades begin at the same percentage"),
        ([("A", "120"), ("B", "0")], "between 0 and 100"),
        ([("A", "ninety"), ("B", "0")], "Enter a number"),
        ([("A", ""), ("B", "0")], "from which percentage"),
        ([("", "")], "at least one grade"),
    ],
)
def test_a_scale_that_cannot_stand_is_refused_whole(as_teacher, school, rows, said):
    before = list(school.section.grade_bands.values_list("label", "from_percent"))
    page = text(as_teacher.post(f"/sections/{school.section.pk}/grades/", scale(*rows)))
    assert said in page
    for label, edge in rows:
        assert f'value="{label}"' in page or not label
        assert f'value="{edge}"' in page or not edge
    assert list(school.section.grade_bands.values_list("label", "from_percent")) == before


def test_a_row_ticked_for_removal_is_gone(as_teacher, school):
    data = scale(("A", "50"), ("B", "30"), ("C", "0")) | {"bands-1-DELETE": "on"}
    as_teacher.post(f"/sections/{school.section.pk}/grades/", data)
    assert [band.label for band in school.section.grade_bands.all()] == ["A", "C"]


def test_a_section_is_shared_with_a_head_and_unshared(as_teacher, client, school):
    path = f"/sections/{school.section.pk}/people/"
    refused = text(as_teacher.post(path, {"share": "1", "username": "nobody-here"}))
    assert "There is no teacher or head with the user name" in refused
    as_teacher.post(path, {"share": "1", "username": "outsider"})
    member = school.section.memberships.get(user=school.outsider)
    assert member.role == "head"
    as_teacher.post(path, {"unshare": str(member.pk)})
    assert not school.section.memberships.filter(user=school.outsider).exists()
    assert as_teacher.post(path, {"unshare": "x; drop"}).status_code == 302
    assert school.section.memberships.filter(user=school.teacher).exists()


LIST = "Amara O.\nCamila R., 20403\nCamila R\nZoe Q."


def test_a_pasted_list_is_looked_over_before_anybody_joins(as_teacher, school):
    path = f"/sections/{school.section.pk}/students/"
    page = as_teacher.post(path, {"names": LIST})
    assert school.section.students.count() == 2
    asked = page.context["answers"].asked()
    assert [(p.line.name, str(p.case)) for p, _ in asked] == [
        ("Amara O.", "already in this section"),
        ("Camila R", "twice in this list"),
    ]
    assert [p.line.name for p, _ in page.context["answers"].plain()] == ["Camila R.", "Zoe Q."]
    # What was pasted is still there to be mended.
    assert "Camila R., 20403" in text(page)


def test_what_was_decided_is_done(as_teacher, school):
    path = f"/sections/{school.section.pk}/students/"
    answers = {"line-1": "leave out", "line-2": "add", "line-3": "leave out", "line-4": "add"}
    answer = as_teacher.post(path, {"names": LIST, "keep": "1"} | answers)
    assert answer.url == path
    names = sorted(school.section.students.values_list("name", "school_id"))
    assert names == [("Amara O.", ""), ("Bao N.", ""), ("Camila R.", "20403"), ("Zoe Q.", "")]


def test_an_answer_that_was_not_offered_adds_nobody(as_teacher, school):
    path = f"/sections/{school.section.pk}/students/"
    page = as_teacher.post(path, {"names": "Zoe Q.", "keep": "1", "line-1": "join"})
    assert "Select a valid choice" in text(page)
    assert school.section.students.count() == 2


def test_a_list_that_cannot_be_read_stays_in_the_box(as_teacher, school):
    path = f"/sections/{school.section.pk}/students/"
    page = text(as_teacher.post(path, {"names": "Zoe Q.\n, 77"}))
    assert "Line 2 has no name before the comma" in page
    assert "Zoe Q.\n, 77</textarea>" in page


def test_a_student_of_another_own_section_is_the_same_person(as_teacher, school):
    other = make_section(school.teacher, name="Bell 8")
    page = as_teacher.post(f"/sections/{other.pk}/students/", {"names": "Amara O."})
    ((proposal, _),) = page.context["answers"].asked()
    assert (str(proposal.case), proposal.known.section) == ("known from another section", "Bell 4")
    as_teacher.post(
        f"/sections/{other.pk}/students/", {"names": "Amara O.", "keep": "1", "line-1": "join"}
    )
    assert school.amara in other.students.all()


def test_a_colleagues_student_is_known_by_number_and_told_without_a_name(as_teacher, school):
    bell5 = Section.objects.get(name="Bell 5")
    hidden = make_student(bell5, "Hidden Name", school_id="77")
    path = f"/sections/{school.section.pk}/students/"
    page = text(as_teacher.post(path, {"names": "Zoe Q., 77"}))
    assert "school number of somebody else" in page
    assert "Hidden Name" not in page
    page = text(as_teacher.post(path, {"names": "Hidden Name, 77"}))
    assert "another class of the house" in page
    as_teacher.post(path, {"names": "Hidden Name, 77", "keep": "1", "line-1": "join"})
    assert hidden not in school.section.students.all()
    assert PlaceRequest.objects.get().student == hidden


def test_leaving_and_coming_back(as_teacher, school):
    path = f"/sections/{school.section.pk}/students/{school.amara.pk}/leave/"
    as_teacher.post(path)
    page = as_teacher.get(f"/sections/{school.section.pk}/students/")
    assert [e.student for e in page.context["here"]] == [school.bao]
    assert [e.student for e in page.context["left"]] == [school.amara]
    assert school.piece in school.amara.pieces.all()
    as_teacher.post(path)
    assert Enrolment.objects.get(student=school.amara).left_on is None


def test_only_the_teacher_reads_the_private_note(client, school):
    path = f"/students/{school.amara.pk}/"
    seen = {}
    for who in ("teacher", "head"):
        client.force_login(getattr(school, who))
        seen[who] = text(client.get(path))
        assert "Amara O." in seen[who]
    assert "PRIVATE-NOTE" in seen["teacher"]
    assert "PRIVATE-NOTE" not in seen["head"]
    client.force_login(school.student)
    for page in ("/", f"/pieces/{school.piece.pk}/"):
        assert "PRIVATE-NOTE" not in text(client.get(page))


def test_a_students_record_changes_and_a_taken_number_is_told(as_teacher, school):
    school.bao.school_id = "77"
    school.bao.save()
    path = f"/students/{school.amara.pk}/"
    page = text(
        as_teacher.post(
            path, {"name": "New N.", "school_id": "77", f"note-{school.section.pk}": ""}
        )
    )
    assert "Another student has this school number." in page
    assert 'value="New N."' in page
    assert "<h1>Amara O.</h1>" in page
    as_teacher.post(path, {"name": "New N.", "school_id": "78", f"note-{school.section.pk}": ""})
    assert Student.objects.get(pk=school.amara.pk).name == "New N."


def test_a_login_is_given_with_a_code_that_is_shown_this_once(as_teacher, school):
    zoe = make_student(school.section, "Zoe Q.")
    path = f"/students/{zoe.pk}/login/"
    refused = text(as_teacher.post(path, {"username": "zoe q"}))
    assert "letters, figures and . + - _ only" in refused
    answer = as_teacher.post(path, {"username": "Zoe.Q"})
    code = answer.context["slip"].code
    assert code in text(answer)
    assert "no-store" in answer["Cache-Control"]
    zoe.refresh_from_db()
    assert sign_in_codes.find("zoe.q", code).user == zoe.login
    assert code not in text(as_teacher.get(f"/students/{zoe.pk}/"))
    as_teacher.post(path, {"close": "1"})
    assert sign_in_codes.find("zoe.q", code) is None


def test_a_whole_class_gets_its_codes_on_one_sheet(as_teacher, school):
    names = ("Zoe Q.", "Zoe R.", "Ana P.")
    made = [make_student(school.section, name) for name in names]
    left = make_student(school.section, "Gone G.")
    Enrolment.objects.filter(student=left).update(left_on="2030-01-01")
    assert "3 have no password yet." in text(
        as_teacher.get(f"/sections/{school.section.pk}/students/")
    )
    path = f"/sections/{school.section.pk}/codes-letter.pdf"
    answer = as_teacher.post(path)
    assert "no-store" in answer["Cache-Control"]
    printed = PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    codes = re.findall(r"\w{4}-\w{4}-\w{2}\b", printed)
    assert len(set(codes)) == len(names)
    assert "http://testserver/in/" in printed
    for student in made:
        student.refresh_from_db()
        assert student.name in printed
        username = student.login.username
        assert any(sign_in_codes.find(username, code) for code in codes)
        student.login.set_password("words of my own")
        student.login.save()
    left.refresh_from_db()
    assert left.login is None
    again = as_teacher.post(path, follow=True)
    assert "Every student here has a password already." in text(again)


def test_who_has_a_password_keeps_it_when_the_class_sheet_is_printed(as_teacher, school):
    make_student(school.section, "Zoe Q.")
    before = school.amara.login.password if school.amara.login else None
    as_teacher.post(f"/sections/{school.section.pk}/codes-a4.pdf")
    school.amara.refresh_from_db()
    if before:
        assert school.amara.login.password == before


@pytest.mark.parametrize("page", ["", "students/"])
def test_many_students_cost_no_more_queries_than_few(as_teacher, school, page, count_queries):
    path = f"/sections/{school.section.pk}/{page}"
    make_student(school.section, "Third T.")
    few = count_queries(as_teacher, path)
    for n in range(27):
        make_student(school.section, f"Student {n}")
    assert count_queries(as_teacher, path) == few


def test_many_pieces_cost_no_more_queries_than_few(as_teacher, school, count_queries):
    path = f"/sections/{school.section.pk}/"
    few = count_queries(as_teacher, path)
    for n in range(28):
        make_piece(school.project, school.amara, f"Z3-{n:02}")
    assert count_queries(as_teacher, path) == few
