"""Which measures a picture carries, and the sentence where it does not.

An outline is cut into parts; a measure hangs on some of them. A part counts only if edges were
found along most of it, stand out of the noise, and lie where the solved shape has them. A
confident wrong answer is the worst outcome, so every doubt goes against the measure.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from studio.camera import cup
from studio.camera.solution import Solution

MIN_COVER = 0.55  # of a part's outline with an edge near the shape
NEAR_MM = 0.8  # an edge farther from the solved outline is not the cup's
MIN_CLEAR_SNR = 25.0
MIN_CONTRAST = 0.25  # a soft shadow on white paper makes that much too
MIN_POINTS = 3
MAX_RELIEF_MM = 0.45  # scatter about the smooth wall: deep stamps are 0.3
MIN_OVERLAP = 0.9  # intersection over union of solved shape and colour mask
SHEET_MARGIN_MM = 45.0  # a foot's centre farther out is not on the mat's middle
MAX_U = {
    "height_mm": 1.0, "rim_width_mm": 1.0, "foot_width_mm": 1.2, "max_width_mm": 1.2,
    "rim_tilt_deg": 0.6, "lean_deg": 0.7, "handle_reach_mm": 2.6, "handle_top_mm": 2.0,
    "handle_bottom_mm": 2.0, "opening_height_mm": 1.2, "opening_depth_mm": 1.0,
    "rim_diameter_mm": 1.0, "out_of_round_mm": 0.6, "centre_offset_mm": 1.0,
    "handle_azimuth_deg": 2.5, "handle_twist_deg": 3.0,
}  # fmt: skip
NEEDS = {
    "height_mm": ("rim", "foot"), "rim_width_mm": ("left_rim", "right_rim", "foot"),
    "foot_width_mm": ("foot", "left_foot", "right_foot"),
    "max_width_mm": ("left_rim", "right_rim", "left_wall", "right_wall", "foot"),
    "rim_tilt_deg": ("rim", "left_rim", "right_rim"),
    "lean_deg": ("left_rim", "right_rim", "foot", "left_wall", "right_wall"),
    "handle_reach_mm": ("foot", "rim"), "handle_top_mm": ("foot", "rim"),
    "handle_bottom_mm": ("foot", "rim"), "opening_height_mm": ("foot", "rim"),
    "opening_depth_mm": ("foot", "rim"),
    "rim_diameter_mm": ("rim", "left_rim", "right_rim"),
    "out_of_round_mm": ("rim", "left_rim", "right_rim"),
    "centre_offset_mm": ("rim",), "handle_azimuth_deg": ("rim",), "handle_twist_deg": ("rim",),
}  # fmt: skip
WORDS = {
    "rim": "the rim", "left_rim": "the left end of the rim",
    "right_rim": "the right end of the rim",
    "foot": "the front of the foot", "left_foot": "the left of the foot",
    "right_foot": "the right of the foot", "left_wall": "the left wall",
    "right_wall": "the right wall",
}  # fmt: skip


@dataclass(frozen=True)
class Part:
    """How well a part of the outline is seen.

    Attributes
    ----------
    cover : float
        Share of its points with an edge near the solved shape.
    snr : float
        Median strength of the edges over noise.
    contrast : float
        Median difference across the edge over the light there.
    points : int
    """

    cover: float
    snr: float
    contrast: float
    points: int

    @property
    def good(self) -> bool:
        """Whether measures may hang on it."""
        return (
            self.points >= MIN_POINTS
            and self.cover >= MIN_COVER
            and self.snr >= MIN_CLEAR_SNR
            and self.contrast >= MIN_CONTRAST
        )


@dataclass(frozen=True)
class Verdict:
    """What a view carries.

    Attributes
    ----------
    parts : dict of str to Part
    doubt : str or None
        A sentence if nothing of the view may be trusted.
    """

    parts: dict
    doubt: str | None


def judge(solution: Solution, k: int, top_view: bool) -> Verdict:
    """Judge view k of a solution."""
    parts = _parts(solution, k, top_view)
    return Verdict(parts, _doubt(solution, k, parts, top_view))


def trusted(name: str, u: float, verdict: Verdict) -> bool:
    """Whether one measure may be trusted."""
    if verdict.doubt or not np.isfinite(u) or u > MAX_U[name]:
        return False
    return all(verdict.parts[part].good for part in NEEDS[name] if part in verdict.parts)


def _parts(solution, k, top_view):
    t = solution.traced[k]
    right = solution.cameras[k].view_right
    middle = solution.grid(k)[cup.FIRST_LIP].mean(0)
    aside = (t.line.points_mm - middle) @ right / solution.shape[cup.INDEX["rim"]]
    at_rim = t.line.ring >= cup.FIRST_LIP - 1
    at_foot = t.line.ring < len(cup.FILLET_PSI)
    wall = ~at_rim & ~at_foot
    low = t.line.ring < len(cup.FILLET_PSI) + 5
    pick = {
        "rim": at_rim,
        "left_rim": at_rim & (aside < -0.8),
        "right_rim": at_rim & (aside > 0.8),
    }
    if not top_view:
        pick |= {
            "foot": at_foot,
            "left_foot": low & (aside < -0.35),
            "right_foot": low & (aside > 0.35),
            "left_wall": wall & (aside < 0),
            "right_wall": wall & (aside > 0),
        }
    near = np.abs(np.nan_to_num(t.offset_px, nan=1e9)) < NEAR_MM * t.px_per_mm
    out = {}
    for name, all_of_it in pick.items():
        mask = all_of_it & ~t.hidden  # behind the handle: nobody's fault
        count = int(mask.sum())
        cover = float(near[mask].mean()) if count else 0.0
        seen = mask & near
        snr, contrast = (
            float(np.median(v[seen])) if seen.any() else 0.0 for v in (t.snr, t.contrast)
        )
        out[name] = Part(cover, snr, contrast, count)
    return out


def _doubt(solution, k, parts, top_view):
    """The sentence of a view nothing of which may be trusted, or None."""
    x, y = solution.grid(k)[0].mean(0)[:2]
    if np.hypot(x, y) > SHEET_MARGIN_MM:
        return (
            "The cup does not stand on the mat's middle. "
            "Set it on the rings and take the photo again."
        )
    if solution.views[k].silhouette.touches:
        return (
            "Something else touches the cup in the picture, so its outline cannot be followed. "
            "Clear the mat and take the photo again, or set the points by hand."
        )
    if _overlap(solution, k) < MIN_OVERLAP or _relief(solution, k) > MAX_RELIEF_MM:
        return (
            "The outline found is not one of a single cup standing free. Clear what stands beside "
            "or behind it and take the photo again, or set the points by hand."
        )
    needed = ("rim",) if top_view else ("rim", "foot")
    if not all(parts[name].good for name in needed):
        return (
            "The cup hardly stands out from what is behind it. Put a sheet of another colour "
            "behind it and take the photo again, or set the points by hand."
        )
    return None


def _overlap(solution, k):
    """Intersection over union of the solved shape and the colour mask without handle."""
    s = solution.views[k].silhouette
    shape = np.zeros(s.body.shape, np.uint8)
    for ring in (solution.cameras[k].project(solution.grid(k)) - s.origin + 0.5) / s.step - 0.5:
        cv2.fillPoly(shape, [np.round(ring).astype(np.int32)], 1)
    both = (shape > 0) & s.body
    either = (shape > 0) | s.body
    return both.sum() / max(either.sum(), 1)


def _relief(solution, k):
    t = solution.traced[k]
    offset = (t.offset_px / t.px_per_mm)[np.isfinite(t.offset_px)]
    return 1.4826 * float(np.median(np.abs(offset))) if len(offset) > 10 else np.inf


def missing_sentence(names: list[str], verdict: Verdict) -> str | None:
    """Say which measures are not carried and what hides them; None when all are."""
    if not names:
        return None
    hidden = sorted(
        {
            WORDS[part]
            for name in names
            for part in NEEDS[name]
            if part in verdict.parts and not verdict.parts[part].good
        }
    )
    spoken = ", ".join(n.removesuffix("_mm").removesuffix("_deg").replace("_", " ") for n in names)
    because = f" because {' and '.join(hidden)} cannot be followed" if hidden else ""
    return f"Not to be relied on{because}: {spoken}. Set points by hand or measure with a ruler."
