"""Class lists from files as the teacher meets them: choose, look, take; the same file twice."""

import io
import re

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.models import Enrolment, Section, Student
from tests.factories import make_section, make_student
from tests.people.test_oneroster import CLASSES, ENROLLMENTS, USERS, manifest, package, user, zipped


@pytest.fixture
def as_teacher(client, school):
    client.force_login(school.teacher)
    return client


def page_of(school):
    return f"/sections/{school.section.pk}/students/in/"


def choose(client, path, data, name="list.csv"):
    data = data if isinstance(data, bytes) else data.encode()
    return client.post(path, {"file": SimpleUploadedFile(name, data)})


def form_of(answer):
    """What the page's form sends back when nothing is touched."""
    context = answer.context
    forms = [context["layout_form"], context["answers"]]
    data = {field.html_name: field.value() or "" for form in forms for field in form}
    data["has_head"] = "on" if context["layout_form"]["has_head"].value() else ""
    return data | {"table": context["table"].as_text(), "seal": context["look"].seal}


def take(client, path, answer, **changes):
    return client.post(path, form_of(answer) | changes | {"keep": "1"})


def names(section):
    return sorted(section.students.filter(enrolments__left_on=None).values_list("name", flat=True))


def state():
    return (
        list(Student.objects.order_by("pk").values()),
        list(Enrolment.objects.order_by("pk").values()),
    )


LIST = "Apellido,Nombre,Matrícula\nOkafor,Nia,20418\nO.,Amara,\nN.,Bao,\n"


def test_a_list_is_looked_at_and_then_taken(as_teacher, school):
    path = page_of(school)
    answer = choose(as_teacher, path, LIST)
    assert [str(p.case) for p in answer.context["look"].proposals] == [
        "new",
        "already in this section",
        "already in this section",
    ]
    assert names(school.section) == ["Amara O.", "Bao N."]
    assert take(as_teacher, path, answer).url == f"/sections/{school.section.pk}/students/"
    assert names(school.section) == ["Amara O.", "Bao N.", "Nia Okafor"]
    assert Student.objects.get(name="Nia Okafor").school_id == "20418"


def test_the_same_file_twice_changes_nothing(as_teacher, school):
    path = page_of(school)
    take(as_teacher, path, choose(as_teacher, path, LIST))
    before = state()
    answer = choose(as_teacher, path, LIST)
    assert answer.context["look"].is_quiet
    take(as_teacher, path, answer)
    assert state() == before


def test_a_spreadsheet_does_the_same(as_teacher, school):
    book = openpyxl.Workbook()
    for line in LIST.splitlines():
        book.active.append(line.split(","))
    out = io.BytesIO()
    book.save(out)
    answer = choose(as_teacher, page_of(school), out.getvalue(), "list.xlsx")
    take(as_teacher, page_of(school), answer)
    assert names(school.section) == ["Amara O.", "Bao N.", "Nia Okafor"]


def test_columns_that_were_guessed_wrong_are_said_otherwise(as_teacher, school):
    path = page_of(school)
    answer = choose(as_teacher, path, "Klassenbuch,ID\nQuinn F.,17\n")
    assert answer.context["layout_form"]["column-0"].value() == ""
    assert answer.context["problems"][0].sentence.startswith("No column holds the name.")
    said = {
        "table": answer.context["table"].as_text(),
        "has_head": "on",
        "column-0": "name",
        "column-1": "number",
    }
    answer = as_teacher.post(path, said)
    take(as_teacher, path, answer)
    assert Student.objects.get(name="Quinn F.").school_id == "17"


def test_near_doubles_are_asked_about_here_and_in_own_sections(as_teacher, school):
    other = make_section(school.teacher, name="Bell 6")
    make_student(other, "Sanna Zielinska")
    text = "Name\nAmara O.\nBao N.\nSana Zielinska\nAmara Oo.\n"
    answer = choose(as_teacher, page_of(school), text)
    told = {p.line.name: (str(p.case), p.like) for p in answer.context["look"].proposals}
    assert told["Sana Zielinska"] == ("much like another name", "Sanna Zielinska")
    assert told["Amara Oo."] == ("much like another name", "Amara O.")


def test_a_colleagues_students_are_not_told_by_likeness(as_teacher, school):
    make_student(Section.objects.get(name="Bell 5"), "Sanna Zielinska", school_id="7")
    text = "Name,ID\nAmara O.,\nBao N.,\nSana Zielinska,\nSomebody Else,7\n"
    answer = choose(as_teacher, page_of(school), text)
    told = {p.line.name: str(p.case) for p in answer.context["look"].proposals}
    assert told["Sana Zielinska"] == "new"
    assert told["Somebody Else"] == "school number of somebody else"
    assert "Sanna" not in answer.content.decode()


def test_a_student_is_moved_from_another_own_section(as_teacher, school):
    other = make_section(school.teacher, name="Bell 6")
    student = make_student(other, "Wren Y.")
    path = page_of(school)
    answer = choose(as_teacher, path, "Name\nAmara O.\nBao N.\nWren Y.\n")
    take(as_teacher, path, answer, **{"line-4": "move"})
    assert names(school.section) == ["Amara O.", "Bao N.", "Wren Y."]
    assert names(other) == []
    assert Enrolment.objects.get(student=student, section=other).left_on is not None


def test_who_is_not_on_the_list_leaves_when_told_and_stays_otherwise(as_teacher, school):
    path = page_of(school)
    answer = choose(as_teacher, path, "Name\nAmara O.\n")
    assert answer.context["look"].absent == [school.bao]
    take(as_teacher, path, answer)
    assert names(school.section) == ["Amara O.", "Bao N."]
    answer = choose(as_teacher, path, "Name\nAmara O.\n")
    take(as_teacher, path, answer, **{f"absent-{school.bao.pk}": "has left"})
    assert names(school.section) == ["Amara O."]
    assert school.bao.pieces.count() == 1


def test_a_look_that_went_stale_is_shown_anew(as_teacher, school):
    path = page_of(school)
    answer = choose(as_teacher, path, LIST)
    make_student(school.section, "Nia Okafor", school_id="20418")
    again = take(as_teacher, path, answer)
    assert again.status_code == 409
    assert "Nothing was taken yet" in again.content.decode()
    assert Student.objects.filter(name="Nia Okafor").count() == 1


def test_all_or_nothing(as_teacher, school):
    """The second line clashes at the very moment of writing; the first is not kept either."""
    path = page_of(school)
    answer = choose(as_teacher, path, "Name\nAmara O.\nBao N.\nNew One\n")
    refused = take(as_teacher, path, answer, **{"line-4": "burn"})
    assert refused.status_code == 422
    assert names(school.section) == ["Amara O.", "Bao N."]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The file is empty. Choose another."),
        (b"\xd0\xcf\x11\xe0", "password or of an old kind"),
        (b"PK\x03\x04", "damaged or was cut off"),
        (b"Name\n" + b"A\n" * 201, "up to 200 are taken at once"),
    ],
)
def test_a_bad_file_is_told(as_teacher, school, data, said):
    answer = choose(as_teacher, page_of(school), data)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_a_long_list_costs_no_more_queries(as_teacher, school):
    def cost(count):
        text = "Name\n" + "\n".join(f"Person {chr(65 + n) * 9}" for n in range(count))
        with CaptureQueriesContext(connection) as seen:
            choose(as_teacher, page_of(school), text)
        return len(seen)

    cost(1)
    assert cost(2) == cost(20)


REGISTER = "/roster/oneroster/"


def send(client, files):
    return client.post(
        REGISTER, {"files": [SimpleUploadedFile(name, data) for name, data in files.items()]}
    )


def look_over(client, answer, **classes):
    text = answer.context["package"].as_text()
    return client.post(REGISTER, {"package": text} | classes)


def take_classes(client, answer, classes, **changes):
    data = {"package": answer.context["package"].as_text(), "seal": answer.context["seal"]}
    for _each, _look, form in answer.context["looks"]:
        data |= {field.html_name: field.value() for field in form}
    return client.post(REGISTER, data | classes | changes | {"keep": "1"})


def bring_in(client, files, classes, **changes):
    answer = look_over(client, send(client, files), **classes)
    return take_classes(client, answer, classes, **changes)


def test_classes_of_a_register_go_where_they_are_put(as_teacher, school):
    other = make_section(school.teacher, name="Bell 6")
    classes = {"class-0": str(school.section.pk), "class-1": str(other.pk)}
    answer = send(as_teacher, {"all.zip": zipped(package())})
    assert [field.value() for _each, field in answer.context["classes"].rows()] == [
        str(school.section.pk),  # of one name
        "",
    ]
    assert bring_in(as_teacher, package(), classes).url == "/"
    assert names(school.section) == ["Amara O.", "Amara Okafor", "Bao N.", "Bao Nguyễn"]
    assert names(other) == ["Amara Okafor"]  # one person, in both
    amara = Student.objects.get(sourced_id="s1")
    assert (amara.name, amara.school_id) == ("Amara Okafor", "20418")
    school.section.refresh_from_db()
    assert school.section.sourced_id == "c1"


def test_the_same_register_twice_changes_nothing(as_teacher, school):
    classes = {"class-0": str(school.section.pk)}
    bring_in(as_teacher, package(), classes)
    before = state()
    bring_in(as_teacher, package(), classes)
    assert state() == before


def test_a_student_known_by_number_gets_the_registers_key(as_teacher, school):
    school.amara.name, school.amara.school_id = "Amara Okafor", "20418"
    school.amara.save()
    bring_in(as_teacher, package(), {"class-0": str(school.section.pk)})
    school.amara.refresh_from_db()
    assert school.amara.sourced_id == "s1"


def test_a_new_name_under_the_same_key_is_the_same_person(as_teacher, school):
    classes = {"class-0": str(school.section.pk)}
    bring_in(as_teacher, package(), classes)
    renamed = "\n".join(
        [
            USERS,
            user("s1", "Amara", "Diallo"),
            user("s2", "Bao", "Nguyễn"),
            user("t1", "T", "T", role="teacher"),
        ]
    )
    before = state()
    bring_in(as_teacher, package(users=renamed), classes)
    assert state() == before


def test_another_teachers_section_cannot_be_chosen(as_teacher, school):
    theirs = Section.objects.get(name="Bell 5")
    answer = look_over(as_teacher, send(as_teacher, package()), **{"class-0": str(theirs.pk)})
    assert answer.status_code == 422
    assert names(theirs) == []


def test_two_classes_into_one_section_are_refused(as_teacher, school):
    both = dict.fromkeys(("class-0", "class-1"), str(school.section.pk))
    answer = look_over(as_teacher, send(as_teacher, package()), **both)
    assert answer.status_code == 422
    assert "Two classes go into this section" in answer.content.decode()


@pytest.mark.parametrize(
    ("files", "said"),
    [
        (package(manifest=manifest("1.2")), "OneRoster 1.2"),
        (package(manifest=None), "manifest.csv is missing"),
        (package(enrollments=f"{ENROLLMENTS}\ne1,,,c9,o,s1,student,,,"), "c9 is not in classes"),
        (package(classes=CLASSES.replace("title", "Title")), "The heading title is missing"),
    ],
)
def test_files_that_fall_short_are_told(as_teacher, school, files, said):
    answer = send(as_teacher, files)
    assert answer.status_code == 422
    assert said in re.sub(r"\s+", " ", answer.content.decode())
