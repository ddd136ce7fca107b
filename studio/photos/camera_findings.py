"""What the camera found on a photo, to and from the JSON that the record keeps. No database.

``Photo.found`` holds: ``code`` and ``view`` as the picture tells them, ``camera`` or None,
``points`` and ``outline`` [px], ``measures`` (value, u, trusted), ``message`` (a sentence for the
teacher), ``note`` (a sentence on the print), ``bar_mm`` (the check bar that the scale was taken
from; None where no ruler told it), ``measured`` (whether the sizes
were looked for yet), ``placed`` (points that a hand mended) and ``seam`` (line, parts).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from studio.camera import by_hand, mat, trust
from studio.camera.by_hand import Sized
from studio.camera.pose import Camera

CROPPED = (
    "The markers say that this picture was cropped or reshaped after it was taken. "
    "Send the photo as the camera took it."
)
"""As the camera says it itself where it is the first of its doubts."""
SHIFT = slice(3, 6)
"""Where the shift stands in a camera's covariance."""
POINT_DIGITS, ANGLE_DIGITS = 2, 9
"""A hundredth of a pixel is finer than any edge is found."""


@dataclass(frozen=True, slots=True)
class Measure:
    """One size as the camera found it; ``trusted`` is the camera's own word."""

    value: float
    u: float
    trusted: bool


@dataclass(frozen=True, slots=True)
class PhotoFindings:
    """Everything that is known from one picture."""

    code: str = ""
    view: str = ""
    camera: Camera | None = None
    points: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    outline: tuple[tuple[float, float], ...] = ()
    measures: Mapping[str, Measure] = field(default_factory=dict)
    message: str = ""
    note: str = ""
    bar_mm: float | None = mat.CHECK_BAR_MM
    measured: bool = False
    placed: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    seam: Mapping = field(default_factory=dict)

    def to_json(self) -> dict:
        return {
            "code": self.code,
            "view": self.view,
            "camera": _camera_json(self.camera) if self.camera else None,
            "points": _points_json(self.points),
            "outline": [_point_json(point) for point in self.outline],
            "measures": {
                key: {"value": one.value, "u": one.u, "trusted": one.trusted}
                for key, one in self.measures.items()
                if math.isfinite(one.value) and math.isfinite(one.u)
            },
            "message": self.message,
            "note": self.note,
            "bar_mm": self.bar_mm,
            "measured": self.measured,
            "placed": _points_json(self.placed),
            "seam": dict(self.seam),
        }

    @classmethod
    def from_json(cls, kept: dict | None) -> PhotoFindings:
        """From ``Photo.found``; an empty record is a photo that nobody looked at yet."""
        if not kept:
            return cls()
        return cls(
            code=kept.get("code") or "",
            view=kept.get("view") or "",
            camera=_camera(kept["camera"]) if kept.get("camera") else None,
            points=_points(kept.get("points")),
            outline=tuple(tuple(point) for point in kept.get("outline") or ()),
            measures={key: Measure(**one) for key, one in (kept.get("measures") or {}).items()},
            message=kept.get("message") or "",
            note=kept.get("note") or "",
            bar_mm=kept.get("bar_mm", mat.CHECK_BAR_MM),
            measured=bool(kept.get("measured")),
            placed=_points(kept.get("placed")),
            seam=kept.get("seam") or {},
        )

    @property
    def advice(self) -> list[str]:
        """Every sentence on this photo, each once: what was found, the lens, the print."""
        said = [self.message] if self.message else []
        if self.camera is not None and self.camera.off_axis and CROPPED not in self.message:
            said.append(CROPPED)
        return [*said, self.note] if self.note else said

    def on_bar(self, bar_mm: float) -> PhotoFindings:
        """The same on a mat whose bar now has this length: the camera's place follows exactly, the
        sizes are to be measured anew."""
        camera = self.camera
        if camera is not None:
            factor = mat.print_scale(bar_mm) / mat.print_scale(self.bar_mm or mat.CHECK_BAR_MM)
            by = np.ones(len(camera.covariance))
            by[SHIFT] = factor
            camera = replace(
                camera,
                shift_mm=np.asarray(camera.shift_mm) * factor,
                covariance=np.asarray(camera.covariance) * np.outer(by, by),
            )
        message = "" if camera else self.message
        return replace(
            self,
            camera=camera,
            bar_mm=bar_mm,
            measures={},
            message=message,
            note="",
            measured=False,
        )

    def with_hand(self, points: Mapping[str, tuple[float, float]]) -> PhotoFindings:
        """The same with the points that a hand placed."""
        return replace(self, placed=dict(points))

    def start_points(self, view: str) -> dict[str, tuple[float, float]]:
        """The points to show: mended ones, else found ones, else those of a usual cup."""
        names = by_hand.POINTS.get(view, {})
        usual = {}
        if self.camera is not None and names and not names.keys() <= self.points.keys():
            usual = {
                name: tuple(float(c) for c in point)
                for name, point in by_hand.points_of(view, self.camera).items()
            }
        known = {**usual, **self.points, **self.placed}
        if self.has("handle_reach_mm") and "handle_out" not in {**self.points, **self.placed}:
            # The camera measured the handle by its strap and names no point of it to mend.
            known.pop("handle_out", None)
        return {name: known[name] for name in names if name in known}

    def has(self, key: str) -> bool:
        """Whether the camera found a size and trusts it."""
        return key in self.measures and self.measures[key].trusted


def sizes_now(
    found: PhotoFindings, view: str, points: Mapping, *, rim_height: Sized | None = None
) -> dict[str, Measure]:
    """Sizes with the points where a hand has them now.

    What the camera found and trusts is moved by what the formula says the moved points change,
    and keeps the larger uncertainty of the two once it moved. What it does not trust, or did not
    find, comes from the points alone; a size that stands on a point which neither the camera nor
    a hand has placed is left out.

    Raises
    ------
    by_hand.PointsError
        The points contradict each other.
    """
    if found.camera is None or view not in by_hand.POINTS:
        return {}
    moved = _moved(found, view, points)
    grounded = moved | found.points.keys()
    now = by_hand.sizes(view, found.camera, points, rim_height=rim_height)
    then = _sizes_found(found, view, rim_height)
    out: dict[str, Measure] = {}
    for key in {**now, **found.measures}:
        camera, hand = found.measures.get(key), now.get(key)
        needed = set(by_hand.NEEDS.get(key, ()))
        if camera is not None and camera.trusted and (key in then or not needed & moved):
            out[key] = _carried(key, camera, hand, then.get(key))
        elif hand is not None and needed <= grounded:
            # A hand that moved one of its points has looked at them all.
            sized = by_print(found, hand) if key.endswith("_mm") else hand
            looked = bool(needed & moved)
            sure = found.bar_mm is not None or sized.u <= trust.MAX_U.get(key, math.inf)
            out[key] = Measure(sized.value, sized.u, looked and sure)
    return out


def by_print(found: PhotoFindings, sized: Sized) -> Sized:
    """A length on a mat that nobody measured is no surer than a printer's scale."""
    if found.bar_mm is not None:
        return sized
    return Sized(sized.value, math.hypot(sized.u, mat.UNMEASURED_SCALE_SD * sized.value))


UNMOVED = 1e-6
"""A size that changed by less was not moved but rounded on the way. [mm or °]"""


def _carried(key: str, camera: Measure, hand: Sized | None, before: float | None) -> Measure:
    """A trusted size, moved as far as its points were."""
    if hand is None or before is None:
        return camera
    change = hand.value - before
    if key.endswith("_deg"):
        change = (change + 180) % 360 - 180
    if abs(change) <= UNMOVED:
        return camera
    return Measure(_turned(key, camera.value + change), max(camera.u, hand.u), True)


def _moved(found: PhotoFindings, view: str, points: Mapping) -> set[str]:
    """The points that stand elsewhere than the page first put them."""
    start = replace(found, placed={}).start_points(view)
    return {
        name
        for name, point in points.items()
        if math.dist(point, start.get(name, (math.inf, math.inf))) > 10**-POINT_DIGITS
    }


def _turned(key: str, value: float) -> float:
    return value % 360 if key == "handle_azimuth_deg" else value


def _sizes_found(found: PhotoFindings, view: str, rim_height) -> dict[str, float]:
    if not found.points:
        return {}
    try:
        return by_hand.values(view, found.camera, found.points, rim_height=rim_height)
    except by_hand.PointsError:
        return {}


def _points(kept) -> dict[str, tuple[float, float]]:
    return {name: (float(x), float(y)) for name, (x, y) in (kept or {}).items()}


def _points_json(points: Mapping) -> dict:
    return {name: _point_json(point) for name, point in points.items()}


def _point_json(point) -> list[float]:
    return [round(float(c), POINT_DIGITS) for c in point]


def _camera_json(camera: Camera) -> dict:
    return {
        "size": list(camera.size),
        "f_px": camera.f_px,
        "k1": camera.k1,
        "rotation": np.round(camera.rotation, ANGLE_DIGITS).tolist(),
        "shift_mm": np.asarray(camera.shift_mm, float).tolist(),
        "covariance": np.asarray(camera.covariance, float).tolist(),
        "reprojection_px": camera.reprojection_px,
        "marker_ids": list(camera.marker_ids),
        "off_axis": camera.off_axis,
    }


def _camera(kept: dict) -> Camera:
    return Camera(
        size=tuple(kept["size"]),
        f_px=kept["f_px"],
        k1=kept["k1"],
        rotation=np.array(kept["rotation"]),
        shift_mm=np.array(kept["shift_mm"]),
        covariance=np.array(kept["covariance"]),
        reprojection_px=kept["reprojection_px"],
        marker_ids=tuple(kept["marker_ids"]),
        off_axis=bool(kept.get("off_axis")),
    )
