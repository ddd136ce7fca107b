"""Finding a student, a piece or a project by a few letters or a code."""

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from studio.web.finding import MOST, find, fits, plain
from tests.factories import make_piece, make_project, make_section, make_student
from tests.pages import page_text


@pytest.fixture
def as_teacher(client, school):
    client.force_login(school.teacher)
    return client


def codes(found):
    return [piece.code for piece in found.pieces]


@pytest.mark.parametrize(
    ("name", "words", "is_found"),
    [
        ("Şeyma Nguyễn-Łukasz", "sey", True),
        ("Şeyma Nguyễn-Łukasz", "nguyen", True),
        ("Şeyma Nguyễn-Łukasz", "ŁUK sey", True),
        ("Amara Okafor", "oka am", True),
        ("Amara Okafor", "mara", False),
        ("Amara Okafor", "amara x", False),
        ("Straße", "strasse", True),
    ],
)
def test_the_first_letters_of_every_word_fit_whatever_their_case_and_accents(name, words, is_found):
    assert fits(name, plain(words).split()) is is_found


@given(st.text(min_size=1, max_size=30))
def test_every_name_is_found_by_itself(name):
    assert fits(name, plain(name).replace("-", " ").split())


def test_a_code_in_whole_is_that_piece_alone_and_its_beginning_all(school):
    make_piece(school.project, school.amara, "K3-010")
    assert codes(find(school.teacher, "k3-01")) == ["K3-01"]
    assert codes(find(school.teacher, " k3-0 ")) == ["K3-01", "K3-010", "K3-02"]


def test_a_title_is_found_too(school):
    school.piece.title = "Low tide"
    school.piece.save()
    assert codes(find(school.teacher, "tide")) == ["K3-01"]


def test_nobody_finds_what_is_not_theirs_to_read(school):
    other = make_section(school.colleague, name="Bell 9")
    make_student(other, "Amadeus Q.")
    names = [student.name for student in find(school.teacher, "ama").students]
    assert names == ["Amara O."]
    assert find(school.outsider, "ama").only is None
    assert codes(find(school.colleague, "K3")) == []


def test_one_find_opens_at_once_and_several_are_listed(as_teacher, school):
    answer = as_teacher.get(reverse("find"), {"q": "bao"})
    assert answer.url == reverse("student", args=[school.bao.pk])
    answer = as_teacher.get(reverse("find"), {"q": "K3-02"})
    assert answer.url == reverse("piece", args=[school.other_piece.pk])
    page = page_text(as_teacher.get(reverse("find"), {"q": "k3"}))
    assert "K3-01" in page
    assert "K3-02" in page


def test_namesakes_are_told_apart_by_their_sections(as_teacher, school):
    second = make_section(school.teacher, name="Bell 6")
    make_student(second, "Amara O.")
    page = page_text(as_teacher.get(reverse("find"), {"q": "amara"}))
    assert page.count("<span>Amara O.</span>") == 2
    assert "Bell 6" in page
    assert str(school.section) in page


@pytest.mark.parametrize("words", ["zzz", "<b>", "%", "_", "\u202e", "x" * 500, "9" * 60])
def test_nothing_found_is_said_and_what_was_typed_stays(as_teacher, words):
    page = page_text(as_teacher.get(reverse("find"), {"q": words}))
    assert "Nothing begins with" in page
    assert "<b>“" not in page


def test_many_finds_say_that_there_are_more_at_the_same_cost(school, django_assert_num_queries):
    with django_assert_num_queries(4) as few:
        find(school.teacher, "k3")
    project = make_project(school.section, "Bowls", number=5)
    for number in range(MOST + 5):
        make_piece(project, school.amara, f"K3-5{number:02}")
    with django_assert_num_queries(len(few)):
        found = find(school.teacher, "k3")
    assert len(found.pieces) == MOST
    assert found.more


def test_a_student_is_told_where_the_own_pieces_are(client, school):
    client.force_login(school.student)
    answer = client.get(reverse("find"), {"q": "k3"})
    assert answer.status_code == 403
    assert "data-find" not in client.get("/").content.decode()
