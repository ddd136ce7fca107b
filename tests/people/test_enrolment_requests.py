"""No one where they don't belong: whose word a place takes, whose a note is, who reads."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from studio import access
from studio.models import Act, Enrolment, PlaceRequest, Student
from studio.people import act_log, enrolment_requests, sections
from studio.people.sections import Joining
from tests.factories import make_section, make_student, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def house(school):
    """The school, with Hana in the colleague's section Bell 5, and an own section of that name."""
    school.bell5 = school.colleague.membership_set.get().section
    login = make_user("hana.h")
    school.hana = make_student(school.bell5, "Hana H.", login=login, school_id="77", note="HERS")
    return school


@pytest.fixture
def as_teacher(client, house):
    client.force_login(house.teacher)
    return client


def ask_for_hana(client, house):
    path = f"/sections/{house.section.pk}/students/"
    data = {"names": "Hana H., 77", "keep": "1", "line-1": "join"}
    return client.post(path, data, follow=True).content.decode()


def log(section):
    return [(act.kind, act.by_name, act.student_id) for act in act_log.of_section(section)]


def may_reach(user, student):
    return student in access.students(user), student in access.taught_students(user)


def test_who_knows_name_and_number_gets_nothing_but_an_asking(as_teacher, house):
    page = ask_for_hana(as_teacher, house)
    assert "another teacher&#x27;s class now" in page
    assert may_reach(house.teacher, house.hana) == (False, False)
    for path in ("", "login/", "record/", "remove/"):
        assert as_teacher.post(f"/students/{house.hana.pk}/{path}").status_code == 404
    house.hana.login.refresh_from_db()
    assert house.hana.login.check_password("hana.h")
    # Both teachers read of it, the one who asks only by the name that was written.
    assert log(house.bell5) == [("asked", "Thea Teach (teacher)", house.hana.pk)]
    assert log(house.section) == [("asked", "Thea Teach (teacher)", None)]


def test_asking_twice_is_asking_once(as_teacher, house):
    ask_for_hana(as_teacher, house)
    ask_for_hana(as_teacher, house)
    assert PlaceRequest.objects.count() == 1
    assert len(log(house.bell5)) == 1


@pytest.mark.parametrize(
    ("word", "here", "there"),
    [("move", True, False), ("both", True, True), ("refuse", False, True)],
)
def test_the_other_teacher_is_told_on_the_first_page_and_answers(
    as_teacher, client, house, word, here, there
):
    ask_for_hana(as_teacher, house)
    client.force_login(house.colleague)
    page = client.get("/").content.decode()
    assert "Thea Teach asks to have" in page
    assert "Let go: leaves Bell 5" in page
    place = PlaceRequest.objects.get()
    client.post(reverse("place_answer", args=[place.pk]), {"answer": word})
    now = set(house.hana.enrolments.now().values_list("section", flat=True))
    wanted = {pk for pk, is_in in ((house.section.pk, here), (house.bell5.pk, there)) if is_in}
    assert now == wanted
    # A second answer, from a page that stayed open, does nothing.
    late = client.post(reverse("place_answer", args=[place.pk]), {"answer": "move"})
    assert late.status_code == 404
    assert set(house.hana.enrolments.now().values_list("section", flat=True)) == wanted
    assert may_reach(house.teacher, house.hana) == (here, here)
    client.force_login(house.teacher)
    told = client.get("/").content.decode()
    assert "Done by others with your students" in told
    assert ("enrolled" if here else "refused the asking for") in told


def test_only_the_student_s_teacher_answers(as_teacher, house):
    ask_for_hana(as_teacher, house)
    path = reverse("place_answer", args=[PlaceRequest.objects.get().pk])
    assert as_teacher.post(path, {"answer": "both"}).status_code == 404
    assert may_reach(house.teacher, house.hana) == (False, False)


def test_an_answer_that_is_none_changes_nothing(as_teacher, client, house):
    ask_for_hana(as_teacher, house)
    client.force_login(house.colleague)
    client.post(reverse("place_answer", args=[PlaceRequest.objects.get().pk]), {"answer": "x"})
    assert PlaceRequest.objects.filter(answered_at=None).count() == 1


def test_a_time_that_ended_gives_no_rights(client, house):
    enrolment_requests.leave(house.bell5, house.hana, by=house.colleague)
    enrolment_requests.join(house.section, house.hana, by=house.teacher)
    client.force_login(house.colleague)
    page = client.get(f"/students/{house.hana.pk}/")
    assert page.context["form"] is None
    assert "HERS" not in page.content.decode()
    for path in ("", "login/"):
        answer = client.post(f"/students/{house.hana.pk}/{path}", {"name": "X"})
        assert answer.status_code == 403
    for path in ("record/", "remove/"):
        assert client.get(f"/students/{house.hana.pk}/{path}").status_code == 403
    assert Student.objects.get(pk=house.hana.pk).name == "Hana H."


def test_who_had_a_student_does_not_simply_take_the_student_back(client, house):
    enrolment_requests.leave(house.bell5, house.hana, by=house.colleague)
    enrolment_requests.join(house.section, house.hana, by=house.teacher)
    client.force_login(house.colleague)
    client.post(f"/sections/{house.bell5.pk}/students/{house.hana.pk}/leave/")
    assert may_reach(house.colleague, house.hana) == (True, False)
    assert enrolment_requests.waiting_for(house.teacher)[0].request.student == house.hana


def test_whom_nobody_has_joins_at_once_and_the_former_teacher_reads_of_it(house):
    enrolment_requests.leave(house.bell5, house.hana, by=house.colleague)
    (joined, asked) = sections.enrol(house.section, [Joining(student=house.hana)], by=house.teacher)
    assert (joined, asked) == ([house.hana], [])
    assert ("joined", "Thea Teach (teacher)", house.hana.pk) in log(house.bell5)


def test_between_own_sections_nobody_is_asked(house):
    other = make_section(house.teacher, name="Bell 6")
    assert sections.enrol(other, [Joining(student=house.amara)], by=house.teacher).asked == []
    assert house.amara in other.students.all()


def test_where_no_teacher_is_left_nobody_is_asked(house):
    house.colleague.is_active = False
    house.colleague.save()
    assert not enrolment_requests.must_ask(house.hana, house.teacher)


def test_a_section_put_away_gives_no_rights_and_gets_none_when_it_comes_back(house):
    sections.archive(house.bell5, by=house.colleague)
    assert may_reach(house.colleague, house.hana) == (True, False)
    sections.enrol(house.section, [Joining(student=house.hana)], by=house.teacher)
    sections.bring_back(house.bell5, by=house.colleague)
    assert may_reach(house.colleague, house.hana) == (True, False)
    assert may_reach(house.teacher, house.hana) == (True, True)


def test_a_section_that_comes_back_is_told_where_its_students_are(house):
    sections.enrol(house.bell5, [Joining(student=house.amara)])
    sections.archive(house.section, by=house.teacher)
    sections.bring_back(house.section, by=house.teacher)
    assert "back" in [kind for kind, *_ in log(house.bell5)]


def test_the_private_note_belongs_to_the_section(client, house):
    sections.enrol(house.section, [Joining(student=house.hana)])
    path = f"/students/{house.hana.pk}/"
    client.force_login(house.teacher)
    page = client.get(path).content.decode()
    assert "HERS" not in page
    client.post(path, {"name": "Hana H.", "school_id": "77", f"note-{house.section.pk}": "MINE"})
    # A field for a section of somebody else is no field.
    client.post(path, {"name": "Hana H.", "school_id": "77", f"note-{house.bell5.pk}": "X"})
    assert Enrolment.objects.get(student=house.hana, section=house.bell5).note == "HERS"
    client.force_login(house.colleague)
    page = client.get(path).content.decode()
    assert "HERS" in page
    assert "MINE" not in page


def test_what_is_done_with_a_student_stands_in_every_log_but_no_secret(client, house):
    sections.enrol(house.section, [Joining(student=house.hana)])
    Act.objects.all().delete()
    client.force_login(house.colleague)
    path = f"/students/{house.hana.pk}/"
    note = {f"note-{house.bell5.pk}": "SECRET-NOTE"}
    client.post(path, {"name": "Hana M.", "school_id": "77"} | note)
    slip = client.post(f"{path}login/", {"fresh": "1"}).context["slip"]
    client.post(f"{path}record/")
    client.post(f"{path}login/", {"close": "1"})
    client.post(f"/sections/{house.bell5.pk}/students/{house.hana.pk}/leave/")
    told = ["left", "closed", "saved", "code", "changed"]
    assert [kind for kind, *_ in log(house.section)] == told
    # The note is one section's alone, and so is the word that it changed.
    assert [kind for kind, *_ in log(house.bell5)] == [*told[:4], "note", "changed"]
    client.force_login(house.teacher)
    page = client.get(f"/sections/{house.section.pk}/log/").content.decode()
    assert "colleague gave a sign-in code" in page
    assert "changed the record of" in page
    every = " ".join(str(vars(act)) for act in Act.objects.all())
    assert slip.code not in every
    assert "SECRET-NOTE" not in every


def test_a_sheet_of_codes_has_a_line_for_each_student(client, house):
    ana = make_student(house.section, "Ana P.")
    client.force_login(house.teacher)
    client.post(f"/sections/{house.section.pk}/codes-a4.pdf")
    assert log(house.section) == [("code", "Thea Teach (teacher)", ana.pk)]


def test_a_section_put_away_prints_no_codes(house):
    make_student(house.section, "Ana P.")
    sections.archive(house.section, by=house.teacher)
    assert sections.give_codes(house.section, by=house.teacher) == []


def test_sharing_is_in_the_log(client, house):
    client.force_login(house.teacher)
    path = f"/sections/{house.section.pk}/people/"
    client.post(path, {"share": "1", "username": "outsider"})
    member = house.section.memberships.get(user=house.outsider)
    client.post(path, {"unshare": str(member.pk)})
    assert [kind for kind, *_ in log(house.section)] == ["unshared", "shared"]


def test_a_line_of_the_log_is_never_changed_and_goes_when_it_is_old(house):
    act_log.note(act_log.Kind.CODE, [house.amara], by=house.teacher)
    act = Act.objects.get()
    with pytest.raises(TypeError, match="never changed"):
        act.save()
    with pytest.raises(TypeError, match="never changed"):
        Act.objects.update(detail="x")
    Act.objects.all().delete()
    old = Act(section=house.section, kind="code", by_name="Old")
    old.save()
    past = timezone.now() - act_log.KEPT - dt.timedelta(days=1)
    super(type(Act.objects.all()), Act.objects.all()).update(at=past)
    act_log.note(act_log.Kind.CODE, [house.amara], by=house.teacher)
    assert [each.by_name for each in Act.objects.all()] == ["Thea Teach (teacher)"]


def test_the_lines_of_who_is_gone_keep_the_name(house):
    act_log.note(act_log.Kind.CODE, [house.amara], by=house.teacher)
    house.teacher.delete()
    assert Act.objects.get().by_name == "Thea Teach (teacher)"


def test_the_log_costs_the_same_however_long_it_is(client, house, count_queries):
    client.force_login(house.teacher)
    path = f"/sections/{house.section.pk}/log/"
    act_log.note(act_log.Kind.CODE, [house.amara], by=house.teacher)
    few = count_queries(client, path)
    for _ in range(20):
        act_log.note(act_log.Kind.CODE, [house.amara, house.bao], by=house.teacher)
    assert count_queries(client, path) == few


def test_the_first_page_costs_the_same_however_many_are_asked_for(client, house, count_queries):
    client.force_login(house.colleague)
    enrolment_requests.ask(house.hana, house.section, house.teacher, name="Hana H.")
    few = count_queries(client, "/")
    for number in range(5):
        one = make_student(house.bell5, f"Student {number}")
        enrolment_requests.ask(one, house.section, house.teacher, name=one.name)
    assert count_queries(client, "/") == few
    assert len(client.get("/").context["asked"]) == 6


def test_two_windows_do_not_undo_each_other_on_a_student_s_record(as_teacher, house):
    path = f"/students/{house.amara.pk}/"
    note = f"note-{house.section.pk}"

    def stood():
        return as_teacher.get(path).context["form"]["stood"].value()

    first = second = stood()
    data = {"name": "Amara O.", "school_id": "", note: "PRIVATE-NOTE"}
    as_teacher.post(path, data | {"name": "Amara P.", "stood": first})
    answer = as_teacher.post(path, data | {note: "Other words", "stood": second})
    page = answer.content.decode()
    assert "Another window saved this while yours was open" in page
    assert "“Amara P.”" in page
    assert "Other words" in page
    assert Enrolment.objects.get(student=house.amara).note == "PRIVATE-NOTE"
    assert Student.objects.get(pk=house.amara.pk).name == "Amara P."
    # Who has read it and saves again means it.
    again = answer.context["form"]["stood"].value()
    as_teacher.post(path, data | {note: "Other words", "stood": again})
    assert Enrolment.objects.get(student=house.amara).note == "Other words"
    assert Student.objects.get(pk=house.amara.pk).name == "Amara O."
