"""Drafts that nothing overwrites, limits, and sending."""

import pytest

from rubrics.critique import opening, writing
from rubrics.critique.errors import CritiqueError, Elsewhere
from rubrics.critique.writing import Written
from rubrics.models import Critique, Look, Remark
from studio.photos import storing
from tests.photos.photo_files import plain_picture

SEE, TRY = Remark.Box.SEE, Remark.Box.TRY


@pytest.fixture
def look(critique):
    return Look.objects.filter(shown__critique=critique).first()


def photo_of(piece, name="a.jpg", colour="tan"):
    upload = storing.take_in(plain_picture(colour, (64, 48)), name)
    return storing.store(piece.section, piece, upload, None)


def test_a_box_is_kept_as_it_was_written(look):
    photo = photo_of(look.shown.piece)
    kept = writing.save_box(
        look, SEE, Written("  A rim \n", photo=photo.pk, x=0.25, y=1), version=0
    )
    assert (kept.text, kept.pin, kept.version, kept.state) == ("  A rim \n", (0.25, 1), 1, "draft")
    again = writing.save_box(look, SEE, Written("A rim that tips", "rim"), version=1)
    assert (again.text, again.place, again.pin, again.version) == (
        "A rim that tips",
        "rim",
        None,
        2,
    )


def test_another_windows_words_are_never_overwritten(look):
    writing.save_box(look, SEE, Written("mine"), version=0)
    with pytest.raises(Elsewhere) as told:
        writing.save_box(look, SEE, Written("other"), version=0)
    assert told.value.theirs.text == "mine"
    # The same words sent twice are no quarrel.
    assert writing.save_box(look, SEE, Written("mine"), version=0).version == 1


@pytest.mark.parametrize(
    ("written", "said"),
    [
        (Written("x" * 1201), "letters"),
        (Written("a", "lid"), "not on the list"),
        (Written("a", photo=1, x=1.01, y=0.5), "not on the photo"),
        (Written("a", photo=1, x=float("nan"), y=0.5), "not on the photo"),
    ],
)
def test_what_cannot_be_is_refused_in_words(look, written, said):
    with pytest.raises(CritiqueError, match=said):
        writing.save_box(look, SEE, written, version=0)


def test_a_pin_stands_on_this_pieces_photo_only(look, critique):
    other = next(p for p in critique.school.pieces if p.pk != look.shown.piece_id)
    strange = photo_of(other)
    with pytest.raises(CritiqueError, match="photo"):
        writing.save_box(look, SEE, Written("a", photo=strange.pk, x=0.5, y=0.5), version=0)


def test_an_unknown_box_is_refused(look):
    with pytest.raises(CritiqueError, match="no such box"):
        writing.save_box(look, "grade", Written("a"), version=0)


def test_sending_gives_the_teacher_what_has_words_and_closes_it(look):
    writing.save_box(look, SEE, Written("A rim that tips left."), version=0)
    writing.save_box(look, TRY, Written("   "), version=0)
    assert writing.send(look) == 1
    states = dict(look.remarks.values_list("box", "state"))
    assert states == {"see": "waiting", "try": "draft"}
    with pytest.raises(CritiqueError, match="sent"):
        writing.save_box(look, SEE, Written("other"), version=2)
    # A box left open may follow.
    writing.save_box(look, TRY, Written("Try a wider foot, because it rocks."), version=1)
    assert writing.send(look) == 1


def test_nothing_and_too_much_are_not_sent(look):
    with pytest.raises(CritiqueError, match="No box"):
        writing.send(look)
    writing.save_box(look, SEE, Written("word " * 41), version=0)
    with pytest.raises(CritiqueError, match="What I see"):
        writing.send(look)
    assert look.remarks.get().state == "draft"


def test_a_closed_critique_takes_no_more(look, critique):
    opening.close(critique)
    look.shown.critique.refresh_from_db()
    with pytest.raises(CritiqueError, match="closed"):
        writing.save_box(look, SEE, Written("a"), version=0)


def test_on_the_day_what_is_not_flagged_passes_by_itself(five):
    made = opening.open_critique(
        Critique(project=five.project, readers=2, shows_unflagged=True),
        five.teacher,
        five.pieces,
        seed=1,
    )
    look = Look.objects.filter(shown__critique=made).first()
    writing.save_box(look, TRY, Written("Try a wider foot, because it rocks."), version=0)
    writing.save_box(look, SEE, Written("The rim looks stupid to me."), version=0)
    writing.send(look)
    states = dict(look.remarks.values_list("box", "state"))
    assert states == {"try": "passed", "see": "waiting"}


def test_typing_in_for_a_student_is_recorded(look, critique):
    teacher = critique.school.teacher
    writing.save_box(look, SEE, Written("A level rim."), version=0, by=teacher)
    look.refresh_from_db()
    assert look.typed_by == teacher


def test_a_piece_taken_out_meanwhile_is_told_in_words(look):
    Look.objects.filter(pk=look.pk).delete()
    with pytest.raises(CritiqueError, match="taken out of the critique"):
        writing.save_box(look, SEE, Written("A calm rim"), version=0)
    assert not Remark.objects.filter(text="A calm rim").exists()
