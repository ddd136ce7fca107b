"""The command that checks a file of readings: JSON, table, and every bad line by its number."""

import csv
import io
import json

import pytest
from django.core.management import CommandError, call_command

from rubrics.checks.compute import check_pieces
from rubrics.craft.results import as_figures
from studio.measuring.readings_csv import COLUMNS

from .pieces import PLAN, full_piece

UNITS = {"water_mass": "g", "handle_twist": "deg"}


def _csv(pieces):
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for code, readings in pieces.items():
        for r in readings:
            where = (r.name, r.height_mm, r.azimuth_deg)
            writer.writerow(
                [code, r.stage, r.quantity, *where, r.value, UNITS.get(r.quantity, "mm"), ""]
            )
    return out.getvalue()


@pytest.fixture
def file(tmp_path):
    def write(text, name="readings.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


def _run(*args, **options):
    out, err = io.StringIO(), io.StringIO()
    call_command("check_readings", *args, stdout=out, stderr=err, **options)
    return out.getvalue(), err.getvalue()


def test_json_has_the_same_figures_as_the_checks(file):
    pieces = {"A1": full_piece(1), "B2": full_piece(2)}
    out, err = _run(file(_csv(pieces)), "--json")
    expected = check_pieces(pieces, PLAN)
    printed = json.loads(out)["pieces"]
    assert list(printed) == ["A1", "B2"]
    assert err == ""
    for code, checks in expected.items():
        assert list(printed[code]) == list(checks)
        for name, result in checks.items():
            figures = as_figures(result)
            assert printed[code][name].keys() == figures.keys()
            assert printed[code][name]["verdict"] == figures["verdict"]
            for key, value in figures.items():
                if isinstance(value, float):
                    # The file keeps stations to a hundredth.
                    assert printed[code][name][key] == pytest.approx(value, abs=1e-3), key


def test_a_refused_check_carries_its_sentence(file):
    out, _ = _run(
        file("piece,stage,quantity,azimuth_deg,value\nA1,wet,rim_height,0,90\n"), "--json"
    )
    (rim,) = json.loads(out)["pieces"]["A1"].values()
    assert rim == {
        "stage": "wet",
        "refused": "Rim level needs at least 3 heights round the rim and has 1; "
        "read at eight places if there is time.",
    }


def test_every_bad_line_is_named_by_its_number(file):
    text = (
        "piece,stage,quantity,azimuth_deg,value\n"
        "A1,wet,rim_height,0,90\n"
        "A1,fired,rim_height,90,90\n"
        "A1,wet,rim_height,180,ninety\n"
        "A1,wet,rim_height,0,95\n"
    )
    with pytest.raises(CommandError) as caught:
        _run(file(text), "--json")
    assert caught.value.returncode == 2
    lines = str(caught.value).splitlines()
    assert lines[0] == "readings.csv was not used; 3 problems:"
    assert [line.split(":")[0] for line in lines[1:]] == ["Line 3", "Line 4", "Line 5"]


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(CommandError, match="cannot be read") as caught:
        _run(str(tmp_path / "none.csv"))
    assert caught.value.returncode == 2


def test_the_table_reads_without_json(file):
    out, _ = _run(file(_csv({"A1": full_piece(1)})))
    lines = out.splitlines()
    assert lines[0].split() == ["piece", "check", "stage", "verdict", "figures"]
    assert len(lines) == 8
    assert lines[2].startswith("A1     rim level")
    assert "rise_deg" in lines[2]


def test_a_stage_and_a_plan_change_the_outcome(file):
    readings = file(_csv({"A1": full_piece(1)}))
    plan = file('{"limits": {"handle_alignment.twist_deg": 0.1}}', "plan.json")
    out, _ = _run(readings, "--json", "--stage", "leather-hard", "--plan", plan)
    piece = json.loads(out)["pieces"]["A1"]
    assert {result["stage"] for result in piece.values()} == {"leather-hard"}
    assert piece["handle_alignment"]["verdict"] == "outside"


@pytest.mark.parametrize(
    ("plan", "sentence"),
    [
        ('{"slab_mm": -1}', "slab_mm must be more than zero"),
        ("{", "is not JSON: line 1"),
        ('{"slab_mm": NaN}', "slab_mm must be a number"),
    ],
)
def test_a_bad_plan_is_told_by_its_field(file, plan, sentence):
    with pytest.raises(CommandError, match=sentence) as caught:
        _run(file(_csv({"A1": full_piece(1)})), "--plan", file(plan, "plan.json"))
    assert caught.value.returncode == 2


def test_an_instrument_that_the_plan_lacks_is_told(file):
    head = "piece,stage,quantity,azimuth_deg,value,instrument\n"
    rows = [f"A1,wet,rim_height,{az},90,laser" for az in (0, 120, 240)]
    out, err = _run(file(head + "\n".join(rows)), "--json")
    assert "no instrument “laser”" in err
    assert json.loads(out)["pieces"]["A1"]["rim_level"]["rise_mm"] == 0


def test_a_named_instrument_sets_the_uncertainty(file):
    head = "piece,stage,quantity,azimuth_deg,value,instrument\n"
    rows = [f"A1,wet,rim_height,{az},90,Comb" for az in (0, 120, 240)]
    plan = file('{"instruments": {"comb": {"resolution": 0, "repeatability": 0.3}}}', "plan.json")
    out, _ = _run(file(head + "\n".join(rows)), "--json", "--plan", plan)
    u_rise = json.loads(out)["pieces"]["A1"]["rim_level"]["u_rise_mm"]
    assert u_rise == pytest.approx(0.3 * 2**0.5)  # a gauge laid on the rim presses no clay
