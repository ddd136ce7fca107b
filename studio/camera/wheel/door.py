"""The door: photos of one cup on a turned mat in, a measured cup out. Pure: no files, no models.

Whatever cannot be told comes with a sentence, never with an exception of a library.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from studio.camera import mat
from studio.camera.intake import DecodedPhoto
from studio.camera.uncertainty import Measure
from studio.camera.wheel import trust
from studio.camera.wheel.figures import AZIMUTHS_DEG, LEVELS_MM, SQUARED_SHARE
from studio.camera.wheel.seen_photo import SeenPhoto, look
from studio.camera.wheel.together import Together, TurnedError, together
from studio.camera.wheel.trust import Value

STATIONS_DEG = tuple(range(0, 360, 45))
NO_HANDLE = "No handle was seen."
ROUND_FOOT = "The foot is round: it has no sides."


@dataclass(frozen=True)
class SheetReading:
    """A reading in the words of the measuring sheet (`studio.ware.quantities`).

    Attributes
    ----------
    quantity, name : str
    value, u : float
        mm or degrees; standard uncertainty.
    height_mm, azimuth_deg : float or None
        Of the station; azimuths counter-clockwise from `TurnedCup.zero_deg`.
    trusted : bool
    message : str or None
    """

    quantity: str
    name: str
    value: float
    u: float
    height_mm: float | None = None
    azimuth_deg: float | None = None
    trusted: bool = True
    message: str | None = None


@dataclass(frozen=True)
class TurnedCup:
    """What the photos of a turned cup tell.

    Attributes
    ----------
    code : str or None
        On the slips of the photos used.
    used : tuple of str
        Photos solved together.
    left_out : dict of str to str
        Other photos, each with the sentence why.
    message : str or None
        A sentence where something or all could not be told.
    values : dict of str to Value
        Scalar figures (`figures.figures`, `strap.figures`); azimuths in mat coordinates.
    rim_line : tuple of Value
        Height of the rim at mat azimuths 0, 10, .. 350 about its middle.
    outlines : dict of float to tuple of Value
        By height: distance of the wall from its middle at mat azimuths 0, 10, .. 350.
    high_side_deg : Value or None
        Mat azimuth towards which the rim rises.
    zero_deg : float
        Mat azimuth that counts as 0 in the readings: the handle's where one is seen.
    handle_seen : bool
    readings : tuple of Reading
    """

    code: str | None = None
    used: tuple[str, ...] = ()
    left_out: dict = field(default_factory=dict)
    message: str | None = None
    values: dict = field(default_factory=dict)
    rim_line: tuple[Value, ...] = ()
    outlines: dict = field(default_factory=dict)
    high_side_deg: Value | None = None
    zero_deg: float = 0.0
    handle_seen: bool = False
    readings: tuple[SheetReading, ...] = ()

    @property
    def measures(self) -> dict[str, Measure]:
        """The scalar figures as the other camera modules give them."""
        return {name: Measure(v.value, v.u, v.trusted) for name, v in self.values.items()}

    def as_dict(self) -> dict:
        """Plain values for JSON."""

        def plain(v):
            return {"value": round(v.value, 4), "u": round(v.u, 4), "trusted": v.trusted}

        return {
            "code": self.code, "used": list(self.used), "left_out": dict(self.left_out),
            "message": self.message, "zero_deg": round(self.zero_deg, 2),
            "measures": {name: plain(v) for name, v in self.values.items()},
            "readings": [
                {"quantity": r.quantity, "name": r.name, "height_mm": r.height_mm,
                 "azimuth_deg": r.azimuth_deg, **plain(r)} for r in self.readings
            ],
        }  # fmt: skip


def read_turned(
    photos: Sequence[DecodedPhoto],
    check_bar_mm: float = mat.CHECK_BAR_MM,
    zero_deg: float | None = None,
) -> TurnedCup:
    """Measure one cup on a mat that was turned between the photos.

    Parameters
    ----------
    photos : sequence of intake.Photo
        Of one piece at one stage, decoded: several from the side, any number from above.
    check_bar_mm : float
        Length of the mat's check bar by a ruler [mm].
    zero_deg : float, optional
        Mat azimuth where the handle is planned; else the handle's own direction counts as 0, and
        without a handle the mat's right side.
    """
    scale = mat.print_scale(check_bar_mm)
    return read_looks([look(photo, scale) for photo in photos], scale, zero_deg)


def read_looks(
    looks: list[SeenPhoto], scale: float = 1.0, zero_deg: float | None = None
) -> TurnedCup:
    """As `read_turned`, from photos that were looked at before."""
    if not looks:
        return TurnedCup(message="No photo was given.")
    try:
        found = together(looks, scale)
    except TurnedError as problem:
        return TurnedCup(message=str(problem), left_out=problem.left_out)
    return cup_of(found, zero_deg)


def cup_of(found: Together, zero_deg: float | None = None) -> TurnedCup:
    """A solved cup in plain values; `zero_deg` as in `read_turned`."""
    values = {
        name: trust.judged(found, name)[0]
        for name, at in found.values.items()
        if len(at) == 1 and name != "foot_turn_deg"
    }
    several = {name: trust.judged(found, name) for name, at in found.values.items() if len(at) > 1}
    handle = found.strap is not None
    if zero_deg is None:
        zero_deg = values["handle_azimuth_deg"].value if handle else 0.0
    codes = [v.code for v in found.solved.looks if v.code]
    squared = values["foot_square"].value > SQUARED_SHARE
    readings = (
        *_rim_readings(several["rim_line_mm"], zero_deg),
        *_size_readings(values),
        *(_foot_readings(several) if squared else ()),
        *(_handle_readings(values, zero_deg) if handle else ()),
    )
    return TurnedCup(
        code=max(set(codes), key=codes.count) if codes else None,
        used=tuple(v.name for v in found.solved.looks),
        left_out=dict(found.left_out), message=_message(values, several, handle, squared),
        values=values, rim_line=tuple(several["rim_line_mm"]),
        outlines={z: tuple(several[f"outline_{z:g}_mm"]) for z in LEVELS_MM
                  if f"outline_{z:g}_mm" in several},
        high_side_deg=_high_side(several["tilt_vector_mm"]), zero_deg=float(zero_deg % 360),
        handle_seen=handle, readings=readings,
    )  # fmt: skip


def _message(values, several, handle, squared):
    """Each reason once, then what is not there at all."""
    whys = [v.message for v in (*values.values(), *several["rim_line_mm"]) if v.message]
    if squared:
        whys += [v.message for v in several["foot_sides_mm"] if v.message]
    said = [*dict.fromkeys(whys), *(() if handle else (NO_HANDLE,))]
    if not squared:
        said.append(ROUND_FOOT)
    return " ".join(said) or None


def _high_side(vector):
    """Direction of the tilt, with the doubt of a direction: u of the vector over its length."""
    x, y = vector
    length = float(np.hypot(x.value, y.value))
    u = float(np.degrees(np.hypot(x.u, y.u) / np.sqrt(2) / max(length, 1e-6)))
    value = float(np.degrees(np.arctan2(y.value, x.value)) % 360)
    wide = u > UNTOLD_DIRECTION_DEG
    message = trust.SENTENCES["wide"] if wide else x.message
    return Value(value, min(u, 180.0), x.trusted and y.trusted and not wide, message)


UNTOLD_DIRECTION_DEG = 15.0
"""Beyond this u a tilt is too small to have a high side."""


def _reading(quantity, v: Value, name="", height_mm=None, azimuth_deg=None):
    return SheetReading(quantity, name, v.value, v.u, height_mm, azimuth_deg, v.trusted, v.message)


def _rim_readings(line, zero_deg):
    at = [(station + zero_deg) % 360 for station in STATIONS_DEG]
    heights = np.interp(at, AZIMUTHS_DEG, [v.value for v in line], period=360)
    us = np.interp(at, AZIMUTHS_DEG, [v.u for v in line], period=360)
    for station, mat_deg, height, u in zip(STATIONS_DEG, at, heights, us, strict=True):
        nearest = line[round(mat_deg / 10) % len(line)]
        v = Value(float(height), float(u), nearest.trusted, nearest.message)
        yield _reading("rim_height", v, azimuth_deg=float(station))


def _size_readings(values):
    for figure, name in (("height_mm", "height"), ("rim_widest_mm", "rim_diameter"),
                         ("rim_narrowest_mm", "rim_diameter_2"),
                         ("max_diameter_mm", "max_diameter")):  # fmt: skip
        yield _reading("dimension", values[figure], name)
    for z in LEVELS_MM:
        if f"diameter_{z:g}_mm" in values:
            yield _reading("dimension", values[f"diameter_{z:g}_mm"], "diameter", height_mm=z)


def _foot_readings(several):
    for name, quantity in (("foot_sides_mm", "foot_side"), ("foot_diagonals_mm", "foot_diagonal")):
        for number, v in enumerate(several[name], start=1):
            yield _reading(quantity, v, str(number))


def _handle_readings(values, zero_deg):
    for end in ("top", "bottom"):
        side = values[f"{end}_azimuth_deg"].value - zero_deg
        yield _reading(f"handle_{end}", values[f"handle_{end}_mm"], azimuth_deg=float(side % 360))
    yield _reading("handle_twist", values["handle_twist_deg"])
    for name in ("height", "depth"):
        yield _reading("handle_opening", values[f"opening_{name}_mm"], name)
