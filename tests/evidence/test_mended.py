"""Mending seen: the same piece before and after, by the readings that were taken again."""

from datetime import timedelta

import pytest

from rubrics.evidence.collect import evidence
from rubrics.evidence.mended import MENDING_TAKES, mended, mended_pieces
from studio.models import Reading
from tests.factories import U_MM, read, read_rim, read_wall, take_back

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)


@pytest.fixture
def cup(school):
    """A leather-hard cup whose wall is 9.5 mm thick at the back, where 6.2 mm is planned."""
    school.piece.stage = "leather-hard"
    school.piece.save()
    read_wall(school.piece, 6.0, 6.2, 9.5, 6.1)
    return school.piece


def read_again(piece, value, *, after=MENDING_TAKES, **fields):
    """The thick place read once more, so long after the first time."""
    old = Reading.objects.current().get(piece=piece, azimuth_deg=180, quantity="wall_thickness")
    place = {"height_mm": old.height_mm, "azimuth_deg": 180, **fields}
    if fields.get("source", "hand") == old.source:
        take_back(old)
    new = read(piece, "wall_thickness", value, own_u=U_MM, **place)
    Reading.objects.filter(pk=new.pk).update(made_at=old.made_at + after)
    return new


def changes(piece):
    return mended(evidence(piece.project, last_read=True)).get(piece.pk, ())


def test_a_wall_that_was_scraped_shows_before_and_after(cup):
    assert changes(cup) == ()
    read_again(cup, 6.3)
    (wall,) = changes(cup)
    assert "9.5" in wall.before
    assert "9.5" not in wall.after
    assert wall.is_within
    (told,) = mended_pieces(evidence(cup.project, last_read=True))
    assert told.piece == cup
    assert told.is_done


def test_a_wall_that_was_scraped_too_little_is_not_within_its_limits_yet(cup):
    read_again(cup, 8.9)
    (wall,) = changes(cup)
    assert (wall.is_within, "8.9" in wall.after) == (False, True)
    (told,) = mended_pieces(evidence(cup.project, last_read=True))
    assert not told.is_done


def test_a_slip_put_right_at_once_is_no_mending(cup):
    read_again(cup, 6.3, after=MENDING_TAKES - SECOND)
    assert changes(cup) == ()


def test_a_place_that_was_in_order_before_is_no_mending(school):
    school.piece.stage = "leather-hard"
    school.piece.save()
    read_wall(school.piece, 6.0, 6.2, 6.1, 6.1)
    read_again(school.piece, 6.4)
    assert changes(school.piece) == ()


def test_a_student_who_mends_what_the_teacher_read_sees_it_and_no_mark_moves_by_it(cup):
    def seen(**how):
        found = evidence(cup.project, **how)
        return {row.reading.value for row in found.rows[cup.pk] if row.reading.azimuth_deg == 180}

    read_again(cup, 6.3, source="student")
    assert len(changes(cup)) == 1
    assert seen(last_read=True) == {6.3}
    assert seen() == {9.5}


def test_a_teacher_who_reads_a_student_s_place_checks_the_reading_and_mends_nothing(school):
    school.piece.stage = "leather-hard"
    school.piece.save()
    read_wall(school.piece, 6.0, 6.2, 9.5, 6.1, source="student")
    read_again(school.piece, 6.3)
    assert changes(school.piece) == ()


def test_a_fired_piece_was_not_mended(cup):
    read_again(cup, 6.3)
    type(cup).objects.filter(pk=cup.pk).update(stage="bisque")
    assert changes(cup) == ()


def test_what_was_read_of_a_fired_piece_is_nothing_that_was_mended(cup):
    read_rim(cup, 98, 98, 98, 98, stage="glazed")
    read_again(cup, 8.9)
    assert changes(cup) == ()


def test_student_list_and_board_show_who_mended(client, cup, school, count_queries):
    pages = {
        "own": f"/pieces/{cup.pk}/mend/",
        "list": f"/projects/{cup.project_id}/mend/",
        "board": f"/projects/{cup.project_id}/mended/",
    }
    client.force_login(school.teacher)
    before = {name: count_queries(client, path) for name, path in pages.items()}
    assert client.get(pages["board"]).content.strip() == b""
    read_again(cup, 6.3)
    school.other_piece.stage = "leather-hard"
    school.other_piece.save()
    read_rim(school.other_piece, 106, 106, 113, 106)
    read_wall(school.other_piece, 6.0, 6.2, 9.5, 6.1)
    read_again(school.other_piece, 6.3)
    assert {name: count_queries(client, path) for name, path in pages.items()} == before
    text = {name: client.get(path).content.decode() for name, path in pages.items()}
    assert "K3-01" in text["board"]
    assert "Mended and read again: 2" in text["list"]
    client.force_login(school.student)
    own = client.get(pages["own"]).content.decode()
    assert "Before and after" in own
    assert "within its limits now" in own
    assert "Nothing to mend among what was read" in own
