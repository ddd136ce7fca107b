"""The finding on the piece's own photo: drawn where the camera knows how the piece stands in it.

Only what is to be worked on is drawn, and only on a photo of the stage at which it was measured.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from rubrics.checks.saying import needs_work
from rubrics.craft.results import WITHIN
from rubrics.reports.result_json import Facts
from rubrics.reports.sentences import phrase
from rubrics.reports.wording import judged_of, quantity
from studio.models import Photo
from studio.photos.on_cup import Box, CupInSide, Point, handle_from_above, side_view

MEASURED, MEANT = "measured", "meant"
"""What is, and what it would be: a whole line and a broken one."""
RIM_STEPS = 72
LETTER_SHARE = 0.05
"""Height of the letters as a share of the window's width: 15 px on a drawing of 300 px."""
LABEL_RISE = 1.4
"""A label stands so many letters' heights away from its place."""


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """A line on a photo; ``role`` is MEASURED or MEANT. [px]"""

    points: tuple[Point, ...]
    role: str

    @property
    def svg_points(self) -> str:
        return " ".join(f"{x:.1f},{y:.1f}" for x, y in self.points)


@dataclass(frozen=True, slots=True)
class PhotoSpot:
    """A place on a photo with its words; one behind the piece is drawn open. [px]"""

    at: Point
    words: str
    behind: bool
    label: Point
    anchor: str


@dataclass(frozen=True, slots=True)
class OnPhoto:
    """One finding on one photo, cut to the piece."""

    photo: Photo
    box: Box
    lines: tuple[PhotoLine, ...]
    spots: tuple[PhotoSpot, ...]
    legend: str
    description: str

    @property
    def view_box(self) -> str:
        box = self.box
        return f"{box.x:.1f} {box.y:.1f} {box.width:.1f} {box.height:.1f}"

    @property
    def letter(self) -> float:
        """Height of the letters. [px of the photo]"""
        return LETTER_SHARE * self.box.width


def on_photo(check: str, facts: Facts, photos: Iterable[Photo]) -> OnPhoto | None:
    """Draw what a check found on one of the piece's photos.

    Parameters
    ----------
    check : str
        Name of the check.
    facts : dict
        Its frozen facts.
    photos : iterable of Photo
        Of the piece, of any stage.

    Returns
    -------
    OnPhoto or None
        None where nothing is to be worked on, the check is not one that shows on the outside, or
        no photo of that stage tells how the piece stands in it.
    """
    draw = DRAWN.get(check)
    if draw is None or facts.get("refused") or not needs_work(facts):
        return None
    same = [photo for photo in photos if photo.stage == facts["stage"]]
    return draw(check, facts, same)


def _rim(check: str, facts: Facts, photos: list[Photo]) -> OnPhoto | None:
    cup, stations = side_view(photos), facts["stations"]
    if cup is None or not stations:
        return None
    # The photo's own rim is the middle of what was read, so that the lines lie on the picture.
    mean = float(np.mean([each["value_mm"] for each in stations]))
    around = sorted((each["azimuth_deg"] % 360.0, each["value_mm"] - mean) for each in stations)
    azimuths, above = np.transpose(around)
    steps = np.arange(RIM_STEPS) * 360.0 / RIM_STEPS
    heights = cup.body.height + np.interp(steps, azimuths, above, period=360.0)
    radius = cup.body.rim_width / 2
    level = cup.body.height + float(above.min())
    high = max(stations, key=lambda each: each["value_mm"])
    spot = _spot(
        cup,
        cup.at(high["azimuth_deg"], cup.body.height + high["value_mm"] - mean, radius),
        f"+{quantity('_mm', facts['rise_mm'])}",
        behind=False,
    )
    lines = (
        _closed(cup.ring([level] * RIM_STEPS, radius), MEANT),
        _closed(cup.ring(heights, radius), MEASURED),
    )
    legend = "Whole line: the rim as it was read. Broken line: level with its lowest point."
    return OnPhoto(cup.photo, cup.box, lines, (spot,), legend, phrase(check, facts))


def _wall(check: str, facts: Facts, photos: list[Photo]) -> OnPhoto | None:
    cup = side_view(photos)
    if cup is None:
        return None
    spots = []
    for place in _places_outside(facts):
        where = facts[place]
        height, azimuth = min(where["height_mm"], cup.body.height), where["azimuth_deg"]
        at = cup.at(azimuth, height, cup.radius_at(height))
        is_behind = not cup.faces(azimuth)
        said = f"{place} {quantity('_mm', where['value_mm'])}"
        spots.append(_spot(cup, at, f"{said}, behind" if is_behind else said, behind=is_behind))
    if not spots:
        return None
    apart = tuple(_apart(spots, cup))
    legend = "An open ring lies behind." if any(spot.behind for spot in apart) else ""
    return OnPhoto(cup.photo, cup.box, (), apart, legend, phrase(check, facts))


def _places_outside(facts: Facts) -> list[str]:
    """The places that are thin or thick by themselves; else both, where they differ too much."""

    def is_outside(figure: str) -> bool:
        judged = judged_of(facts, figure)
        return judged is not None and judged["verdict"] != WITHIN

    by_itself = {"thinnest": "too_thin_mm", "thickest": "too_thick_mm"}
    told = [place for place, figure in by_itself.items() if is_outside(figure)]
    if not told and is_outside("scaled_spread_mm"):
        told = list(by_itself)
    return [place for place in told if facts.get(place)]


def _handle(check: str, facts: Facts, photos: list[Photo]) -> OnPhoto | None:
    judged = judged_of(facts, "twist_deg")
    if judged is None or judged["verdict"] == WITHIN:
        return None
    side = side_view(photos)
    handle = handle_from_above(photos, side.body.height if side else None)
    if handle is None:
        return None
    lines = (
        PhotoLine((handle.middle, handle.root, handle.true_tip), MEANT),
        PhotoLine((handle.root, handle.tip), MEASURED),
    )
    legend = "Whole line: the handle. Broken line: straight away from the middle of the rim."
    return OnPhoto(handle.photo, handle.box, lines, (), legend, phrase(check, facts))


DRAWN: dict[str, Callable[[str, Facts, list[Photo]], OnPhoto | None]] = {
    "rim_level": _rim,
    "wall_evenness": _wall,
    "handle_alignment": _handle,
}


def _closed(points: list[Point], role: str) -> PhotoLine:
    return PhotoLine((*points, points[0]), role)


def _spot(cup: CupInSide, at: Point, words: str, *, behind: bool) -> PhotoSpot:
    """A place with its label over it, inside the window."""
    box, letter = cup.box, LETTER_SHARE * cup.box.width
    x, y = at
    is_left = x < box.x + box.width / 3
    is_right = x > box.x + 2 * box.width / 3
    anchor = "start" if is_left else "end" if is_right else "middle"
    rise = LABEL_RISE * letter
    label_y = y - rise if y - rise - letter > box.y else y + rise + letter
    return PhotoSpot(at, words, behind, (x, label_y), anchor)


def _apart(spots: list[PhotoSpot], cup: CupInSide) -> list[PhotoSpot]:
    """The same with the second label under its place, where both stand at one height."""
    letter = LETTER_SHARE * cup.box.width
    if len(spots) < 2 or abs(spots[0].label[1] - spots[1].label[1]) > LABEL_RISE * letter:
        return spots
    lower = max(spots, key=lambda spot: spot.at[1])
    x, y = lower.at
    moved = replace(lower, label=(x, y + (LABEL_RISE + 1) * letter))
    return [moved if spot is lower else spot for spot in spots]
