"""Sections and people: every write is whole, and refuses with a sentence."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth import authenticate
from django.utils import timezone

from studio.models import Enrolment, Membership, Section, SignInCode, Student
from studio.people import enrolment_requests, sections, sign_in_codes
from studio.people.sections import Joining, RegisterError
from studio.people.user_names import propose_username
from tests.factories import make_section, make_student, make_user

pytestmark = pytest.mark.django_db


def test_opening_a_section_makes_its_teacher_and_a_scale_from_the_top_to_0():
    teacher = make_user("teacher")
    section = sections.open_section(Section(name="Bell 4"), teacher)
    assert [(m.user, m.role) for m in section.memberships.all()] == [(teacher, "teacher")]
    edges = [band.from_percent for band in section.grade_bands.all()]
    assert edges == sorted(edges, reverse=True)
    assert edges[-1] == 0


def test_enrolling_new_and_known_students_at_once():
    section, other = make_section(name="Bell 4"), make_section(name="Bell 5")
    known = make_student(other, "Camila R.")
    joined, _ = sections.enrol(section, [Joining("Amara O.", "77"), Joining(student=known)])
    assert [student.name for student in joined] == ["Amara O.", "Camila R."]
    assert set(section.students.all()) == set(joined)
    assert known.enrolments.count() == 2


def test_a_number_that_is_taken_enrols_nobody():
    section = make_section()
    make_student(make_section(name="Bell 5"), "Camila R.", school_id="77")
    with pytest.raises(RegisterError, match="77 belongs to another student"):
        sections.enrol(section, [Joining("Amara O."), Joining("Bao N.", "77")])
    assert section.students.count() == 0
    assert Student.objects.filter(name="Amara O.").count() == 0


def test_leaving_keeps_everything_and_coming_back_is_one_enrolment():
    section = make_section()
    amara = make_student(section)
    enrolment_requests.leave(section, amara, by=None)
    assert Enrolment.objects.get().left_on is not None
    assert sections.enrol(section, [Joining(student=amara)]).joined == [amara]
    assert Enrolment.objects.get().left_on is None


def test_a_student_who_is_here_is_not_enrolled_twice():
    section = make_section()
    amara = make_student(section)
    assert sections.enrol(section, [Joining(student=amara)]).joined == []
    assert Enrolment.objects.count() == 1


def test_a_new_code_ends_the_code_before_and_the_password():
    teacher, amara = make_user("teacher"), make_student(make_section())
    first = sections.give_code(amara, "amara.o", by=teacher)
    assert sign_in_codes.find("Amara.O", first.code.upper().replace("-", " ")).user == amara.login
    amara.login.set_password("own words of hers")
    amara.login.save()
    second = sections.give_code(amara, "", by=teacher)
    assert first.code != second.code
    assert sign_in_codes.find("amara.o", first.code) is None
    assert sign_in_codes.find("amara.o", second.code).user == amara.login
    assert authenticate(username="amara.o", password="own words of hers") is None


def test_a_code_is_used_once_and_only_its_hash_is_kept():
    slip = sections.give_code(make_student(make_section()), "amara.o", by=None)
    code = sign_in_codes.find("amara.o", slip.code)
    assert slip.code not in code.hashed
    assert sign_in_codes.use(code, lambda: None) is True
    assert sign_in_codes.use(code, lambda: None) is False
    assert sign_in_codes.find("amara.o", slip.code) is None


def test_a_code_ends_after_a_fortnight():
    slip = sections.give_code(make_student(make_section()), "amara.o", by=None)
    SignInCode.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert sign_in_codes.find("amara.o", slip.code) is None


def test_a_closed_login_cannot_sign_in():
    amara = make_student(make_section())
    slip = sections.give_code(amara, "amara.o", by=None)
    sections.take_login(amara)
    assert sign_in_codes.find("amara.o", slip.code) is None
    assert Student.objects.get(pk=amara.pk).login is None


def test_a_teacher_on_a_class_list_keeps_the_own_password():
    teacher = make_user("teacher", is_staff=True)
    student = make_student(make_section(), login=teacher)
    with pytest.raises(RegisterError, match="teacher's or head's"):
        sections.give_code(student, "", by=teacher)
    with pytest.raises(RegisterError, match="teacher's or head's"):
        sections.take_login(student)
    assert authenticate(username="teacher", password="teacher") == teacher


def test_a_user_name_that_is_taken_in_any_case_is_refused():
    make_user("Amara.O")
    with pytest.raises(RegisterError, match="taken"):
        sections.give_code(make_student(make_section()), "amara.o", by=None)


@pytest.mark.parametrize(
    ("name", "proposed"),
    [
        ("Amara Okafor", "amara.o"),
        ("Amara", "amara"),
        ("René d'Arc", "rene.d"),
        # Letters that no accent was added to: the plain letter in their Unicode name.
        ("Łukasz Z.", "lukasz.z"),
        ("Øyvind Åse", "oyvind.a"),
        ("Đorđe Ćosić", "dorde.c"),
        ("Ægir Þór", "aegir.t"),
        ("Işık Groß", "isik.g"),
        ("Nguyễn Thị Ánh", "nguyen.a"),
    ],
)
def test_a_user_name_is_proposed(name, proposed):
    assert propose_username(name) == proposed


@pytest.mark.parametrize("name", ["李小龙", "محمد علي", "דוד כהן", "สมชาย", "अनिता", "김철수"])
def test_a_name_in_another_script_gets_a_word_of_its_own_and_keeps_it(name):
    proposed = propose_username(name)
    assert re.fullmatch("[a-z]+", proposed)
    assert proposed == propose_username(name)
    assert "student" not in proposed


def test_two_such_names_never_share_a_user_name():
    names = [f"李{chr(0x5C0F + place)}" for place in range(40)]
    for name in names:
        make_user(propose_username(name))


def test_a_proposed_user_name_is_free():
    make_user("amara.o")
    make_user("amara.o2")
    assert propose_username("Amara O.") == "amara.o3"


def test_codes_are_legible_and_differ():
    words = {sign_in_codes.make_code() for _ in range(200)}
    assert len(words) == 200
    for word in words:
        # A figure after every letter, so that no code spells a word, and no letter that is taken
        # for a figure or another letter: l 1 i o 0 are told apart.
        assert re.fullmatch(r"([a-z][2-9]){2}-([a-z][2-9]){2}-[a-z][2-9]", word)
        assert not set(word) & set("aeioulj10cqwxy")


def test_sharing_is_for_grown_ups_and_never_makes_a_teacher_a_reader():
    teacher, head = make_user("teacher"), make_user("head")
    section = make_section(teacher)
    make_student(section, login=make_user("amara.o"))
    assert sections.share(section, "HEAD").role == Membership.Role.HEAD
    for name in ("nobody", "amara.o"):
        with pytest.raises(RegisterError, match="no teacher or head"):
            sections.share(section, name)
    for name in ("teacher", "head"):
        with pytest.raises(RegisterError, match="already"):
            sections.share(section, name)
    assert section.memberships.get(user=teacher).role == Membership.Role.TEACHER
    assert section.memberships.get(user=head).role == Membership.Role.HEAD


def test_unsharing_takes_heads_out_and_no_teacher():
    teacher, head = make_user("teacher"), make_user("head")
    section = make_section(teacher, head=head)
    for membership in section.memberships.all():
        sections.unshare(section, membership.pk)
    assert [m.user for m in section.memberships.all()] == [teacher]


def test_a_grade_scale_is_replaced_whole():
    section = make_section()
    sections.set_grade_scale(section, [("Pass", Decimal("50")), ("Not yet", Decimal("0"))])
    assert [(b.label, b.from_percent) for b in section.grade_bands.all()] == [
        ("Pass", 50),
        ("Not yet", 0),
    ]
