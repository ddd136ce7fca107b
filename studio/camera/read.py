"""The door: photographs in, measures out.

Photos of one piece at one stage are solved together. Whatever cannot be read comes back with a
sentence, never with an exception of a library and never silently.
"""

import re
from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import datetime

import cv2
import numpy as np

from studio.camera import (
    edges,
    fit,
    grip,
    handle,
    landmarks,
    markers,
    mat,
    outline,
    pose,
    side,
    slip,
    top,
)
from studio.camera import trust as trust_
from studio.camera.intake import DecodedPhoto, PhotoError, decode
from studio.camera.solution import View
from studio.camera.uncertainty import Measure
from studio.ware.stages import FIRED, STAGE_WORDS

WORK_SIDE_PX = (
    2400  # a longer picture is reduced: the cup's relief, not the pixel, limits the measures
)
NAMED = re.compile(
    r"^(?P<code>[A-Za-z0-9]+-[0-9]+)(?:-(?P<stage>[a-z]+))?(?:-(?P<view>side|top))?", re.ASCII
)


@dataclass(frozen=True)
class PhotoReading:
    """What one photograph tells.

    Attributes
    ----------
    file : str
    code : str or None
        Of the piece: by the slip, else by the file's name.
    stage : str or None
        By the file's name.
    view : str or None
        "side" or "top".
    camera : dict or None
        reprojection_px, distance_mm, elevation_deg and azimuth_deg.
    measures : dict of str to Measure
    message : str or None
        A sentence when something could not be read; None when all is well.
    taken_at : datetime or None
    readable : bool
        False when the file is no picture at all.
    solved_with : tuple of str
        Other files solved together with this one.
    solved : Camera or None
        The camera, in the pixels of the file, upright.
    points : dict of str to ndarray, shape (2,)
        Where the solved cup shows the points that a hand can mend (`by_hand.POINTS`). [px]
    outline : ndarray, shape (n, 2)
        The solved cup's outer outline without its handle. [px]
    bar_mm : float or None
        Length of the check bar that the sizes stand on; None where nobody measured it.
    note : str or None
        A sentence about the print, where there is something to say.
    """

    file: str
    code: str | None = None
    stage: str | None = None
    view: str | None = None
    camera: dict | None = None
    measures: dict = field(default_factory=dict)
    message: str | None = None
    taken_at: datetime | None = None
    readable: bool = True
    solved_with: tuple[str, ...] = ()
    solved: pose.Camera | None = None
    points: dict = field(default_factory=dict)
    outline: np.ndarray = field(default_factory=lambda: np.zeros((0, 2)))
    bar_mm: float | None = None
    note: str | None = None

    def as_dict(self) -> dict:
        """Plain values for JSON."""
        return {
            "file": self.file, "code": self.code, "stage": self.stage, "view": self.view,
            "camera": self.camera,
            "measures": {
                name: {"value": round(m.value, 4), "u": round(m.u, 4), "trusted": m.trusted}
                for name, m in self.measures.items()
            },
            "message": self.message, "solved_with": list(self.solved_with),
            "bar_mm": self.bar_mm, "note": self.note,
        }  # fmt: skip


@dataclass(frozen=True)
class _Prepared:
    reading: PhotoReading
    view: View | None = None
    size: tuple[int, int] = (0, 0)  # of the file's picture [px]
    reduced: float = 1.0


def read_photos(
    files: list[tuple[str, bytes]], check_bar_mm: float | None = mat.CHECK_BAR_MM
) -> list[PhotoReading]:
    """Read photographs; those of one piece at one stage are solved together.

    Parameters
    ----------
    files : list of (str, bytes)
        File name and content.
    check_bar_mm : float or None
        Length of the mat's check bar by a ruler [mm]: the printer's scale. None for a mat that
        nobody measured yet: lengths are then as unsure as printers are, and a sentence asks.

    Returns
    -------
    list of PhotoReading
        In the order of the files.
    """
    scale = mat.print_scale(check_bar_mm or mat.CHECK_BAR_MM)
    prepared = [_prepare(name, data, scale) for name, data in files]
    together = defaultdict(list)
    for k, p in enumerate(prepared):
        r = p.reading
        together[(r.code, r.stage) if r.code else (None, k)].append(k)
    return _by_print(_measure_groups(prepared, together.values()), check_bar_mm)


def read_together(
    pictures: list[DecodedPhoto], check_bar_mm: float | None = mat.CHECK_BAR_MM
) -> list[PhotoReading]:
    """Read decoded photographs that are known to show one piece at one stage.

    Parameters
    ----------
    pictures : list of intake.Photo
        Upright, with their focal length where it is known.
    check_bar_mm : float
        As in `read_photos`.

    Returns
    -------
    list of PhotoReading
        In the order of the pictures.
    """
    scale = mat.print_scale(check_bar_mm or mat.CHECK_BAR_MM)
    prepared = [_look(photo, PhotoReading(photo.name), scale) for photo in pictures]
    readings = _measure_groups(prepared, [list(range(len(prepared)))])
    return _by_print(readings, check_bar_mm)


ASK_BAR = (
    "Measure the check bar on the printed mat with a ruler and give its length: until then the "
    "sizes are no surer than a printer's scale."
)


def _by_print(readings, check_bar_mm):
    """The readings with the check bar they stand on, and what an unmeasured one leaves open."""
    if check_bar_mm is not None:
        scale = mat.print_scale(check_bar_mm)
        note = None
        if abs(scale - 1) > mat.SCALE_WORTH_SAYING:
            note = f"The mat is printed at {scale:.1%} of its size; all sizes are scaled by that."
        return [replace(r, bar_mm=check_bar_mm, note=note) for r in readings]
    out = []
    for r in readings:
        measures = {}
        for name, m in r.measures.items():
            u = m.u
            if name.endswith("_mm"):
                u = float(np.hypot(u, mat.UNMEASURED_SCALE_SD * m.value))
            measures[name] = replace(m, u=u, trusted=m.trusted and u <= trust_.MAX_U[name])
        out.append(replace(r, measures=measures, note=ASK_BAR if r.measures else None))
    return out


def _measure_groups(prepared, groups):
    out = [p.reading for p in prepared]
    for members in groups:
        # A side view first: it sees the foot, where the solution starts.
        seen = [k for k in members if prepared[k].view is not None]
        order = sorted(seen, key=lambda k: out[k].view != "side")
        if order:
            for k, reading in zip(order, _measure([prepared[k] for k in order]), strict=True):
                out[k] = reading
    return out


def name_facts(name: str) -> tuple[str | None, str | None]:
    """Code and stage as a file name tells them: K3-01-leather-side.jpg."""
    found = NAMED.match(name.rsplit("/", 1)[-1])
    if not found:
        return None, None
    stage = found["stage"]
    return found["code"], stage if stage in STAGE_WORDS or stage == FIRED else None


def _prepare(name, data, scale):
    code, stage = name_facts(name)
    try:
        photo = decode(name, data)
    except PhotoError as problem:
        return _Prepared(PhotoReading(name, code, stage, message=str(problem), readable=False))
    return _look(photo, PhotoReading(name, code, stage, taken_at=photo.taken_at), scale)


def _look(photo: DecodedPhoto, reading: PhotoReading, scale: float) -> _Prepared:
    """The camera, the slip and the silhouette of one decoded picture."""
    rgb, reduced = _working_size(photo)
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    linear = markers.linear_light(rgb)
    light = linear @ np.float32([0.2126, 0.7152, 0.0722])
    found = markers.find_markers(grey, light)
    try:
        camera = pose.solve(found, rgb.shape[1::-1], photo.f35_mm, scale)
    except pose.PoseError as problem:
        return _Prepared(replace(reading, message=str(problem)))
    on_slip = slip.read_code(grey, camera)
    top_view = camera.elevation_deg > outline.STEEP_DEG
    reading = replace(
        reading,
        code=on_slip or reading.code,
        view="top" if top_view else "side",
        camera={
            "reprojection_px": round(camera.reprojection_px * reduced, 4),
            "distance_mm": round(camera.distance_mm, 2),
            "elevation_deg": round(camera.elevation_deg, 3),
            "azimuth_deg": round(camera.azimuth_deg, 3),
        },
    )
    view = View(
        photo.name, camera, linear, outline.separate(rgb, camera), edges.pixel_noise(linear),
        float(np.median([m.blur_px for m in found])), outline.printed_edges(grey.shape, camera),
    )  # fmt: skip
    size = (photo.rgb.shape[1], photo.rgb.shape[0])
    reading = replace(reading, solved=_in_file_pixels(camera, size, reduced))
    return _Prepared(reading, view, size, reduced)


def _in_file_pixels(camera: pose.Camera, size, reduced: float) -> pose.Camera:
    """The camera of the picture before it was reduced; the optical axis stays in the middle."""
    return replace(camera, size=size, f_px=camera.f_px * reduced)


def _working_size(photo: DecodedPhoto):
    """The picture to work on and by how much it was reduced."""
    side_px = max(photo.rgb.shape[:2])
    if side_px <= WORK_SIDE_PX:
        return photo.rgb, 1.0
    factor = int(np.ceil(side_px / WORK_SIDE_PX))
    h, w = (n // factor * factor for n in photo.rgb.shape[:2])
    # Whole factors, cut evenly: pixels are averaged and the optical axis stays in the middle.
    y, x = ((n - m) // 2 for n, m in zip(photo.rgb.shape[:2], (h, w), strict=True))
    cut = photo.rgb[y : y + h, x : x + w]
    small = cv2.resize(cut, (w // factor, h // factor), interpolation=cv2.INTER_AREA)
    return small, float(factor)


def _measure(group):
    """Solve a group of prepared photos and measure each."""
    views = [p.view for p in group]
    try:
        solution = fit.solve_together(views)
    except np.linalg.LinAlgError:
        sentence = "The outline could not be followed. Set the points by hand."
        return [replace(p.reading, message=sentence) for p in group]
    verdicts = [
        trust_.view_trust(solution, k, p.reading.view == "top") for k, p in enumerate(group)
    ]
    if trust_.two_cups(solution, verdicts):
        verdicts = [replace(verdict, doubt=trust_.TWO_CUPS) for verdict in verdicts]
    sound = [k for k, verdict in enumerate(verdicts) if not verdict.doubt]
    if 0 < len(sound) < len(group):
        return _apart(group, sound)
    grips, handles = _handles(solution, group)
    out = []
    for k, p in enumerate(group):
        if p.reading.view == "top":
            found = top.rim(solution, k)
            found |= _named(grips[k], {"azimuth_deg": "handle_azimuth_deg",
                                       "twist_deg": "handle_twist_deg"})  # fmt: skip
        else:
            found = side.measures(solution, k)
            found |= _named(handles[k], SIDE_HANDLE_NAMES)
        others = tuple(q.reading.file for q in group if q is not p)
        shown = _shown(solution, k, p, found)
        handle_seen = (grips if p.reading.view == "top" else handles)[k].seen
        out.append(_finished(shown, found, verdicts[k], others, handle_seen))
    return out


def _apart(group, sound):
    """Measure the sound views together and each doubtful one alone: it must not pull the others."""
    out = [None] * len(group)
    for k, reading in zip(sound, _measure([group[k] for k in sound]), strict=True):
        out[k] = reading
    for k in set(range(len(group))) - set(sound):
        (out[k],) = _measure([group[k]])
    return out


def _shown(solution, k, prepared: _Prepared, found) -> PhotoReading:
    """The reading with what a page shows of it: camera, points and outline in the file's pixels."""
    camera = _in_file_pixels(solution.cameras[k], prepared.size, prepared.reduced)
    grid = solution.grid(k)
    if prepared.reading.view == "top":
        points = landmarks.top_points(grid, camera, found)
    else:
        points = landmarks.side_points(grid, camera)
    return replace(
        prepared.reading, solved=camera, points=points, outline=landmarks.outline(grid, camera)
    )


SIDE_HANDLE_NAMES = {
    "reach_mm": "handle_reach_mm", "top_mm": "handle_top_mm", "bottom_mm": "handle_bottom_mm",
    "opening_height_mm": "opening_height_mm", "opening_depth_mm": "opening_depth_mm",
}  # fmt: skip


HANDLE_NAMES = (*SIDE_HANDLE_NAMES.values(), "handle_azimuth_deg", "handle_twist_deg")
HANDLES = {
    0: "No handle seen.",
    1: None,
    2: "Something stands out on both sides, so no handle was measured.",
}

WANTED = {
    "side": (*side.NAMES, *SIDE_HANDLE_NAMES.values()),
    "top": (
        "rim_diameter_mm", "out_of_round_mm", "centre_offset_mm",
        "handle_azimuth_deg", "handle_twist_deg",
    ),
}  # fmt: skip


def _named(found, names):
    return {
        ours: getattr(found, theirs)
        for theirs, ours in names.items()
        if getattr(found, theirs) is not None
    }


def _handles(solution, group):
    """Handles of all views: the top view lends its direction, the side view its curve."""
    tops = [k for k, p in enumerate(group) if p.reading.view == "top"]
    sides = [k for k, p in enumerate(group) if p.reading.view == "side"]
    grips = {k: grip.in_top_view(solution.views[k], solution, k) for k in tops}
    azimuth = next((g.azimuth_deg for g in grips.values() if g.azimuth_deg), None)
    handles = {}
    for k in sides:
        here = None
        if azimuth is not None:
            turned = np.degrees(solution.places[k][2] - solution.places[tops[0]][2])
            here = Measure(azimuth.value + float(turned), azimuth.u)
        handles[k] = handle.in_side_view(solution.views[k], solution, k, here)
    curve = next((h.curve for h in handles.values() if h.curve), None)
    if curve:
        grips = {k: grip.in_top_view(solution.views[k], solution, k, curve) for k in tops}
    return grips, handles


def _widened(found):
    return [(name, replace(m, u=trust_.widened(name, m.u))) for name, m in found.items()]


def _finished(reading, found, verdict, others, handle_seen):
    """Put trust on the measures and a sentence beside what may not be trusted."""
    judged = {
        name: replace(m, trusted=trust_.trusted(name, m.u, verdict))
        for name, m in _widened(found)
        if np.isfinite(m.value) and np.isfinite(m.u)
    }
    doubtful = [name for name, m in judged.items() if not m.trusted]
    doubtful += [name for name in WANTED[reading.view] if name not in judged]
    if handle_seen != 1:
        doubtful = [name for name in doubtful if name not in HANDLE_NAMES]
    if verdict.doubt:  # of an outline that is not to be relied on, no handle is told either
        told = [verdict.doubt]
    else:
        told = [trust_.missing_sentence(doubtful, verdict), HANDLES[handle_seen]]
    message = " ".join(sentence for sentence in told if sentence) or None
    return replace(reading, measures=judged, message=message, solved_with=others)
