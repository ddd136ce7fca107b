"""Colours that are told apart by contrast, in grey, and by colour-blind eyes.

Sources: WCAG 2.2, success criteria 1.4.3 (text 4.5:1) and 1.4.11 (graphics 3:1) and the
definition of relative luminance, from memory, the luminance weights also as in IEC 61966-2-1.
Simulation of colour blindness: Viénot, Brettel, Mollon, Color Res. Appl. 24 (1999) 243-252,
from memory, not verified.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from rubrics.reports import palette
from rubrics.reports.palette import LINE_ROLES, LOOKS, TEXT_ROLES, Role, contrast, luminance

PAGE_GROUNDS = ("#ffffff", palette.SHEET, "#f7f3ec")
LEAST_APART = 0.05
"""Relative luminance by which two fills that lie side by side must differ."""


def test_contrast_of_black_and_white():
    # WCAG 2.2: "contrast ratios can range from 1 to 21".
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == pytest.approx(1)
    # Widely published example: #767676 is the lightest grey of 4.5:1 on white.
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("ground", [*PAGE_GROUNDS, palette.CLAY_WASH])
@pytest.mark.parametrize("role", TEXT_ROLES)
def test_words_can_be_read_on_every_ground(role, ground):
    assert contrast(LOOKS[role].fill, ground) >= 4.5


@pytest.mark.parametrize("ground", PAGE_GROUNDS)
@pytest.mark.parametrize("role", LINE_ROLES)
def test_lines_stand_out_from_every_ground(role, ground):
    assert contrast(LOOKS[role].stroke, ground) >= 3


@pytest.mark.parametrize(
    ("line", "fill"),
    [
        (Role.MEASURE, Role.BAND),
        (Role.LIMIT, Role.BAND),
        (Role.MEASURE_WASH, Role.CLAY),
        (Role.OPEN, Role.CLAY),
        (Role.ASK, Role.CLAY),
        (Role.PLAN, Role.MEASURE_WASH),
    ],
)
def test_lines_stand_out_from_the_fills_they_cross(line, fill):
    assert contrast(LOOKS[line].stroke, LOOKS[fill].fill) >= 3


def grey(colour):
    return luminance(colour)


def as_seen(colour, lacking):
    """A colour as one who lacks a cone sees it (Viénot 1999), as linear rgb."""
    rgb = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]) ** 2.2
    to_lms = np.array(
        [[17.8824, 43.5161, 4.11935], [3.45565, 27.1554, 3.86714], [0.0299566, 0.184309, 1.46709]]
    )
    seen = {
        "protanope": np.array([[0, 2.02344, -2.52581], [0, 1, 0], [0, 0, 1]]),
        "deuteranope": np.array([[1, 0, 0], [0.494207, 0, 1.24827], [0, 0, 1]]),
    }[lacking]
    return np.linalg.inv(to_lms) @ seen @ to_lms @ rgb


def test_lines_that_mean_different_things_differ_without_colour():
    def trait(role):
        look = LOOKS[role]
        return (look.width, look.dash, round(grey(look.stroke), 1))

    meant = (Role.AXIS, Role.LIMIT, Role.PLAN, Role.MEASURE)
    traits = [trait(role) for role in meant]
    assert len(set(traits)) == len(traits)


@pytest.mark.parametrize(
    ("one", "other"),
    list(itertools.combinations((Role.CLAY_DARK, Role.MEASURE_WASH, Role.CRACK), 2)),
)
def test_fills_side_by_side_differ_in_grey(one, other):
    assert abs(grey(LOOKS[one].fill) - grey(LOOKS[other].fill)) >= LEAST_APART


@pytest.mark.parametrize("lacking", ["protanope", "deuteranope"])
def test_clay_and_slate_differ_for_colour_blind_eyes(lacking):
    clay, slate = as_seen(palette.CLAY, lacking), as_seen(palette.SLATE, lacking)
    assert np.linalg.norm(clay - slate) >= LEAST_APART
