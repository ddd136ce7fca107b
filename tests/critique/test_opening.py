"""Opening a critique: the deal is kept, pairs stay apart, absent readers are replaced."""

import pytest

from rubrics.critique import absences, opening, writing
from rubrics.critique.errors import CritiqueError
from rubrics.critique.pairs import keep_apart, let_together, pairs_of
from rubrics.models import Critique, Look, Remark
from tests.factories import make_piece, make_section, make_student


def readers_of(critique):
    """Names by code, of looks that were not passed on."""
    found = {}
    for look in Look.objects.standing().filter(shown__critique=critique):
        found.setdefault(look.shown.piece.code, set()).add(look.reader.name)
    return found


def test_every_piece_has_its_readers_and_nobody_the_own(critique):
    dealt = readers_of(critique)
    assert {len(names) for names in dealt.values()} == {3}
    for piece in critique.school.pieces:
        assert piece.student.name not in dealt[piece.code]
    assert sorted(critique.shown.values_list("position", flat=True)) == [1, 2, 3, 4, 5]


def test_the_same_seed_deals_the_same(five):
    def once(seed):
        made = opening.open_critique(
            Critique(project=five.project, readers=2), five.teacher, five.pieces, seed=seed
        )
        order = list(made.shown.values_list("piece__code", flat=True))
        return readers_of(made), order

    assert once(3) == once(3)
    assert once(3) != once(4)


def test_pairs_kept_apart_never_read_each_other(five):
    one, other = five.students[:2]
    keep_apart(five.section, other, one)
    keep_apart(five.section, one, other)
    assert len(pairs_of(five.section)) == 1
    for seed in range(12):
        made = opening.open_critique(
            Critique(project=five.project, readers=3), five.teacher, five.pieces, seed=seed
        )
        dealt = readers_of(made)
        assert other.name not in dealt[five.piece.code]
        assert one.name not in dealt[five.other_piece.code]
    let_together(five.section, pairs_of(five.section)[0].pk)
    assert pairs_of(five.section) == []


def test_pairs_that_leave_nobody_are_told_and_nothing_is_kept(five):
    for other in five.students[1:]:
        keep_apart(five.section, five.amara, other)
    with pytest.raises(CritiqueError, match="Amara"):
        opening.open_critique(Critique(project=five.project), five.teacher, five.pieces)
    assert not Critique.objects.exists()


def test_nobody_from_elsewhere_is_kept_apart(five):
    stranger = make_student(make_section(name="Bell 9"), "Zoe Z.")
    with pytest.raises(CritiqueError, match="class list"):
        keep_apart(five.section, five.amara, stranger)
    with pytest.raises(CritiqueError, match="two students"):
        keep_apart(five.section, five.amara, five.amara)


def test_two_makers_are_too_few(school):
    with pytest.raises(CritiqueError, match="too few"):
        opening.open_critique(
            Critique(project=school.project), school.teacher, [school.piece, school.other_piece]
        )


def test_who_is_absent_at_the_start_reads_nothing_and_is_read(five):
    made = opening.open_critique(
        Critique(project=five.project, readers=2),
        five.teacher,
        five.pieces,
        absent=[five.bao],
        seed=5,
    )
    dealt = readers_of(made)
    assert all(five.bao.name not in names for names in dealt.values())
    assert len(dealt[five.other_piece.code]) == 2


def test_an_absent_readers_unsent_work_goes_to_others_and_its_drafts_stay(five):
    made = opening.open_critique(
        Critique(project=five.project, readers=2), five.teacher, five.pieces, seed=5
    )
    mine = list(Look.objects.filter(shown__critique=made, reader=five.bao))
    for look in mine:
        writing.save_box(look, Remark.Box.SEE, writing.Written("A level rim here."), version=0)
    writing.send(mine[0])
    done = absences.mark_absent(made, [five.bao])
    assert done.passed_on == 1
    dealt = readers_of(made)
    assert {len(names) for names in dealt.values()} == {2}
    # What was sent stands, what was only drafted is passed on, and no word is lost.
    assert five.bao.name in dealt[mine[0].shown.piece.code]
    assert five.bao.name not in dealt[mine[1].shown.piece.code]
    assert Remark.objects.filter(look__in=mine).count() == 2
    mine[1].refresh_from_db()
    with pytest.raises(CritiqueError, match="Somebody else"):
        writing.save_box(mine[1], Remark.Box.TRY, writing.Written("More."), version=0)


def test_too_few_present_are_told(five):
    made = opening.open_critique(
        Critique(project=five.project, readers=4), five.teacher, five.pieces, seed=5
    )
    before = readers_of(made)
    with pytest.raises(CritiqueError, match="too few"):
        absences.mark_absent(made, [five.bao])
    assert readers_of(made) == before


def test_the_latest_piece_of_each_maker_is_proposed(five):
    later = make_piece(five.project, five.amara, "K3-09")
    lost = make_piece(five.project, five.bao, "K3-10", state="lost")
    proposed = opening.pieces_to_show(five.project)
    assert later in proposed
    assert five.piece not in proposed
    assert lost not in proposed
    assert five.other_piece in proposed
