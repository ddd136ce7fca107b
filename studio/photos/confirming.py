"""From a photo's sizes to readings: only what a teacher confirms, and only where it is sure.

A measure becomes a reading under the name that a calliper uses, so that the two stand side by side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from django.db import transaction
from django.utils import timezone

from studio.camera.by_hand import POINTS, Sized
from studio.measuring import readings
from studio.measuring.entries import Entry
from studio.models import Photo, Piece, Reading, Turning
from studio.photos.camera_findings import Measure, PhotoFindings, sizes_now
from studio.ware.quantities import QUANTITIES
from studio.ware.turned_foot import is_corner_on
from studio.ware.uncertainty import COVERAGE_FACTOR

NOT_UNDERSTOOD = "The drawing did not arrive as the page sends it. Load the page again."


class SentError(ValueError):
    """What a page sent cannot be used; the message is a sentence for the teacher."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A measure: its words, unit, and the reading it may become (quantity and name) if any.

    ``note`` says what a teacher must know before keeping it; then it is not kept unasked.
    """

    label: str
    unit: str
    quantity: str = ""
    name: str = ""
    note: str = ""


TURNED = "if square to the camera"
CORNER_ON = "seen corner-on: no side of the foot, and not compared with it"

FOOT_WIDTH = "foot_width_mm"
SIDES = 4

# In the order of the page: what may become a reading first.
KINDS: dict[str, Kind] = {
    "height_mm": Kind("Height", "mm", "dimension", "height"),
    "rim_width_mm": Kind("Rim width", "mm", "dimension", "rim_diameter"),
    "rim_diameter_mm": Kind("Rim diameter", "mm", "dimension", "rim_diameter"),
    "opening_height_mm": Kind("Handle opening, height", "mm", "handle_opening", "height"),
    "opening_depth_mm": Kind("Handle opening, depth", "mm", "handle_opening", "depth"),
    "handle_twist_deg": Kind("Handle twist", "°", "handle_twist"),
    "max_width_mm": Kind("Greatest width", "mm", "dimension", "max_diameter", TURNED),
    FOOT_WIDTH: Kind("Foot width", "mm", "dimension", "foot_side", TURNED),
    "out_of_round_mm": Kind("Rim, out of round", "mm"),
    "rim_tilt_deg": Kind("Rim tilt", "°"),
    "lean_deg": Kind("Lean", "°"),
    "handle_reach_mm": Kind("Handle reach", "mm"),
    "handle_top_mm": Kind("Handle, upper attachment", "mm"),
    "handle_bottom_mm": Kind("Handle, lower attachment", "mm"),
    "handle_azimuth_deg": Kind("Handle, direction on the mat", "°"),
}


@dataclass(frozen=True, slots=True)
class PhotoSize:
    """One row of the page: a measure as it stands now, and the calliper's word beside it."""

    key: str
    kind: Kind
    measure: Measure
    by_hand: float | None = None
    u_by_hand: float = 0.0

    @property
    def may_keep(self) -> bool:
        return bool(self.kind.quantity)

    @property
    def keep_unasked(self) -> bool:
        return self.may_keep and self.measure.trusted and not self.kind.note

    @property
    def doubt(self) -> float:
        """U, as a reader is told it."""
        return COVERAGE_FACTOR * self.measure.u

    @property
    def is_corner_on(self) -> bool:
        """Whether it is the width of a squared foot that stood with a corner to the camera."""
        if self.key != FOOT_WIDTH or not self.by_hand:
            return False
        ratio = self.measure.value / self.by_hand
        return is_corner_on(
            ratio, math.hypot(self.measure.u, ratio * self.u_by_hand) / self.by_hand
        )

    @property
    def note(self) -> str:
        return CORNER_ON if self.is_corner_on else self.kind.note

    @property
    def disagrees(self) -> bool:
        """Whether photo and calliper differ beyond both uncertainties: E_n over 1.

        The diagonal of a foot is not compared with its side.

        References
        ----------
        .. [1] ISO 13528:2022, 9.7, E_n scores with expanded uncertainties.
        """
        if self.by_hand is None or self.is_corner_on:
            return False
        both = COVERAGE_FACTOR * math.hypot(self.measure.u, self.u_by_hand)
        return abs(self.measure.value - self.by_hand) > both


def found_of(photo: Photo) -> PhotoFindings:
    """What was found on a photo, as far as it holds for the view it is now said to be."""
    found = PhotoFindings.from_json(photo.found)
    if found.view and found.view != photo.view:
        return replace(found, points={}, outline=(), measures={}, placed={})
    return found


def rim_height_of(photo: Photo) -> Sized | None:
    """The rim's height for a top view: what is on record for the piece at the photo's stage, else
    what a side view of it shows."""
    if photo.piece_id is None:
        return None
    best = min(
        (
            Sized(reading.value, reading.u)
            for reading in _current(photo.piece, photo.stage)
            if (reading.quantity, reading.name) == ("dimension", "height")
        ),
        key=lambda one: one.u,
        default=None,
    )
    if best is not None:
        return best
    beside = photo.piece.photos.filter(stage=photo.stage, view=Photo.View.SIDE).exclude(found=None)
    for other in beside:
        found = PhotoFindings.from_json(other.found)
        height = found.measures.get("height_mm")
        if height is not None and height.trusted:
            return Sized(height.value, height.u)
    return None


def sizes_of(photo: Photo, points: Mapping | None = None) -> list[PhotoSize]:
    """The rows for a photo with the points where a hand has them, or as kept.

    Raises
    ------
    studio.camera.by_hand.PointsError
        The points contradict each other.
    """
    found = found_of(photo)
    if points is None:
        points = found.start_points(photo.view)
    rim_height = rim_height_of(photo) if photo.view == Photo.View.TOP else None
    measures = sizes_now(found, photo.view, points, rim_height=rim_height)
    hand = _by_hand(photo)
    return [
        PhotoSize(key, kind, measures[key], *hand.get((kind.quantity, kind.name), (None, 0.0)))
        for key, kind in KINDS.items()
        if key in measures
    ]


def _current(piece: Piece, stage: str):
    return Reading.objects.current().filter(piece=piece, stage=stage).select_related("instrument")


def _by_hand(photo: Photo) -> dict[tuple[str, str], tuple[float, float]]:
    if photo.piece_id is None:
        return {}
    found = {
        (reading.quantity, reading.name): (reading.value, reading.u)
        for reading in _current(photo.piece, photo.stage)
        if reading.source == Reading.Source.HAND and reading.height_mm is None
    }
    # A calliper reads a foot side by side; a photo shows one width of it.
    sides = [found[at] for at in found if at[0] == "foot_side"]
    if len(sides) == SIDES:
        mean = math.fsum(side for side, _ in sides) / SIDES
        found.setdefault(
            ("dimension", "foot_side"), (mean, math.hypot(*[u for _, u in sides]) / SIDES)
        )
    return found


def numbers_sent(values: object, count: int) -> tuple[float, ...]:
    """So many finite numbers out of a list as a page sent it.

    Raises
    ------
    SentError
        Anything else.
    """
    if not isinstance(values, list | tuple) or len(values) != count:
        raise SentError(NOT_UNDERSTOOD)
    try:
        numbers = tuple(float(value) for value in values)
    except (TypeError, ValueError) as error:
        raise SentError(NOT_UNDERSTOOD) from error
    if not all(map(math.isfinite, numbers)):
        raise SentError(NOT_UNDERSTOOD)
    return numbers


def clean_points(view: str, points: Mapping, size: tuple[int, int]) -> dict:
    """Points as they came from a page, held to their names and to the picture.

    Raises
    ------
    SentError
        Not a mapping of names to two numbers, a name that the view does not have, or a place far
        outside of the picture.
    """
    if not isinstance(points, Mapping):
        raise SentError(NOT_UNDERSTOOD)
    known, (width, height) = POINTS.get(view, {}), size
    out = {}
    for name, place in points.items():
        if name not in known:
            raise SentError("One of the points is none of this view. Load the page again.")
        x, y = numbers_sent(place, 2)
        # A cup cut off by the edge of the picture may be pointed at a little beyond it.
        if not (-width <= x <= 2 * width and -height <= y <= 2 * height):
            raise SentError(f"{known[name]} lies far outside of the picture.")
        out[name] = (x, y)
    return out


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What confirming did: labels kept as readings, those that a surer photo outdoes, and those
    that no piece can have."""

    kept: tuple[str, ...]
    outdone: tuple[str, ...]
    implausible: tuple[str, ...] = ()


@transaction.atomic
def confirm(photo: Photo, points: Mapping, keys: Iterable[str], user) -> Confirmed:
    """Keep the points, and the chosen measures as readings of the photo's piece and stage.

    A reading from another photo of the piece that is surer stays in force.

    Raises
    ------
    studio.camera.by_hand.PointsError
        The points contradict each other.
    SentError
        The photo has no stage yet.
    """
    chosen = set(keys)
    if chosen and not photo.stage:
        raise SentError("Say first at which stage the piece is; then its sizes can be kept.")
    photo.found = found_of(photo).with_hand(points).to_json()
    kept, outdone, implausible = [], [], []
    for line in sizes_of(photo, points):
        if line.key not in chosen or not line.may_keep:
            continue
        kind = QUANTITIES[line.kind.quantity]
        if not kind.lowest <= line.measure.value <= kind.highest:
            implausible.append(line.kind.label)
            continue
        if _is_outdone(photo, line):
            outdone.append(line.kind.label)
            continue
        unit = "deg" if line.kind.unit == "°" else "mm"
        entry = Entry(
            stage=photo.stage,
            quantity=line.kind.quantity,
            name=line.kind.name,
            height_mm=None,
            azimuth_deg=None,
            value=round(line.measure.value, VALUE_DIGITS),
            typed=f"{line.measure.value:.1f} {unit}",
        )
        _save(photo, entry, line.measure.u, user)
        kept.append(line.kind.label)
    photo.confirmed_by, photo.confirmed_at = user, timezone.now()
    photo.save(update_fields=["found", "confirmed_by", "confirmed_at"])
    return Confirmed(tuple(kept), tuple(outdone), tuple(implausible))


def withdraw(photo: Photo, user) -> int:
    """Take back what was read from a photo that turns out to show something else.

    The photo waits to be looked over again; it is not saved here. Returns how many readings.
    """
    photo.confirmed_by = photo.confirmed_at = None
    of_cup = withdraw_turning(photo.turning, user) if photo.turning_id else 0
    return of_cup + _take_back(Reading.objects.current().filter(photo=photo), user)


def withdraw_turning(turning: Turning, user) -> int:
    """Take back what was kept of a turned cup; its figures stay. Returns how many readings."""
    turning.confirmed_by = turning.confirmed_at = None
    turning.save(update_fields=["confirmed_by", "confirmed_at"])
    turning.photos.update(confirmed_by=None, confirmed_at=None)
    return _take_back(Reading.objects.current().filter(photo__turning=turning), user)


def _take_back(rows, user) -> int:
    return rows.update(superseded_at=timezone.now(), taken_back_by=user)


VALUE_DIGITS = 3
LEAST_U = 1e-3
"""The database wants an uncertainty above zero; a micrometre is below any of ours."""


def _save(photo: Photo, entry: Entry, u: float, user) -> None:
    readings.save_reading(
        photo.piece,
        entry,
        by=user,
        source=Reading.Source.PHOTO,
        photo=photo,
        own_u=max(round(u, 4), LEAST_U),
    )


def _is_outdone(photo: Photo, line: PhotoSize) -> bool:
    return (
        _current(photo.piece, photo.stage)
        .filter(
            source=Reading.Source.PHOTO,
            quantity=line.kind.quantity,
            name=line.kind.name,
            own_u__lt=line.measure.u,
        )
        .exclude(photo=photo)
        .exists()
    )


def next_to_confirm(photo: Photo) -> Photo | None:
    """The next photo of the same project that nobody confirmed yet, round and round."""
    waiting = (
        Photo.objects.filter(piece__project=photo.piece.project, confirmed_at=None, turning=None)
        .exclude(pk=photo.pk)
        .exclude(view=Photo.View.DETAIL)
        .order_by("piece__code", "pk")
    )
    place = (photo.piece.code, photo.pk)
    rows = list(waiting.values_list("piece__code", "pk"))
    after = next((pk for code, pk in rows if (code, pk) > place), rows[0][1] if rows else None)
    return waiting.filter(pk=after).first() if after else None
