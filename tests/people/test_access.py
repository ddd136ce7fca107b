"""Which rows are whose, where a page alone does not tell: kilns, firings, photos, clays."""

import pytest

from studio import access
from studio.models import Clay, Kiln
from tests.factories import make_firing, make_photo, make_section, make_user

pytestmark = pytest.mark.django_db

EVERYBODY = ("teacher", "colleague", "head", "student", "other_student", "outsider")


def who(school, rows, row) -> set[str]:
    """Of all the people those to whom ``rows`` gives ``row``."""
    return {name for name in EVERYBODY if row in rows(getattr(school, name))}


def test_the_kilns_of_the_house_are_seen_by_all_and_fired_by_teachers(school):
    house = Kiln.objects.create(name="Gas kiln")
    own = Kiln.objects.create(name="Front kiln", owner=school.teacher)
    assert who(school, access.kilns, house) == set(EVERYBODY)
    assert who(school, access.kilns_to_fire, house) == {"teacher", "colleague"}
    assert who(school, access.own_kilns, house) == set()
    for rows in (access.kilns, access.kilns_to_fire, access.own_kilns):
        assert who(school, rows, own) == {"teacher"}


def test_a_firing_is_read_through_its_pieces_and_changed_by_who_teaches_one(school):
    firing = make_firing(school.colleague, school.piece)
    assert who(school, access.firings, firing) == {"teacher", "colleague", "head"}
    assert who(school, access.taught_firings, firing) == {"teacher", "colleague"}
    assert who(school, access.kilns, firing.kiln) == {"teacher", "colleague", "head"}
    empty = make_firing(school.colleague)
    assert who(school, access.firings, empty) == {"colleague"}


def test_a_photo_that_is_not_filed_is_its_teachers_alone(school):
    photo = make_photo(school.piece)
    assert who(school, access.photos, photo) == {"teacher", "head", "student"}
    photo.piece = None
    photo.save()
    assert who(school, access.photos, photo) == {"teacher"}
    assert who(school, access.taught_photos, photo) == {"teacher"}


def test_a_clay_is_read_where_it_is_used_and_changed_by_its_owner(school):
    shipped = Clay.objects.create(name="Shipped")
    used = school.project.plan.clay
    used.owner = school.colleague
    used.save()
    assert who(school, access.clays, shipped) == set(EVERYBODY)
    assert who(school, access.own_clays, shipped) == set()
    assert who(school, access.clays, used) == {"teacher", "colleague", "head"}
    assert who(school, access.own_clays, used) == {"colleague"}


def test_pieces_and_students(school):
    assert who(school, access.pieces, school.piece) == {"teacher", "head", "student"}
    assert who(school, access.own_pieces, school.piece) == {"student"}
    assert who(school, access.taught_pieces, school.piece) == {"teacher"}
    assert who(school, access.students, school.amara) == {"teacher", "head"}
    assert who(school, access.taught_students, school.amara) == {"teacher"}


def test_who_is_grown_up_and_who_teaches(school):
    grown = {name for name in EVERYBODY if access.is_grown_up(getattr(school, name))}
    assert grown == {"teacher", "colleague", "head"}
    teach = {name for name in EVERYBODY if access.is_teacher(getattr(school, name))}
    assert teach == {"teacher", "colleague"}
    change = {
        name for name in EVERYBODY if access.may_change(getattr(school, name), school.section)
    }
    assert change == {"teacher"}


def test_a_guest_teaches_without_the_house_and_a_new_teacher_without_a_section(school):
    guest, new = make_user("guest"), make_user("new", is_staff=True)
    make_section(guest, name="Evening class")
    house = Kiln.objects.create(name="Gas kiln")
    for user in (guest, new):
        assert access.is_teacher(user)
        assert access.is_grown_up(user)
        assert house in access.kilns_to_fire(user)
    assert not access.may_open_sections(guest)
    assert access.may_open_sections(new)
    assert not access.read_sections(new).exists()
