"""Saving readings: nothing is overwritten, nothing is lost."""

from unittest import mock

import pytest
from django.db import IntegrityError

from studio.measuring import readings
from studio.measuring.entries import read_entry
from studio.measuring.readings import ConflictError, let_stand, save_reading, take_back
from studio.models import Instrument, Reading

pytestmark = pytest.mark.django_db


def wall(value="6.4", azimuth="0"):
    return read_entry(
        stage="leather-hard",
        quantity="wall_thickness",
        height_mm="45",
        azimuth_deg=azimuth,
        value=value,
    )


def handle(value="70", azimuth="2"):
    return read_entry(stage="bisque", quantity="handle_top", value=value, azimuth_deg=azimuth)


def open_part(value="14", start="30"):
    return read_entry(
        stage="bisque", quantity="seam_open", name="seam", value=value, height_mm=start
    )


def current(piece):
    return [one.typed for one in Reading.objects.current().filter(piece=piece)]


def test_a_new_reading_keeps_value_text_station_and_who(school):
    saved = save_reading(school.piece, wall("1/4 in"), by=school.teacher)
    one = Reading.objects.get()
    assert saved.outcome == "new"
    assert (one.value, one.typed, one.station) == (6.35, "1/4 in", "z45 az0")
    assert (one.made_by, one.source, one.supersedes) == (school.teacher, "hand", None)


def test_a_correction_supersedes_and_both_are_kept(school):
    first = save_reading(school.piece, wall("6.4"), by=school.teacher).reading
    saved = save_reading(school.piece, wall("6.5"), by=school.teacher, looked_at=first.pk)
    first.refresh_from_db()
    assert (saved.outcome, saved.previous) == ("corrected", first)
    assert saved.reading.supersedes == first
    assert first.superseded_at is not None
    assert first.value == 6.4
    assert current(school.piece) == ["6.5 mm"]


def test_the_same_again_changes_nothing(school):
    first = save_reading(school.piece, wall(), by=school.teacher).reading
    again = save_reading(school.piece, wall("6.4 mm"), by=school.teacher, looked_at=None)
    assert (again.outcome, again.reading) == ("same", first)
    assert Reading.objects.count() == 1


def test_the_same_value_in_other_words_or_with_another_instrument_is_a_correction(school):
    save_reading(school.piece, wall("6.35"), by=school.teacher)
    calliper = Instrument.objects.create(name="calliper", resolution=0.1, repeatability=0.1)
    assert save_reading(school.piece, wall("1/4 in"), by=school.teacher).outcome == "corrected"
    saved = save_reading(school.piece, wall("1/4 in"), by=school.teacher, instrument=calliper)
    assert saved.outcome == "corrected"


def test_other_stages_and_stations_stand_beside_each_other(school):
    save_reading(school.piece, wall(azimuth="0"), by=school.teacher)
    save_reading(school.piece, wall(azimuth="90"), by=school.teacher)
    save_reading(school.other_piece, wall(azimuth="90"), by=school.teacher)
    assert len(current(school.piece)) == 2


def test_two_windows_never_overwrite_each_other(school):
    save_reading(school.piece, wall("6.4"), by=school.teacher, looked_at=None)
    with pytest.raises(ConflictError) as caught:
        save_reading(school.piece, wall("6.9"), by=school.teacher, looked_at=None)
    assert caught.value.current.typed == "6.4 mm"
    assert current(school.piece) == ["6.4 mm"]
    put_in = caught.value.current.pk
    save_reading(school.piece, wall("6.9"), by=school.teacher, looked_at=put_in)
    assert current(school.piece) == ["6.9 mm"]


def test_a_reading_taken_back_elsewhere_is_a_conflict_too(school):
    first = save_reading(school.piece, wall("6.4"), by=school.teacher).reading
    take_back(school.piece, "leather-hard", first.pk, by=school.teacher)
    with pytest.raises(ConflictError) as caught:
        save_reading(school.piece, wall("6.9"), by=school.teacher, looked_at=first.pk)
    assert caught.value.current is None


def test_a_handle_has_one_upper_attachment_wherever_it_sits(school):
    first = save_reading(school.piece, handle("70", "2"), by=school.teacher).reading
    moved = save_reading(school.piece, handle("70", "5"), by=school.teacher, looked_at=first.pk)
    assert moved.outcome == "corrected"
    assert Reading.objects.current().get().azimuth_deg == 5


def test_an_open_part_that_starts_elsewhere_replaces_the_one_it_was(school):
    first = save_reading(school.piece, open_part("14", "30"), by=school.teacher).reading
    save_reading(school.piece, open_part("3", "60"), by=school.teacher, looked_at=None)
    save_reading(school.piece, open_part("14", "32"), by=school.teacher, looked_at=first.pk)
    stations = Reading.objects.current().values_list("station", flat=True)
    assert sorted(stations) == ["seam z32", "seam z60"]
    here = Reading.objects.current().get(station="seam z32").pk
    with pytest.raises(ConflictError):
        save_reading(school.piece, open_part("9", "60"), by=school.teacher, looked_at=here)


def test_taking_back_keeps_the_reading_and_who_took_it(school):
    first = save_reading(school.piece, wall(), by=school.teacher).reading
    take_back(school.piece, "leather-hard", first.pk, by=school.teacher)
    first.refresh_from_db()
    assert first.superseded_at is not None
    assert first.taken_back_by == school.teacher
    assert current(school.piece) == []
    assert take_back(school.piece, "leather-hard", first.pk, by=school.teacher) is None
    assert save_reading(school.piece, wall(), by=school.teacher, looked_at=None).outcome == "new"


def test_nobody_takes_back_what_was_corrected_meanwhile(school):
    first = save_reading(school.piece, wall("6.4"), by=school.teacher).reading
    save_reading(school.piece, wall("6.5"), by=school.teacher)
    with pytest.raises(ConflictError):
        take_back(school.piece, "leather-hard", first.pk, by=school.teacher)
    assert current(school.piece) == ["6.5 mm"]


def test_a_question_is_answered_once(school):
    first = save_reading(school.piece, wall("64"), by=school.teacher, doubt="64?").reading
    assert let_stand(school.piece, first.pk) is True
    assert let_stand(school.piece, first.pk) is False
    first.refresh_from_db()
    assert (first.doubt, first.value) == ("", 64)


def test_photo_and_hand_stand_beside_each_other(school):
    save_reading(school.piece, wall("6.4"), by=school.teacher, source="photo", own_u=0.3)
    save_reading(school.piece, wall("6.5"), by=school.teacher)
    assert sorted(current(school.piece)) == ["6.4 mm", "6.5 mm"]


def test_a_race_between_look_and_write_is_run_again(school):
    """Another process writes after this one looked; the constraint refuses, a new look sees."""
    look = readings._save
    calls = []

    def beaten_once(row, looked_at):
        calls.append(looked_at)
        if len(calls) == 1:
            raise IntegrityError("one_current_reading_a_station")
        return look(row, looked_at)

    with mock.patch.object(readings, "_save", beaten_once):
        assert save_reading(school.piece, wall(), by=school.teacher).outcome == "new"
    assert len(calls) == 2


def test_the_constraint_itself_refuses_two_current_readings(school):
    first = save_reading(school.piece, wall(), by=school.teacher).reading
    first.pk = None
    with pytest.raises(IntegrityError):
        first.save(force_insert=True)
