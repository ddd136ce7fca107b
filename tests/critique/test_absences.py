"""Groups round a table, and students who go away and come back while a critique is open."""

from collections import Counter

import pytest
from django.urls import reverse

from rubrics.critique import absences, opening, writing
from rubrics.critique.errors import CritiqueError
from rubrics.critique.pairs import keep_apart
from rubrics.models import Critique, Look, Remark
from tests.critique.test_opening import readers_of
from tests.factories import make_piece, make_student


@pytest.fixture
def eight(five):
    """The five and three more."""
    for number, name in enumerate(("Farid O.", "Greta S.", "Hana L."), start=6):
        student = make_student(five.section, name)
        five.students.append(student)
        five.pieces.append(make_piece(five.project, student, f"K3-0{number}"))
    return five


def in_groups(school, size=4, **more):
    made = Critique(project=school.project, group_size=size)
    return opening.open_critique(made, school.teacher, school.pieces, seed=7, **more)


def tables_of(critique):
    """Names by number of the group."""
    found = {}
    for each in critique.shown.select_related("piece__student"):
        found.setdefault(each.group, set()).add(each.piece.student.name)
    return found


def assert_each_reads_its_table(critique, away=()):
    """Every piece as many readers, all from its table and none away."""
    dealt = readers_of(critique)
    for names in tables_of(critique).values():
        for each in critique.shown.filter(piece__student__name__in=names):
            name = each.piece.student.name
            found = dealt.get(each.piece.code, set())
            assert found <= names - {name} - set(away)
            assert len(found) == critique.readers


@pytest.mark.parametrize(("size", "people"), [(4, [4, 4]), (3, [4, 4])])
def test_each_looks_at_the_others_of_its_group(eight, size, people):
    made = in_groups(eight, size)
    assert sorted(map(len, tables_of(made).values())) == people
    assert_each_reads_its_table(made)
    assert made.readers == 3


def test_pairs_kept_apart_sit_at_different_tables_whoever_is_away(eight):
    one, other = eight.students[:2]
    keep_apart(eight.section, one, other)
    for away in ([], eight.students[2:3], eight.students[:1], eight.students[6:]):
        made = in_groups(eight, absent=away)
        for names in tables_of(made).values():
            assert not {one.name, other.name} <= names
        assert_each_reads_its_table(made, {each.name for each in away})
    # Five are one table.
    with pytest.raises(CritiqueError, match="keep all these pairs apart"):
        in_groups(eight, absent=eight.students[5:])


def test_a_group_with_three_left_goes_on_and_the_absent_ones_piece_is_read(eight):
    made = in_groups(eight)
    before = tables_of(made)
    done = absences.mark_absent(made, [eight.bao])
    assert done.taken_up == 0
    assert tables_of(made) == before
    # Three are left at one table, so every piece, at the other one too, has two readers.
    assert made.readers == 2
    assert_each_reads_its_table(made, {eight.bao.name})
    absences.mark_back(made, [eight.bao])
    assert made.readers == 3
    assert_each_reads_its_table(made)


def test_seven_at_two_tables_are_read_as_often_at_the_larger_one(eight):
    made = opening.open_critique(
        Critique(project=eight.project, group_size=4), eight.teacher, eight.pieces[:7], seed=7
    )
    assert sorted(map(len, tables_of(made).values())) == [3, 4]
    assert made.readers == 2
    assert_each_reads_its_table(made)
    load = Counter(name for names in readers_of(made).values() for name in names)
    assert set(load.values()) == {2}


def test_what_is_begun_stays_with_its_reader_when_somebody_goes(eight):
    made = in_groups(eight)
    for look in Look.objects.filter(shown__critique=made):
        writing.save_box(look, Remark.Box.SEE, writing.Written("A level rim here."), version=0)
    before = readers_of(made)
    absences.mark_absent(made, [eight.bao])
    after = readers_of(made)
    assert {code: names - {eight.bao.name} for code, names in before.items()} == after


def test_a_group_with_two_left_joins_others_and_what_was_sent_stands(eight):
    made = in_groups(eight)
    table = next(names for names in tables_of(made).values() if eight.bao.name in names)
    gone = [each for each in eight.students if each.name in table][:2]
    stays = [each for each in eight.students if each.name in table][2]
    look = Look.objects.filter(shown__critique=made, reader=stays, shown__piece__student=gone[0])
    look = look.get()
    writing.save_box(look, Remark.Box.SEE, writing.Written("A level rim here."), version=0)
    writing.send(look)
    absences.mark_absent(made, gone)
    sitting = {
        number: names - {each.name for each in gone} for number, names in tables_of(made).items()
    }
    assert all(len(names) >= 3 for names in sitting.values())
    look.refresh_from_db()
    assert look.passed_on_at is None
    # Six are two tables of three, so every piece is read by two at least.
    dealt = readers_of(made)
    assert all(len(names) >= 2 for names in dealt.values())
    assert not any(each.name in names for each in gone for names in dealt.values())
    absences.mark_back(made, gone)
    for each in gone:
        assert sum(each.name in names for names in readers_of(made).values()) >= 2


def test_too_few_for_a_group_are_told_and_nothing_moves(eight):
    made = in_groups(eight)
    before = readers_of(made)
    with pytest.raises(CritiqueError, match="2 are present"):
        absences.mark_absent(made, eight.students[:6])
    assert readers_of(made) == before
    assert not made.shown.filter(maker_absent=True).exists()


def test_who_comes_back_takes_over_what_others_have_too_much_of(critique):
    made = Critique(project=critique.project, readers=2)
    school = critique.school
    made = opening.open_critique(made, school.teacher, school.pieces, absent=[school.bao], seed=5)
    done = absences.mark_back(made, [school.bao])
    assert (done.taken_over, done.added) == (2, 0)
    dealt = readers_of(made)
    assert {len(names) for names in dealt.values()} == {2}
    assert sum(school.bao.name in names for names in dealt.values()) == 2
    assert school.bao.name not in dealt[school.other_piece.code]
    assert not made.shown.filter(maker_absent=True).exists()


def test_what_others_have_begun_stays_theirs_and_who_is_back_reads_beside_them(five):
    made = opening.open_critique(
        Critique(project=five.project, readers=2),
        five.teacher,
        five.pieces,
        absent=[five.bao],
        seed=5,
    )
    for look in Look.objects.filter(shown__critique=made):
        writing.save_box(look, Remark.Box.SEE, writing.Written("A level rim here."), version=0)
    before = readers_of(made)
    done = absences.mark_back(made, [five.bao])
    assert (done.taken_over, done.added) == (0, 2)
    after = readers_of(made)
    assert all(before[code] <= after[code] for code in before)
    # And away again, nothing is lost of the others'.
    absences.mark_absent(made, [five.bao])
    assert all(five.bao.name not in names for names in readers_of(made).values())


def test_who_comes_back_is_still_kept_apart(five):
    keep_apart(five.section, five.bao, five.amara)
    made = opening.open_critique(
        Critique(project=five.project, readers=2), five.teacher, five.pieces, seed=5
    )
    absences.mark_absent(made, [five.bao])
    absences.mark_back(made, [five.bao])
    dealt = readers_of(made)
    assert five.bao.name not in dealt[five.piece.code]
    assert sum(five.bao.name in names for names in dealt.values()) == 2


def test_nobody_comes_back_to_a_closed_critique(critique):
    absences.mark_absent(critique, [critique.school.bao])
    opening.close(critique)
    with pytest.raises(CritiqueError, match="closed"):
        absences.mark_back(critique, [critique.school.bao])


def test_the_pages_open_groups_and_let_students_return(client, eight):
    client.force_login(eight.teacher)
    asked = {
        "kind": "middle",
        "readers": "groups-of-4",
        "pieces": [piece.pk for piece in eight.pieces],
        "maker_first_s": 60,
        "group_s": 180,
        "maker_last_s": 60,
    }
    client.post(reverse("critique_new", args=[eight.project.pk]), asked)
    made = Critique.objects.get()
    page = reverse("critique", args=[made.pk])
    assert "groups of 4, 3 readers a piece" in client.get(page).content.decode()
    door = reverse("critique_absent", args=[made.pk])
    shown = client.post(door, {"absent": [eight.bao.pk]}, follow=True).content.decode()
    assert "The groups have enough without. Each piece is read by 2." in shown
    assert "They are back" in shown
    told = client.post(door, {"again": 1}, follow=True).content.decode()
    assert "Choose who is back." in told
    told = client.post(door, {"again": 1, "back": [eight.bao.pk]}, follow=True).content.decode()
    assert "Bao" in told
    assert "at the table where the own piece lies" in told
    assert "They are back" not in told
    made.refresh_from_db()
    assert_each_reads_its_table(made)
