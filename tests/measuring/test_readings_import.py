"""A file of readings into a project and out again."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studio.measuring import readings_csv, readings_import
from studio.measuring.readings import ConflictError, save_reading
from studio.measuring.readings_csv import COLUMNS
from studio.measuring.readings_import import NotTakenError, export, preview, take
from studio.measuring.starter_instruments import ensure_instruments
from studio.models import Instrument, Reading
from studio.ware.instruments import STARTER_INSTRUMENTS
from tests.factories import make_piece, read, read_rim, read_wall

pytestmark = pytest.mark.django_db

HEADER = ",".join(COLUMNS)
WALL = "K3-01,leather-hard,wall_thickness,,45,{},{},mm,{}"


def file_of(*lines):
    return "\n".join([HEADER, *lines, ""]).encode()


def walls(*values, instrument=""):
    lines = (WALL.format(90 * at, value, instrument) for at, value in enumerate(values))
    return file_of(*lines)


def tools():
    return list(Instrument.objects.all())


def bring_in(school, data):
    look = preview(school.project, data, tools())
    assert look.problems == ()
    return take(school.project, data, tools(), by=school.teacher, seal=look.seal)


def counts(saved):
    return saved.new, saved.corrected, saved.same


def test_what_was_new_what_superseded_and_the_same_file_twice(school):
    assert counts(bring_in(school, walls(6.4, 6.2, 6.0, 6.3))) == (4, 0, 0)
    assert counts(bring_in(school, walls(6.4, 6.2, 6.0, 6.3))) == (0, 0, 4)
    assert Reading.objects.count() == 4
    assert counts(bring_in(school, walls(6.4, 6.9, 6.0, 6.3))) == (0, 1, 3)
    corrected = Reading.objects.current().get(azimuth_deg=90)
    assert (corrected.value, corrected.supersedes.value) == (6.9, 6.2)
    assert corrected.made_by == school.teacher
    assert Reading.objects.count() == 5


def test_a_look_changes_nothing_and_tells_all(school):
    bring_in(school, walls(6.4))
    look = preview(school.project, walls(6.5, 6.2), tools())
    (new,), (corrected,) = look.new, look.corrected
    assert (new.line, new.piece, new.station, new.typed) == (3, "K3-01", "45 mm up, 90°", "6.2 mm")
    assert (corrected.line, corrected.before, corrected.typed) == (2, "6.4 mm", "6.5 mm")
    assert Reading.objects.count() == 1


def test_one_faulty_line_and_nothing_is_taken(school):
    data = file_of(WALL.format(0, 6.4, ""), WALL.format(90, "x", ""))
    look = preview(school.project, data, tools())
    assert [problem.line for problem in look.problems] == [3]
    with pytest.raises(NotTakenError):
        take(school.project, data, tools(), by=school.teacher, seal=look.seal)
    assert Reading.objects.count() == 0


def test_codes_match_as_written_then_whatever_their_case(school):
    lower = make_piece(school.project, school.bao, "k3-01")
    bring_in(school, file_of("K3-02,wet,rim_height,,,0,95,,", "k3-01,wet,rim_height,,,0,94,,"))
    bring_in(school, file_of("k3-02,wet,rim_height,,,90,95,,"))
    assert Reading.objects.get(piece=lower).value == 94
    assert Reading.objects.filter(piece=school.other_piece).count() == 2


def test_unknown_pieces_and_instruments_are_problems_with_the_nearest(school):
    ensure_instruments()
    lines = [
        "K3-03,wet,rim_height,,,0,95,mm,",
        "K3-01,wet,rim_height,,,0,95,mm,caliper",
        "K3-01,wet,handle_twist,,,,3,deg,calliper",
    ]
    look = preview(school.project, file_of(*lines), tools())
    assert [(problem.line, problem.sentence) for problem in look.problems] == [
        (2, "There is no piece “K3-03” in this project. Did you mean K3-02?"),
        (3, "There is no instrument “caliper”. Did you mean calliper? Or leave the cell empty."),
        (4, "calliper reads mm; handle_twist is in deg."),
    ]


def test_two_spellings_of_one_code_that_disagree(school):
    data = file_of("K3-01,wet,rim_height,,,0,95,mm,", "k3-01,wet,rim_height,,,0,94,mm,")
    (problem,) = preview(school.project, data, tools()).problems
    assert problem.line == 3
    assert "line 2 says 95 mm, line 3 says 94 mm" in problem.sentence


def test_a_slip_in_a_file_is_taken_marked_and_asked_about(school):
    look = preview(school.project, walls(6.4, 64, 6.0, 6.3), tools())
    (asked,) = look.questions
    assert (asked.line, asked.question) == (3, "64? Did you mean 6.4?")
    bring_in(school, walls(6.4, 64, 6.0, 6.3))
    assert list(Reading.objects.exclude(doubt="").values_list("value", flat=True)) == [64]


def test_what_changed_between_look_and_take_is_shown_again(school):
    look = preview(school.project, walls(6.4), tools())
    read(school.piece, "wall_thickness", 7.0, height_mm=45, azimuth_deg=0)
    with pytest.raises(NotTakenError) as caught:
        take(school.project, walls(6.4), tools(), by=school.teacher, seal=look.seal)
    assert caught.value.preview.corrected[0].before == "7 mm"
    assert list(Reading.objects.values_list("value", flat=True)) == [7.0]


def test_what_changes_at_the_very_moment_is_a_conflict_and_nothing_is_taken(school, monkeypatch):
    bring_in(school, walls(6.4, 6.2))
    data = walls(6.5, 6.3, 6.0)
    look = preview(school.project, data, tools())
    save_batch = readings_import.save_batch

    def late(incoming, current, *, by):
        first = Reading.objects.current().get(azimuth_deg=0)
        entry = incoming[0].entry
        save_reading(first.piece, entry, by=by)
        return save_batch(incoming, current, by=by)

    monkeypatch.setattr(readings_import, "save_batch", late)
    with pytest.raises(ConflictError):
        take(school.project, data, tools(), by=school.teacher, seal=look.seal)
    kept = Reading.objects.current().order_by("azimuth_deg").values_list("typed", flat=True)
    assert list(kept) == ["6.5 mm", "6.2 mm"]


def test_export_comes_back_in_unchanged_whoever_wrote_the_readings(school):
    ensure_instruments()
    bring_in(school, walls(6.35, 6.4, 6.0, instrument="calliper"))
    bring_in(school, file_of('K3-01,leather-hard,wall_thickness,,45,270,"1/4""",,calliper'))
    read_wall(school.other_piece, 6.1, 6.2, 7, 5.9)
    read_rim(school.piece, 95, 94.5, 96)
    read(school.piece, "handle_twist", -3.5, stage="glazed")
    read(school.piece, "handle_top", 70, stage="glazed", azimuth_deg=2)
    read(school.piece, "water_mass", 281, stage="glazed", name="brim")
    before = set(Reading.objects.values_list("pk", "superseded_at"))
    data = export(school.project)
    assert len(data.decode("utf-8-sig").splitlines()) == 1 + 14
    assert counts(bring_in(school, data)) == (0, 0, 14)
    assert set(Reading.objects.values_list("pk", "superseded_at")) == before
    assert export(school.project) == data


def test_export_has_only_what_counts(school):
    bring_in(school, walls(6.4))
    bring_in(school, walls(6.5))
    lines = export(school.project).decode("utf-8-sig").splitlines()
    assert lines == [HEADER, "K3-01,leather-hard,wall_thickness,,45,0,6.5,mm,"]
    assert export(school.project, stage="wet").decode("utf-8-sig").splitlines() == [HEADER]


def test_readings_from_photos_go_out_marked_and_do_not_come_in_as_if_by_hand(school):
    read(school.piece, "dimension", 94.2, name="height", source="photo", own_u=0.4)
    data = export(school.project)
    assert data.decode("utf-8-sig").splitlines()[1].endswith(",94.2,mm,photo")
    look = preview(school.project, data, tools())
    assert look.notes == (
        "1 line from photographs passed over: they come in with their photograph.",
    )
    assert look.changes_nothing


def test_a_guarded_code_or_instrument_never_is_a_formula(school):
    Instrument.objects.create(name="=SUM(A1:A9)", resolution=1, repeatability=1)
    bring_in(school, walls(6.4, instrument="=SUM(A1:A9)"))
    data = export(school.project)
    assert b",'=SUM(A1:A9)" in data
    assert counts(bring_in(school, data)) == (0, 0, 1)


def queries_of(school, count):
    codes = [f"Q{count}-{at}" for at in range(count)]
    for code in codes:
        make_piece(school.project, school.bao, code)
    lines = [
        f"{code},wet,wall_thickness,,45,{azimuth},6.{azimuth // 90},mm,"
        for code in codes
        for azimuth in (0, 90, 180)
    ]
    data = file_of(*lines)
    with CaptureQueriesContext(connection) as caught:
        bring_in(school, data)
    # The database bounds the values of one INSERT, so a large file takes several of these.
    return sum(not query["sql"].startswith("INSERT") for query in caught)


def test_a_large_file_takes_no_more_queries_than_a_small_one(school):
    assert queries_of(school, 3) == queries_of(school, 30)


def test_shipped_instruments_are_added_once():
    Instrument.objects.all().delete()
    assert ensure_instruments() == len(STARTER_INSTRUMENTS)
    assert ensure_instruments() == 0


def rows_of(code, count, *, first=0):
    """So many wall readings of one piece, each at a place of its own."""
    head = "piece,stage,quantity,height_mm,azimuth_deg,value,unit"
    lines = [
        f"{code},leather-hard,wall_thickness,{10 + at // 100},{at % 100 * 3.6:.1f},6,mm"
        for at in range(first, first + count)
    ]
    return "\n".join([head, *lines]).encode()


def test_more_readings_of_a_piece_than_a_hand_takes_are_told(school):
    most = readings_csv.MOST_OF_A_PIECE
    (problem,) = readings_csv.parse(rows_of("K3-01", most + 1)).problems
    assert f"There would be {most + 1} readings of K3-01" in problem.sentence
    assert readings_csv.parse(rows_of("K3-01", most)).problems == ()
    # In two files as well.
    data = rows_of("K3-01", most - 10)
    look = readings_import.preview(school.project, data, [])
    readings_import.take(school.project, data, [], by=school.teacher, seal=look.seal)
    look = readings_import.preview(school.project, rows_of("K3-01", 11, first=most), [])
    assert f"There would be {most + 1} readings" in look.problems[0].sentence
    same = readings_import.preview(school.project, rows_of("K3-01", 50), [])
    assert same.problems == ()
