"""Likely slips of the pen. The walls are the demo class's own (invented); the edges are ours."""

import pytest

from studio.ware.typing_slips import choose_reference, likely_slip, point_left_out
from studio.ware.units import parse_measure

# Leather-hard walls at N E S W of the demo class: poor craft, but honestly read.
HONEST_WALLS = [
    (5.9, 6.1, 6.0, 6.3),
    (6.1, 7.9, 9.4, 7.2),
    (4.9, 6.8, 6.5, 5.2),
    (7.4, 9.8, 10.6, 8.1),
    (6.0, 8.8, 9.5, 7.0),
]


def ask(text, quantity="wall_thickness", *, default="mm", unit="mm", **neighbours):
    measured = parse_measure(text, "mm", default)
    reference = choose_reference(quantity, **neighbours)
    return likely_slip(float(measured.value), measured.typed, reference, unit=unit)


@pytest.mark.parametrize("walls", HONEST_WALLS)
def test_uneven_walls_are_craft_and_not_slips(walls):
    for place, wall in enumerate(walls):
        own = [*walls[:place], *walls[place + 1 :]]
        assert ask(str(wall), own=own) is None


OWN = {"own": (6.4, 6.2, 5.9)}


@pytest.mark.parametrize(
    ("text", "kind", "question", "suggestion"),
    [
        ("64", "point", "64? Did you mean 6.4?", "6.4 mm"),
        ("0.64", "point", "0.64? Did you mean 6.4?", "6.4 mm"),
        # The nought is no digit to swap: 6.02 lies nearer the others and is not what was meant.
        ("0.62", "point", "0.62? Did you mean 6.2?", "6.2 mm"),
        ("0.25", "inch", "0.25? Did you mean 0.25 in?", "0.25 in"),
        ("6.4 in", "inch", "6.4 in? Did you mean 6.4?", "6.4 mm"),
        (
            "10.6",
            "far",
            "10.6 is far from the others on this piece, about 6.2 mm. Does it stand?",
            "",
        ),
    ],
)
def test_a_slip_is_asked_about_and_never_mended(text, kind, question, suggestion):
    slip = ask(text, **OWN)
    assert (slip.kind, slip.question, slip.suggestion) == (kind, question, suggestion)


def test_millimetres_typed_among_inches():
    slip = ask("6.4", default="in", unit="in", **OWN)
    assert (slip.question, slip.suggestion) == ("6.4? Did you mean 6.4 mm?", "6.4 mm")


@pytest.mark.parametrize(
    ("text", "kind", "suggestion"),
    [
        ("59.1", "swapped", "95.1 mm"),
        ("9.51", "point", "95.1 mm"),
        ("951", "point", "95.1 mm"),
        ("3.75", "inch", "3.75 in"),
        ("115", "far", ""),
    ],
)
def test_a_rim(text, kind, suggestion):
    slip = ask(text, "rim_height", own=(95.1, 94.6, 95.3))
    assert (slip.kind, slip.suggestion) == (kind, suggestion)


def test_four_equal_readings_do_not_make_the_fifth_suspect():
    # The median absolute deviation is 0 here; the floor holds.
    assert ask("7.1", own=(6.0, 6.0, 6.0, 6.0)) is None


def test_one_slip_among_the_neighbours_is_outvoted():
    assert ask("6.2", own=(64.0, 6.4, 6.0)) is None


def test_first_the_piece_then_the_batch_then_the_plan():
    assert choose_reference("wall_thickness", own=(6, 6, 6), batch=(9, 9, 9)).middle == 6
    assert choose_reference("wall_thickness", own=(6,), batch=(9, 9, 9)).middle == 9
    assert choose_reference("wall_thickness", own=(6,), planned=7).middle == 7
    assert choose_reference("wall_thickness", own=(6,)).middle == 6
    assert choose_reference("wall_thickness") is None


def test_what_may_honestly_be_anything_is_not_asked_about():
    assert choose_reference("seam_open", batch=(0, 0, 0, 14)) is None
    assert ask("40", "seam_open", batch=(0, 0, 0, 0)) is None


def test_with_nothing_to_compare_nothing_is_asked():
    assert ask("64") is None


# -- the point that was left out ----------------------------------------------------------------

RIM = choose_reference("rim_height", own=(95.1, 94.6, 95.3))
WALL = choose_reference("wall_thickness", **OWN)


@pytest.mark.parametrize(
    ("typed", "reference", "taken"),
    [
        ("64 mm", WALL, "6.4 mm"),
        ("58 mm", WALL, "5.8 mm"),
        ("60 mm", WALL, "6 mm"),
        ("952 mm", RIM, "95.2 mm"),
        # A lump of 12 mm is possible; so is nothing that a tenth of it would be.
        ("12 mm", WALL, ""),
        # 6.4 is not far enough off to be impossible as it stands.
        ("30 mm", WALL, ""),
        # A point was typed: asked about, not taken.
        ("0.62 mm", WALL, ""),
        ("64.0 mm", WALL, ""),
        # Nothing near: neither 64 nor 6.4 of anything.
        ("640 mm", WALL, ""),
        ("64 mm", None, ""),
    ],
)
def test_a_point_left_out_is_seen_where_nothing_else_is_possible(typed, reference, taken):
    assert point_left_out(typed, reference) == taken


def test_two_readings_of_one_text_are_asked_about():
    """61 is 6.1 without its point and 16 with its digits swapped; beside 10 both could be."""
    wide = choose_reference("seam_thickness", batch=(10.0, 10.0, 10.0))
    assert point_left_out("61 mm", wide) == ""
    assert point_left_out("99 mm", wide) == "9.9 mm"
    assert point_left_out("99 g", wide, base="g") == ""
