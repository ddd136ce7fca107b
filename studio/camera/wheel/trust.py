"""Uncertainty and trust of the figures of a turned cup.

u^2 = edges^2 + photos^2 + model^2 (JCGM 100:2008, 5.1.2, uncorrelated). The model's part grows
where much of the outline has no edge: there a line beside the rim may have been taken.
"""

from dataclasses import dataclass

import numpy as np

from studio.camera.wheel.strap import INDEX
from studio.camera.wheel.together import SECTORS, Together

GAP = 0.1
"""Share of the rim without an edge at which the model's part has doubled."""
WORST_GAP = 0.38
"""Of a direction: beyond it a wrong line was taken in one of twenty rendered cups."""
# Of a part, over all photos: beyond it the rim of one of twenty rendered cups was a millimetre low.
MOST_PART = {"rim": 0.18, "wall": 0.35, "foot": 0.40}
LEAST_HANDLE = 0.42
"""Mean contrast along the handle's outline."""
LEAST_HANDLE_PHOTOS = 2
MOST_DROOP_MM = 9.0
"""An end that bends more on its way to the wall is no strap's: a backdrop's edge was followed."""

# What the model leaves out, standard deviations [mm, degrees]: relief, the shadow at the foot, a
# lip that is no exact round. The smallest for which 95 of 100 errors stay within U = 2u and none
# beyond 2U over the rendered cups of `tests/benchmarks/test_camera_wheel.py`, which fits them anew
# on four fifths of the cups and shows what they do on the last. A diameter's is twice a radius's,
# a diagonal's that of a side. None is less than LEAST_FLOOR: a printed sheet is no drawing.
LEAST_FLOOR = 0.03
FLOOR = {
    "height_mm": 0.039, "tilt_deg": 0.165, "tilt_vector_mm": 0.136, "foot_flats_mm": 0.325,
    "foot_sides_mm": 0.325, "foot_diagonals_mm": 0.325, "lean_deg": 0.032, "outline_mm": 0.084,
    "diameter_mm": 0.168,
    "handle_top_mm": 0.123, "handle_bottom_mm": 0.15,
    "handle_reach_mm": 0.092, "opening_height_mm": 0.434,
    "opening_depth_mm": 0.526,
}  # fmt: skip
# Beyond this u a figure says too little to be kept unasked [mm, degrees].
MOST_U = {
    "height_mm": 0.6, "rim_line_mm": 0.5, "rise_mm": 0.5, "tilt_deg": 0.5, "saddle_mm": 0.5,
    "lobes_mm": 0.5, "rim_diameter_mm": 0.6, "rim_widest_mm": 0.8, "rim_narrowest_mm": 0.8,
    "out_of_round_mm": 0.9, "max_diameter_mm": 0.9, "foot_sides_mm": 1.2, "foot_flats_mm": 1.2,
    "foot_diagonals_mm": 1.2, "lean_deg": 0.5, "outline_mm": 1.0, "diameter_mm": 0.8,
    "handle_azimuth_deg": 2.0,
    "top_azimuth_deg": 2.0, "bottom_azimuth_deg": 2.0, "handle_top_mm": 1.2,
    "handle_bottom_mm": 1.2, "handle_lean_deg": 1.5, "handle_twist_deg": 2.5,
    "handle_reach_mm": 1.0, "opening_height_mm": 1.2, "opening_depth_mm": 1.2,
}  # fmt: skip
RIM = ("height_mm", "rim_line_mm", "rise_mm", "tilt_deg", "tilt_vector_mm", "saddle_mm", "lobes_mm",
       "rim_diameter_mm", "rim_widest_mm", "rim_narrowest_mm", "out_of_round_mm",
       "rim_centre_mm", "lean_deg", "lean_mm")  # fmt: skip
# They hang on the wall up to the rim, or on its axis.
UP_TO_RIM = ("handle_reach_mm", "opening_depth_mm", "max_diameter_mm", "outline_mm", "diameter_mm")
NEEDS = {"rim": RIM, "wall": ("max_diameter_mm",), "foot": (
    "foot_flats_mm", "foot_sides_mm", "foot_diagonals_mm", "lean_deg", "lean_mm")}  # fmt: skip
SENTENCES = {
    "rim": "The rim cannot be followed all round against what is behind it. Put a sheet of "
    "another colour behind the cup, or measure the rim by hand.",
    "wall": "The wall's outline cannot be followed against what is behind it.",
    "foot": "The foot cannot be told from its shadow. Measure the foot by hand.",
    "handle": "The handle's outline cannot be followed. Measure the handle by hand.",
    "wide": "The photos leave this open. Take more of them, or measure it by hand.",
}


@dataclass(frozen=True)
class Value:
    """One figure as it may be used.

    Attributes
    ----------
    value, u : float
        mm or degrees; standard uncertainty.
    trusted : bool
    message : str or None
        Why it is not trusted.
    """

    value: float
    u: float
    trusted: bool = True
    message: str | None = None


def family(name: str) -> str:
    """Under which name a figure's limits stand: all heights share theirs."""
    several = next((kind for kind in ("outline", "diameter") if name.startswith(kind)), None)
    return f"{several}_mm" if several else name


def growth(found: Together, name: str) -> np.ndarray | float:
    """How many times the model's part is as large as with a whole outline."""
    if name == "rim_line_mm":
        centres = (np.arange(SECTORS) + 0.5) * 360 / SECTORS
        gaps = np.interp(np.arange(0, 360, 10), centres, found.rim_gaps, period=360)
        return 1 + (gaps / GAP) ** 2
    if name in RIM:
        return 1 + (found.misfit["rim"] / GAP) ** 2
    return 1.0


def uncertainty(found: Together, name: str, floor: float) -> np.ndarray:
    """Standard uncertainties of a figure with this model part."""
    own = found.by_edges[name] ** 2 + found.by_photos[name] ** 2
    rival = found.rivals.get(name, np.zeros(1)) / 2
    return np.sqrt(own + rival**2 + (floor * growth(found, name)) ** 2)


def doubt(found: Together, name: str) -> str | None:
    """Why nothing of this figure is to be trusted, or None."""
    if name in found.rivals and not _clear_handle(found.strap):
        return SENTENCES["handle"]
    if family(name) in (*RIM, *UP_TO_RIM) and found.rim_gaps.max() > WORST_GAP:
        return SENTENCES["rim"]
    for part, names in NEEDS.items():
        if name in names and found.misfit[part] > MOST_PART[part]:
            return SENTENCES[part]
    return None


def _clear_handle(fitted):
    droop = [fitted.strap.values[INDEX[name]] for name in ("low_droop", "high_droop")]
    return (
        fitted.cover >= LEAST_HANDLE
        and fitted.photos >= LEAST_HANDLE_PHOTOS
        and max(map(abs, droop)) <= MOST_DROOP_MM
    )


def judged(found: Together, name: str) -> list[Value]:
    """A figure's values with uncertainty and trust, place by place."""
    key = family(name)
    u = uncertainty(found, name, FLOOR.get(key, LEAST_FLOOR))
    why = doubt(found, name)
    out = []
    for value, own in zip(found.values[name], u, strict=True):
        wide = SENTENCES["wide"] if own > MOST_U.get(key, np.inf) else None
        message = why or wide
        out.append(Value(float(value), float(own), message is None, message))
    return out
