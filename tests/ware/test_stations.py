"""The sets of stations."""

import pytest

from rubrics.reports.wording import where
from studio.measuring.entries import read_entry
from studio.measuring.sheet_drawings import drawing_of
from studio.ware.stations import TITLES, column_of, station_set


def stations(key, **facts):
    return [column.station for column in station_set(key, **facts).columns]


def test_in_a_hurry_four_and_thorough_twelve_and_eight():
    assert stations("wall-4") == ["z45 az0", "z45 az90", "z45 az180", "z45 az270"]
    assert len(set(stations("wall-12"))) == 12
    assert stations("rim-4") == ["az0", "az90", "az180", "az270"]
    assert stations("rim-8")[:3] == ["az0", "az45", "az90"]
    assert len(set(stations("rim-8"))) == 8


def test_places_are_named_as_the_readings_are_told_with_the_handle_towards_you():
    labels = [column.label for column in station_set("rim-8").columns]
    assert labels == [
        "Handle",
        "Right of handle",
        "Right",
        "Back right",
        "Back",
        "Back left",
        "Left",
        "Left of handle",
    ]
    for column in station_set("rim-8").columns:
        told = where(column.azimuth_deg)
        side = next((side for side in ("right", "left") if side in told), "")
        assert side in column.label.lower()
        assert ("back" in told or "opposite" in told) == ("back" in column.label.lower())


def test_the_right_stands_at_the_right_of_the_drawing_and_the_handle_below():
    marks = {mark.label: mark for mark in drawing_of(station_set("rim-4")).marks}
    assert marks["Left"].x < marks["Back"].x < marks["Right"].x
    assert marks["Back"].y < marks["Right"].y < marks["Handle"].y


def test_the_hint_turns_the_piece_so_that_the_right_comes_next():
    # Who stands before a cup and turns it clockwise, seen from above, brings its right side to
    # the front: what was at 90° counter-clockwise is then at 0°.
    for key in ("wall-4", "rim-8"):
        hint = station_set(key).hint
        assert "turn the piece clockwise" in hint
        assert "counter-clockwise" not in hint


def test_heights_follow_the_plan_in_steps_a_ruler_finds():
    planned = {("height", None): 124.0}
    assert {column.height_mm for column in station_set("wall-12", planned=planned).columns} == {
        25.0,
        60.0,
        100.0,
    }


def test_a_sheet_follows_the_heights_that_were_read():
    assert stations("wall-4", heights_read=[52.5])[0] == "z52.5 az0"
    heights = {column.height_mm for column in station_set("wall-12", heights_read=[50.0]).columns}
    assert heights == {20.0, 50.0, 70.0}


def test_sizes_are_the_plan_s():
    planned = {("height", None): 95.0, ("diameter", 40.0): 80.0}
    assert stations("sizes", planned=planned) == ["height", "diameter z40"]


@pytest.mark.parametrize("key", TITLES)
def test_every_column_is_found_again_by_its_key_and_drawn_once(key):
    planned = {("height", None): 95.0, ("diameter", 40.0): 80.0}
    chosen = station_set(key, planned=planned)
    keys = [column.key for column in chosen.columns]
    assert len(set(keys)) == len(keys)
    assert [column_of(key, column.key).station for column in chosen.columns] == stations(
        key, planned=planned
    )
    assert [mark.column for mark in drawing_of(chosen).marks] == keys


@pytest.mark.parametrize("key", TITLES)
def test_every_column_makes_a_reading_that_stands(key):
    for column in station_set(key).columns:
        entry = read_entry(
            stage="glazed",
            quantity=column.quantity,
            name=column.name,
            height_mm="" if column.height_mm is None else str(column.height_mm),
            azimuth_deg="10"
            if column.where == "azimuth_deg"
            else ("" if column.azimuth_deg is None else str(column.azimuth_deg)),
            value="10",
        )
        assert entry.station == column.station


@pytest.mark.parametrize(
    ("key", "column"),
    [("wall-4", "z45-33"), ("sizes", "girth"), ("rim-4", "az45"), ("foot", ""), ("nothing", "x")],
)
def test_a_column_nobody_has(key, column):
    with pytest.raises(KeyError):
        column_of(key, column)
