"""The printed pattern: its own vectors, read back and measured against the plan."""

import math
from itertools import pairwise

import pytest
from pypdf import PdfReader

from studio.paper.pattern import CHECK_BAR_MM, CROSS_MM, Heading, pattern_pdf
from studio.paper.sheets import PAPERS
from studio.planning.solve import plan
from studio.planning.tiling import OVERLAP_MM
from studio.planning.wish import Wish

from .drawn import picture, read

CUP = {
    "shrinkage": 0.12,
    "height_mm": 95,
    "rim_diameter_mm": 85,
    "foot_side_mm": 58,
    "slab_mm": 6.35,
}
SHORT_DARTS = plan(Wish(**CUP, seam_on_corner=False))
LONG_DARTS = plan(Wish(**CUP, has_whole_wall_darts=True))
STRAIGHT = plan(Wish(**{**CUP, "foot_side_mm": None}, dart_count=0, fingers=0))
TUMBLER = plan(Wish(**{**CUP, "foot_side_mm": None}, foot_diameter_mm=60, dart_count=0, fingers=0))
VASE = plan(
    Wish(shrinkage=0.12, height_mm=250, rim_diameter_mm=180, slab_mm=8, dart_count=0, fingers=0)
)
HEADING = Heading("Slab cup", "Mid-fire stoneware", 12.0)
TIGHT = 0.01
"""A hundredth of a millimetre: what the numbers in a PDF are rounded to, and no more. [mm]"""


def sheets(planned, tmp_path, paper="letter"):
    pdf = pattern_pdf(planned, PAPERS[paper], HEADING)
    (tmp_path / "count.pdf").write_bytes(pdf)
    count = len(PdfReader(tmp_path / "count.pdf").pages)
    return [read(pdf, tmp_path, page) for page in range(count)]


def words(planned, tmp_path):
    path = tmp_path / "words.pdf"
    path.write_bytes(pattern_pdf(planned, PAPERS["letter"], HEADING))
    return [page.extract_text() for page in PdfReader(path).pages]


def joins(drawn):
    """Upright and level join lines of a sheet, found by the crosses and rings that they carry."""
    crosses = [
        line
        for line in drawn.lines
        if math.isclose(line[2] - line[0], 2 * CROSS_MM, abs_tol=TIGHT)
        and math.isclose(line[1], line[3], abs_tol=TIGHT)
    ]
    return sorted({round((line[0] + line[2]) / 2, 2) for line in crosses})


def whole(pages):
    """The lines of the wall's row of sheets, laid together on their joins; and those of the rest.

    What belongs to which is told by the join alone: on a sheet with a join on its left, the wall
    is what touches it.
    """
    laid, shift, before = [], 0.0, 0.0
    for number, page in enumerate(pages):
        places = joins(page)
        if number:
            shift = before - places[0]
        laid.append([(a + shift, b, c + shift, d) for a, b, c, d in page.lines])
        if len(places) == (1 if number == 0 else 2):
            before = places[-1] + shift
        else:
            break
    return laid


def level_lengths(lines, y):
    """Where lines at one height run, overlapping ones merged: (from, to)."""
    spans = sorted(
        (min(a, c), max(a, c))
        for a, b, c, d in lines
        if math.isclose(b, y, abs_tol=TIGHT) and math.isclose(d, y, abs_tol=TIGHT)
    )
    merged = []
    for begin, end in spans:
        if merged and begin <= merged[-1][1] + TIGHT:
            merged[-1][1] = max(merged[-1][1], end)
        else:
            merged.append([begin, end])
    return merged


def slanted(lines):
    """Lines that are neither level nor upright: the sides of darts."""
    return [line for line in lines if abs(line[0] - line[2]) > 0.5 and abs(line[1] - line[3]) > 15]


def wall_of(planned, tmp_path, paper="letter"):
    pages = sheets(planned, tmp_path, paper)
    return [line for page in whole(pages) for line in page]


def tips(lines):
    """Tips of whole darts: where two slanted lines meet at their upper ends. (x, y)"""
    tops = [max((line[:2], line[2:]), key=lambda end: end[1]) for line in slanted(lines)]
    return sorted({(round(x, 1), round(y, 2)) for x, y in tops})


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_wall_is_as_long_and_high_as_planned_across_its_sheets(paper, tmp_path):
    lines = wall_of(SHORT_DARTS, tmp_path, paper)
    rim = max(y for a, y, c, d in lines if math.isclose(y, d, abs_tol=TIGHT) and abs(c - a) > 100)
    ((begin, end),) = [
        span for span in level_lengths(lines, rim) if span[1] - span[0] > 2 * CROSS_MM
    ]
    assert end - begin == pytest.approx(SHORT_DARTS["pattern_length_mm"], abs=TIGHT)
    # The foot's edge is lowest in the middle of a side, and there the wall is as high as planned.
    low = min(min(b, d) for a, b, c, d in lines if begin - TIGHT <= a <= end and 35 < b < rim)
    assert rim - low == pytest.approx(SHORT_DARTS["pattern_height_mm"], abs=TIGHT)
    (tip,) = {y for _, y in tips(lines)}
    assert tip - low == pytest.approx(
        SHORT_DARTS["dart_depth_mm"] + SHORT_DARTS["foot_hang_mm"], abs=2 * TIGHT
    )


def test_darts_are_as_wide_as_planned_and_a_quarter_apart(tmp_path):
    lines = wall_of(SHORT_DARTS, tmp_path, "a4")
    ends = sorted(min((line[:2], line[2:]), key=lambda end: end[1])[0] for line in slanted(lines))
    ends = [x for k, x in enumerate(ends) if k == 0 or x - ends[k - 1] > 5 * TIGHT]
    assert len(ends) == 8
    mouths = list(zip(ends[::2], ends[1::2], strict=True))
    for begin, end in mouths:
        assert end - begin == pytest.approx(SHORT_DARTS["dart_mouth_mm"], abs=2 * TIGHT)
    middles = [(begin + end) / 2 for begin, end in mouths]
    for before, after in pairwise(middles):
        assert after - before == pytest.approx(SHORT_DARTS["quarter_mm"], abs=2 * TIGHT)


def test_a_dart_on_the_seam_is_half_at_either_end(tmp_path):
    lines = wall_of(LONG_DARTS, tmp_path)
    ends = sorted(min((line[:2], line[2:]), key=lambda end: end[1])[0] for line in slanted(lines))
    # Left end, three whole darts, right end; the bevels' lines stand half an overlap further in.
    assert ends[-1] - ends[0] == pytest.approx(
        LONG_DARTS["pattern_length_mm"] - LONG_DARTS["dart_mouth_mm"], abs=2 * TIGHT
    )


def test_every_line_style_has_its_word_on_every_sheet(tmp_path):
    for planned in (SHORT_DARTS, LONG_DARTS, TUMBLER):
        for said in words(planned, tmp_path):
            for meaning in ("cut", "mark, do not cut", "centre", "bevel reaches here"):
                assert meaning in said
            assert "Cut along solid lines only; broken lines are marks." in said
    assert "cut to the mark, not on to the rim" in " ".join(words(LONG_DARTS, tmp_path))
    assert "not on to the rim" not in " ".join(words(SHORT_DARTS, tmp_path))


@pytest.mark.parametrize("planned", [LONG_DARTS, SHORT_DARTS], ids=["long", "short"])
def test_scissors_along_the_solid_lines_leave_the_wall_in_one_piece(planned, tmp_path):
    # Poppler draws the sheets at 150 dots an inch; what is not parted by a solid line of ink is
    # one region of white. Marks are broken, so the paper runs through between their dashes.
    import cv2
    import numpy as np

    grey = picture(pattern_pdf(planned, PAPERS["a4"], HEADING), tmp_path, dpi=150)
    ink = (grey < 200).astype(np.uint8)
    scale = 150 / 25.4
    left, low = 10.0, 10.0 + 16.0 + (210 - 54 - planned["pattern_height_mm"]) / 2

    def row(up_mm: float) -> int:
        return grey.shape[0] - round((low + up_mm) * scale)

    ink[:, round((297 - 10) * scale) :] = 1  # the next sheet goes on here
    ink[row(planned["foot_hang_mm"] + 1), :] = 1  # the open mouths of the darts
    _, regions = cv2.connectedComponents(1 - ink, connectivity=4)
    # Between the darts, at half the wall's height, a step beside each middle.
    middle = row(planned["pattern_height_mm"] / 2)
    columns = [
        round((left + planned["lap_mm"] / 2 + planned["quarter_mm"] * (k + 0.3)) * scale)
        for k in range(3)
    ]
    found = {int(regions[middle, column]) for column in columns}
    assert len(found) == 1
    assert found != {int(regions[middle, round(5 * scale)])}


def test_neighbouring_sheets_show_the_same_in_their_overlap(tmp_path):
    first, second, *_ = whole(sheets(STRAIGHT, tmp_path, "a4"))
    (join,) = joins(sheets(STRAIGHT, tmp_path, "a4")[0])

    def crossing(lines):
        """Heights at which long level lines cross the join."""
        return {
            round(b, 2)
            for a, b, c, d in lines
            if abs(b - d) < TIGHT and min(a, c) <= join - 3 and max(a, c) >= join + 3
            if abs(c - a) > 2 * CROSS_MM + 1
        }

    rim, foot = STRAIGHT["pattern_height_mm"], min(crossing(first))
    assert crossing(first) == crossing(second)
    assert crossing(first) == {foot, round(foot + rim, 2)}
    # Both sheets go on for half an overlap beyond the join.
    beyond = max(max(a, c) for a, b, c, d in first if math.isclose(b, foot, abs_tol=TIGHT))
    behind = min(min(a, c) for a, b, c, d in second if math.isclose(b, foot, abs_tol=TIGHT))
    assert (beyond - join, join - behind) == pytest.approx((OVERLAP_MM / 2,) * 2, abs=TIGHT)


def test_a_tall_wall_takes_rows_of_sheets_that_cover_all_of_it(tmp_path):
    pages = sheets(VASE, tmp_path, "a4")
    said = words(VASE, tmp_path)
    assert sum("Wall" in page for page in said) == 6
    row = [line for page in whole(pages[:3]) for line in page]
    low = min(min(b, d) for a, b, c, d in row if abs(a - c) > 50)
    ((begin, end),) = [s for s in level_lengths(row, low) if s[1] - s[0] > 100]
    assert end - begin == pytest.approx(VASE["pattern_length_mm"], abs=TIGHT)
    # The left edge, on the lower and the upper sheet, less what both show.
    edges = [
        max(abs(b - d) for a, b, c, d in pages[number].lines if a < 12 and abs(a - c) < TIGHT)
        for number in (0, 3)
    ]
    assert sum(edges) - OVERLAP_MM == pytest.approx(VASE["pattern_height_mm"], abs=TIGHT)


def test_the_base_is_the_planned_square(tmp_path):
    page = sheets(SHORT_DARTS, tmp_path)[-1]
    side, corner = SHORT_DARTS["base_side_mm"], SHORT_DARTS.cup.corner_mm / 0.88
    flats = [
        line
        for line in page.lines
        if math.isclose(math.dist(line[:2], line[2:]), side - 2 * corner, abs_tol=TIGHT)
    ]
    level = sorted(b for a, b, c, d in flats if abs(b - d) < TIGHT)
    upright = sorted(a for a, b, c, d in flats if abs(a - c) < TIGHT)
    assert level[-1] - level[0] == pytest.approx(65.909091, abs=TIGHT)  # 58 / 0.88
    assert upright[-1] - upright[0] == pytest.approx(65.909091, abs=TIGHT)


def test_the_strap_is_as_long_as_planned(tmp_path):
    lengths = [math.dist(line[:2], line[2:]) for line in sheets(SHORT_DARTS, tmp_path)[-1].lines]
    strap = SHORT_DARTS["strap_length_mm"]
    assert sum(math.isclose(length, strap, abs_tol=TIGHT) for length in lengths) == 2


@pytest.mark.parametrize("planned", [SHORT_DARTS, VASE], ids=["cup", "vase"])
def test_every_sheet_has_its_bar_of_100_mm_and_names_the_clay(planned, tmp_path):
    for drawn, said in zip(sheets(planned, tmp_path), words(planned, tmp_path), strict=True):
        (bar,) = [r for r in drawn.rectangles if r[2] > 50]
        assert bar[2] == pytest.approx(CHECK_BAR_MM, abs=TIGHT)
        assert "Mid-fire stoneware, shrinks 12 % from wet to glazed" in said
        assert "This bar is 100 mm long" in said


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("planned", [SHORT_DARTS, LONG_DARTS, VASE], ids=["cup", "long", "vase"])
def test_nothing_is_drawn_where_a_printer_leaves_white(planned, paper, tmp_path):
    for drawn in sheets(planned, tmp_path, paper):
        for a, b, c, d in drawn.lines:
            for x, y in ((a, b), (c, d)):
                assert 5 < x < drawn.width_mm - 5
                assert 5 < y < drawn.height_mm - 5


def test_words_on_the_wall_tell_bevel_and_darts(tmp_path):
    said = " ".join(words(SHORT_DARTS, tmp_path))
    assert "bevel 45°, overlap 6.3 mm, this face" in said or "overlap 6.4 mm, this face" in said
    assert "dart 14.4 wide, 35.7 deep" in said
    assert "handle: make at least two" in said


def test_a_plan_that_cannot_be_made_has_no_pattern():
    broken = plan(Wish(**{**CUP, "foot_side_mm": 80}))
    with pytest.raises(ValueError, match="darts only take in"):
        pattern_pdf(broken, PAPERS["a4"], HEADING)
