"""The terminal's way to the camera."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

FOLDER = Path(__file__).parents[2] / "fixtures" / "photos"


def run(*files, **options):
    out, err = StringIO(), StringIO()
    code = 0
    try:
        call_command("read_photo", *map(str, files), stdout=out, stderr=err, **options)
    except SystemExit as stop:
        code = stop.code
    return code, out.getvalue(), err.getvalue()


def test_json_has_the_agreed_form():
    code, out, _ = run(FOLDER / "K3-05-leather-side.jpg", json=True)
    (photo,) = json.loads(out)
    assert code == 0
    assert (photo["file"], photo["code"], photo["view"]) == (
        "K3-05-leather-side.jpg", "K3-05", "side",
    )  # fmt: skip
    assert {"reprojection_px", "distance_mm", "elevation_deg"} <= set(photo["camera"])
    assert set(photo["measures"]["height_mm"]) == {"value", "u", "trusted"}


def test_an_unreadable_file_is_named_and_the_others_are_read(tmp_path):
    bad = tmp_path / "note.jpg"
    bad.write_text("no picture")
    code, out, err = run(bad, FOLDER / "K3-05-leather-side.jpg", tmp_path / "gone.jpg", json=True)
    assert code == 2
    assert "note.jpg" in err
    assert "gone.jpg was not found" in err
    first, second, third = json.loads(out)
    assert (first["measures"], third["measures"]) == ({}, {})
    assert second["measures"]["height_mm"]["trusted"] is True


def test_photos_of_a_turned_cup_are_taken_together(tmp_path):
    blank = tmp_path / "blank.jpg"
    blank.write_bytes(b"nothing")
    side = FOLDER / "K3-05-leather-side.jpg"
    code, out, err = run(side, blank, json=True, turned=True)
    cup = json.loads(out)
    assert code == 2
    assert "blank.jpg is not a picture" in err
    assert cup["readings"] == []
    assert "At least 3 usable photos from the side" in cup["message"]
    _, out, _ = run(side, turned=True)
    assert "At least 3 usable photos from the side" in out


def test_for_people_it_says_what_is_not_to_be_relied_on():
    _, out, _ = run(FOLDER / "K3-04-fired-top.jpg")
    assert "hardly stands out" in out
    assert "not to be relied on" in out


@pytest.mark.parametrize("bar_mm", [100.0, 98.0])
def test_the_check_bar_scales_the_sizes(bar_mm):
    _, out, _ = run(FOLDER / "K3-05-leather-side.jpg", json=True, bar_mm=bar_mm)
    height = json.loads(out)[0]["measures"]["height_mm"]["value"]
    records = json.loads((FOLDER / "truth.json").read_text())
    (true,) = [t["cup"]["height_mm"] for t in records if t["file"] == "K3-05-leather-side.jpg"]
    assert height == pytest.approx(true * bar_mm / 100, abs=0.8)
