"""The door: which stage, which checks, refusals, and never a number that is none."""

import gc
import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rubrics.checks.compute import check_piece, check_pieces
from rubrics.checks.register import checks
from rubrics.craft.levels import suggest
from rubrics.craft.plan import Plan
from rubrics.craft.readings import Reading, ReadingsError
from rubrics.craft.results import Refused, as_figures
from studio.ware.quantities import QUANTITIES
from studio.ware.stages import STAGES

from .pieces import PLAN, full_piece, reading

AGREED_FIGURES = {
    "wall_evenness": "spread_mm mean_mm sd_mm cv thick_side_deg foot_to_rim_mm_per_10mm",
    "rim_level": "tilt_deg high_side_deg flatness_mm rise_mm",
    "seam_join": "open_fraction longest_open_mm largest_step_mm",
    "handle_alignment": "lean_deg twist_deg placement_deg",
    "shrinkage": "linear_shrinkage volume_shrinkage",
    "squared_foot": "side_spread_mm diagonal_difference_mm",
    "capacity": "capacity_ml",
}


def _finite(value):
    return value is None or isinstance(value, str) or math.isfinite(value)


def test_a_full_piece_has_all_seven_checks_with_the_agreed_figures():
    results = check_piece(full_piece(1), PLAN)
    assert tuple(results) == tuple(checks())
    for check, figures in AGREED_FIGURES.items():
        flat = as_figures(results[check])
        for figure in figures.split():
            assert flat[figure] is not None, (check, figure)
            assert flat[f"u_{figure}"] > 0, (check, figure)
        assert flat["stage"] == results[check].stage
        assert flat["verdict"] in {"within", "too close to call", "outside"}


def test_results_of_a_full_piece_can_be_written_as_json():
    flat = {name: as_figures(r) for name, r in check_piece(full_piece(2), PLAN).items()}
    assert json.loads(json.dumps(flat, allow_nan=False)) == flat


def test_names_of_checks_and_results_agree():
    assert [check.result.check for check in checks().values()] == list(checks())


def test_nothing_read_gives_nothing():
    assert check_piece([], PLAN) == {}
    assert check_piece([reading("dimension", "wet", 100, "mark")], PLAN) == {}


def _walls(stage, n=4):
    return [reading("wall_thickness", stage, 6, azimuth=az) for az in (0, 90, 180, 270)[:n]]


def test_the_latest_stage_is_taken():
    results = check_piece([*_walls("bisque"), *_walls("leather-hard")], PLAN)
    assert results["wall_evenness"].stage == "bisque"


def test_a_stage_may_be_asked_for():
    readings = [*_walls("bisque"), *_walls("leather-hard")]
    assert check_piece(readings, PLAN, "leather-hard")["wall_evenness"].stage == "leather-hard"
    assert check_piece(readings, PLAN, "wet") == {}
    with pytest.raises(ReadingsError, match="“fired” is not a stage"):
        check_piece(readings, PLAN, "fired")


def test_too_few_at_the_latest_stage_fall_back_on_an_earlier_one():
    results = check_piece([*_walls("glazed", 2), *_walls("leather-hard")], PLAN)
    assert results["wall_evenness"].stage == "leather-hard"


def test_a_wrong_reading_is_not_hidden_by_an_earlier_stage():
    wrong = [*_walls("glazed", 3), reading("wall_thickness", "glazed", -6, azimuth=270)]
    result = check_piece([*wrong, *_walls("leather-hard")], PLAN)["wall_evenness"]
    assert isinstance(result, Refused)
    assert (result.check, result.stage) == ("wall_evenness", "glazed")
    assert as_figures(result) == {"stage": "glazed", "refused": result.sentence}


def test_too_few_everywhere_are_refused_at_the_latest():
    result = check_piece([*_walls("glazed", 2), *_walls("wet", 3)], PLAN)["wall_evenness"]
    assert (result.stage, "has 2" in result.sentence) == ("glazed", True)


@pytest.mark.parametrize(
    ("readings", "check", "sentence"),
    [
        (
            [reading("rim_height", "glazed", 90) for _ in range(4)],
            "rim_level",
            "lacks its place round the rim",
        ),
        ([reading("foot_side", "glazed", 58, "north")], "squared_foot", "named “north”"),
        (
            [reading("handle_top", "glazed", 80)],
            "handle_alignment",
            "lacks its place round the cup",
        ),
        ([reading("water_mass", "bisque", 280, "brim")], "capacity", "glazed piece only"),
        ([reading("dimension", "glazed", 88, "mark")], "shrinkage", "was also read wet"),
    ],
)
def test_refusals_reach_the_door_as_sentences(readings, check, sentence):
    result = check_piece(readings, PLAN)[check]
    assert isinstance(result, Refused)
    assert sentence in result.sentence
    assert result.sentence.endswith(".")


def test_radius_of_the_rim_and_where_it_comes_from():
    rim = [reading("rim_height", "bisque", 90 + az / 100, azimuth=az) for az in (0, 120, 240)]
    diameter = reading("dimension", "bisque", 84, "rim_diameter")
    wet = reading("dimension", "wet", 96, "rim_diameter")
    read, scaled, planned = (
        check_piece(rim + more, PLAN)["rim_level"] for more in ([diameter, wet], [wet], [])
    )
    assert (read.radius_mm, read.radius_source) == (42, "read")
    assert scaled.radius_source == "scaled"
    assert scaled.radius_mm == pytest.approx(48 * (1 - 0.065))
    assert planned.radius_source == "plan"
    assert planned.radius_mm == pytest.approx(42.5 / 0.88 * 0.935)


def test_an_oval_rim_counts_with_its_mean_diameter_but_shrinks_by_each():
    readings = [reading("rim_height", "glazed", 90, azimuth=az) for az in (0, 120, 240)]
    for name, wet, glazed in (("rim_diameter", 90, 80), ("rim_diameter_2", 100, 88)):
        readings += [reading("dimension", "wet", wet, name)]
        readings += [reading("dimension", "glazed", glazed, name)]
    results = check_piece(readings, PLAN)
    assert results["rim_level"].radius_mm == 42
    assert [d.now_mm for d in results["shrinkage"].dimensions] == [80, 88]


def test_a_glazed_opening_is_the_one_that_counts():
    handle = check_piece(full_piece(3), PLAN)["handle_alignment"]
    assert (handle.stage, handle.opening_stage, handle.opening_source) == (
        "leather-hard",
        "glazed",
        "read",
    )


def test_the_seam_is_where_it_was_read_else_where_the_plan_has_it():
    attached = [
        reading("handle_top", "glazed", 80, azimuth=10),
        reading("handle_bottom", "glazed", 30, azimuth=10),
    ]
    handle = check_piece(attached, PLAN)["handle_alignment"]
    assert (handle.seam_azimuth_deg, handle.placement_deg) == (180, pytest.approx(10))
    seam = reading("seam_length", "glazed", 95, "seam", azimuth=185)
    handle = check_piece([*attached, seam], PLAN)["handle_alignment"]
    assert (handle.seam_azimuth_deg, handle.placement_deg) == (185, pytest.approx(5))


def test_gaps_may_be_read_later_than_the_sides():
    foot = check_piece(
        [
            *[reading("foot_side", "leather-hard", 58, str(k)) for k in (1, 2, 3, 4)],
            reading("foot_gap", "glazed", 0.4, "2"),
        ],
        PLAN,
    )["squared_foot"]
    assert (foot.stage, foot.gap_stage, foot.rock_mm) == ("leather-hard", "glazed", 0.4)


def test_shrinkage_pairs_a_size_with_the_same_size_wet():
    results = check_piece(
        [
            reading("dimension", "wet", 100, "diameter", height=45),
            reading("dimension", "glazed", 88, "diameter", height=45),
            reading("dimension", "glazed", 70, "diameter", height=20),
        ],
        PLAN,
    )
    (only,) = results["shrinkage"].dimensions
    assert (only.name, only.height_mm, only.shrinkage) == ("diameter", 45, pytest.approx(0.12))


def test_without_a_plan_what_was_measured_is_still_told():
    bare = Plan(sizes_mm={}, shrinkage={}, shrinkage_spread={}, capacity_ml=None, limits={})
    results = check_piece(full_piece(6), bare)
    assert not any(isinstance(result, Refused) for result in results.values())
    assert results["rim_level"].rise_mm > 0
    assert results["shrinkage"].planned_shrinkage is None
    assert {result.verdict for result in results.values()} == {None}


def test_a_batch_leaves_the_collector_as_it_was():
    assert gc.isenabled()
    check_pieces({"a": []}, PLAN)
    assert gc.isenabled()
    with pytest.raises(KeyError):
        check_pieces({"a": []}, {})
    assert gc.isenabled()


def test_many_pieces_and_a_plan_for_each():
    readings = {"a": full_piece(1), "b": full_piece(1)}
    plans = {"a": PLAN, "b": Plan(limits={})}
    results = check_pieces(readings, plans)
    assert results["a"] == check_piece(readings["a"], PLAN)
    assert results["b"]["rim_level"].verdict is None
    assert results["b"]["rim_level"].rise_mm == results["a"]["rim_level"].rise_mm


@given(st.permutations(range(58)))
@settings(max_examples=25)
def test_the_order_of_all_readings_does_not_matter(order):
    readings = full_piece(4)
    assert len(readings) == 58
    before = check_piece(readings, PLAN)
    after = check_piece([readings[i] for i in order], PLAN)
    for name, result in before.items():
        flat, other = as_figures(result), as_figures(after[name])
        for key, value in flat.items():
            if isinstance(value, float):
                assert other[key] == pytest.approx(value, rel=1e-6, abs=1e-7), key
            else:
                assert other[key] == value, key


@pytest.mark.parametrize(
    ("quantity", "stage", "sentence"),
    [("wall", "wet", "“wall” is not something"), ("rim_height", "fired", "“fired” is not a stage")],
)
def test_a_reading_of_nothing_known_is_refused_at_birth(quantity, stage, sentence):
    with pytest.raises(ReadingsError, match=sentence):
        Reading(quantity, stage, 1.0, 0.1)


NAMES = (
    "",
    "seam",
    "dart1",
    "beside",
    "height",
    "rim_diameter",
    "foot_side",
    "depth",
    "diameter",
    "max_diameter",
    "1",
    "2",
    "3",
)
any_number = st.one_of(
    st.floats(-1000, 5000), st.just(0.0), st.just(math.nan), st.just(math.inf), st.floats(1, 120)
)
any_reading = st.builds(
    Reading,
    st.sampled_from(list(QUANTITIES)),
    st.sampled_from(STAGES),
    any_number,
    st.floats(0, 3),
    st.sampled_from(NAMES),
    st.one_of(st.none(), st.floats(0, 200)),
    st.one_of(st.none(), st.floats(-400, 400)),
)


@given(st.lists(any_reading, max_size=40))
@settings(max_examples=300)
def test_whatever_is_read_there_is_a_finite_figure_or_a_sentence(readings):
    for result in check_piece(readings, PLAN).values():
        flat = as_figures(result)
        assert all(map(_finite, flat.values())), flat
        if isinstance(result, Refused):
            assert result.sentence.endswith(".")
    suggest(check_piece(readings, PLAN), list(PLAN.limits.values()))


any_change = st.tuples(st.integers(0, 57), any_number)


@given(st.lists(any_change, max_size=6), st.sets(st.integers(0, 57), max_size=20))
@settings(max_examples=200)
def test_a_full_piece_with_slips_and_holes_never_breaks(changes, left_out):
    readings = full_piece(5)
    for at, value in changes:
        old = readings[at]
        readings[at] = Reading(
            old.quantity, old.stage, value, old.u, old.name, old.height_mm, old.azimuth_deg
        )
    kept = [r for i, r in enumerate(readings) if i not in left_out]
    for result in check_piece(kept, PLAN).values():
        assert all(map(_finite, as_figures(result).values()))
