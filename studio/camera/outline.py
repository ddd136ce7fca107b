"""The cup set apart from mat, table and backdrop.

The camera is known, so the room a cup may fill is known too: what lies outside of it is
background, the core above the mat's centre is cup, and between the two colours decide (GrabCut on
a reduced picture). The mask only starts the search for edges; no size is read from it.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from studio.camera import mat
from studio.camera.grid import covered
from studio.camera.markers import linear_light
from studio.camera.pose import Camera

MAX_RADIUS_MM, MAX_HEIGHT_MM = 110.0, 310.0  # any school mug with its handle, any tall vase
MAX_TOP_HEIGHT_MM = 150.0  # seen from above: higher pots reach too near to the eye
LIKELY_RADIUS_MM, LIKELY_HEIGHT_MM = 42.0, 100.0
CORE_RADIUS_MM, CORE_LOW_MM, CORE_HIGH_MM = 16.0, 8.0, 50.0
WORK_SIDE_PX = 360
CHROMA_MADS, CHROMA_LEAST = 4.0, 0.05  # log ratios of colours: so far off is another than paper's
CHROMA_DARK = 0.004  # linear light added to each colour: a ratio of two dark values is noise
PAPER_LIT, LEAST_PAPER_PX = 0.4, 200
# Of what is surely cup so little may have the paper's colour; a glaze can be white above bare clay.
LIKE_PAPER_SHARE = 0.05
INNER_RADIUS_MM, INNER_LOW_MM, INNER_HIGH_MM = 22.0, 6.0, 70.0
GRABCUT_ROUNDS = 4
LAB_WEIGHTS = np.float32([0.8, 2.5, 2.5])
PAPER_TOLERANCE = 0.10  # of the paper's linear level; shadows are told by colour, not by level
PRINT_WIDTH_PX = 4
RING_STEPS = 120
BAND_IN_MM, BAND_OUT_MM = 6.0, 6.0  # the first fit is that close to the outline
STEEP_DEG = 50.0  # from here on a photo is a top view
END_SHARE = 0.12  # of the height at top and bottom, where handles seldom are
MIRROR_REACH_MM = 30.0  # so far from the mat's middle a cup's own axis may stand
MIRROR_MARGIN_MM = 2.5  # a leaning cup is not its own mirror image
OPENING_MM = 2.5  # less than half a strap: its stub at the wall goes
BODY_DISC_MM = 20.0  # wider than half of a handle with its opening, narrower than half a cup
BODY_RIM_MM = 2.0
PAPER_HUE = 7.0  # Lab units of colour away from the paper's
PAPER_DARK = 0.4  # of the paper's lightness; a shadow indoors keeps more
HANDLE_MOST_MM = 55.0  # beyond the wall, with what perspective adds
HANDLE_LEAST_MM = 9.0  # the disc leaves out corners of the foot and rim that reach less far


@dataclass(frozen=True)
class Silhouette:
    """Mask of the cup with its handle, over a window of the picture.

    Attributes
    ----------
    mask : ndarray of bool, shape (h, w)
        Cup and handle on the reduced grid, as the colours say.
    body : ndarray of bool, shape (h, w)
        Without the handle, holes closed.
    handle : ndarray of bool, shape (h, w)
        What grows out of the body, its opening closed.
    picture : ndarray, shape (h, w, 3), uint8
        The reduced window, hue weighed against lightness.
    origin : ndarray, shape (2,)
        Window's upper left corner [px].
    step : float
        Picture pixels per mask pixel.
    touches : bool
        The mask reaches the window's edge: something else than a cup is joined to it.
    paper : ndarray of bool, shape (h, w)
        What has the paper's own colour where the cup has another.
    """

    mask: np.ndarray
    body: np.ndarray
    handle: np.ndarray
    picture: np.ndarray
    origin: np.ndarray
    step: float
    touches: bool
    paper: np.ndarray

    def inside(self, mask: np.ndarray, pixels: np.ndarray) -> np.ndarray:
        """Whether picture pixels, shape (n, 2), lie on one of the masks."""
        at = np.round((pixels - self.origin + 0.5) / self.step - 0.5).astype(int)
        h, w = mask.shape
        ok = (at[:, 0] >= 0) & (at[:, 1] >= 0) & (at[:, 0] < w) & (at[:, 1] < h)
        out = np.zeros(len(at), bool)
        out[ok] = mask[at[ok, 1], at[ok, 0]]
        return out

    def to_picture(self, at: np.ndarray) -> np.ndarray:
        """Mask coordinates (x, y) to picture pixels."""
        return (np.asarray(at, float) + 0.5) * self.step - 0.5 + self.origin


def cylinder_hull(camera: Camera, radius: float, low: float, high: float) -> np.ndarray:
    """Convex outline of an upright cylinder about the origin in the picture; shape (n, 2)."""
    t = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    ring = np.stack([radius * np.cos(t), radius * np.sin(t)], 1)
    points = np.concatenate([np.column_stack([ring, np.full(48, z)]) for z in (low, high)])
    return cv2.convexHull(camera.project(points).astype(np.float32))[:, 0]


def separate(rgb: np.ndarray, camera: Camera) -> Silhouette:
    """Mask of what stands on the mat's centre."""
    steep = camera.elevation_deg > STEEP_DEG
    room = cylinder_hull(camera, MAX_RADIUS_MM, 0, MAX_TOP_HEIGHT_MM if steep else MAX_HEIGHT_MM)
    height, width = rgb.shape[:2]
    margin = 0.05 * (room.max(0) - room.min(0))
    low = np.maximum(np.floor(room.min(0) - margin), 0).astype(int)
    high = np.minimum(np.ceil(room.max(0) + margin), (width, height)).astype(int)
    window = rgb[low[1] : high[1], low[0] : high[0]]
    step = max(1.0, max(window.shape[:2]) / WORK_SIDE_PX)
    size = (int(window.shape[1] / step), int(window.shape[0] / step))
    small = cv2.resize(window, size, interpolation=cv2.INTER_AREA)

    def area(hull):
        out = np.zeros(size[::-1], np.uint8)
        cv2.fillConvexPoly(out, np.round((hull - low + 0.5) / step - 0.5).astype(np.int32), 1)
        return out > 0

    labels = np.full(size[::-1], cv2.GC_BGD, np.uint8)
    labels[area(room)] = cv2.GC_PR_BGD
    labels[area(cylinder_hull(camera, LIKELY_RADIUS_MM, 0, LIKELY_HEIGHT_MM))] = cv2.GC_PR_FGD
    labels[area(cylinder_hull(camera, CORE_RADIUS_MM, CORE_LOW_MM, CORE_HIGH_MM))] = cv2.GC_FGD
    labels[_markers_area(camera, low, step, size)] = cv2.GC_BGD
    core = area(cylinder_hull(camera, CORE_RADIUS_MM, CORE_LOW_MM, CORE_HIGH_MM))
    inner = area(cylinder_hull(camera, INNER_RADIUS_MM, INNER_LOW_MM, INNER_HIGH_MM))
    paper = _surely_paper(small, area(camera.project(_SHEET)), area(room), inner)
    labels[paper & ~core] = cv2.GC_BGD
    lab = cv2.cvtColor(cv2.bilateralFilter(small, 5, 20, 3), cv2.COLOR_RGB2Lab).astype(np.float32)
    # Shadows change the lightness and hardly the hue.
    picture = np.clip((lab - 128) * LAB_WEIGHTS + 128, 0, 255).astype(np.uint8)
    cv2.setRNGSeed(0)  # the colour models start from k-means: the same photo gives the same sizes
    cv2.grabCut(picture, labels, None, np.zeros((1, 65)), np.zeros((1, 65)), GRABCUT_ROUNDS,
                cv2.GC_INIT_WITH_MASK)  # fmt: skip
    mask = ((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)).astype(np.uint8)
    mask = _joined(cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)), core)
    edge = np.concatenate([mask[0], mask[-1], mask[:, 0], mask[:, -1]])
    per_mm = camera.f_px / (camera.rotation[2, 2] * 45 + camera.shift_mm[2]) / step
    if camera.elevation_deg < STEEP_DEG:
        axis = (camera.project(np.array([[0, 0, 2.0], [0, 0, 18.0]])) - low + 0.5) / step - 0.5
        body, handle = _mirrored(mask, axis, per_mm)
    else:
        body, handle = _without_handle(mask, per_mm)
    return Silhouette(
        mask, body, handle, picture, low.astype(float), (high - low)[0] / size[0],
        bool(edge.any()), paper,
    )  # fmt: skip


_SHEET = np.array(
    [
        (x * mat.SHEET_HALF_MM[0], y * mat.SHEET_HALF_MM[1], 0)
        for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
)


def _surely_paper(rgb, sheet, room, inner):
    """Pixels of the sheet in the paper's own colour, lit or shaded; none if the cup has it too.

    Light and shadow change the level of a colour and hardly the ratios between its parts.
    """
    light = linear_light(rgb).astype(np.float32) + CHROMA_DARK
    ratios = np.log(light[..., [0, 2]] / light[..., 1:2])
    lit = (
        light[..., 1] > PAPER_LIT * np.percentile(light[..., 1][sheet], 90)
        if sheet.any()
        else sheet
    )
    beside = sheet & ~room & lit
    if beside.sum() < LEAST_PAPER_PX:
        beside = sheet & ~inner & lit
    if beside.sum() < LEAST_PAPER_PX:
        return np.zeros_like(sheet)
    middle = np.median(ratios[beside], axis=0)
    spread = 1.4826 * np.median(np.abs(ratios[beside] - middle), axis=0).max()
    near = np.abs(ratios - middle).max(-1) < max(CHROMA_MADS * spread, CHROMA_LEAST)
    if near[inner].mean() > LIKE_PAPER_SHARE:
        return np.zeros_like(sheet)
    return cv2.morphologyEx((near & sheet).astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3))) > 0


def _disc(radius):
    r = max(round(float(radius)), 1)
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * r + 1, 2 * r + 1))


def _mirrored(mask, axis, per_mm):
    """Split a side view into body and handle: the body is what its mirror image has too."""
    up = axis[1] - axis[0]
    up = up / np.linalg.norm(up)
    across = np.array([-up[1], up[0]])
    filled = _filled(mask)
    foot = axis[0] + _mirror_shift(mask, axis[0], across, MIRROR_REACH_MM * per_mm) * across
    matrix = np.eye(2) - 2 * np.outer(across, across)
    shift = foot - matrix @ foot
    mirror = cv2.warpAffine(
        filled, np.column_stack([matrix, shift]), mask.shape[::-1], flags=cv2.INTER_NEAREST
    )
    _, holes, _, middle = cv2.connectedComponentsWithStats((filled > 0).astype(np.uint8) & ~mask)
    for k, (cx, cy) in enumerate(middle[1:], 1):
        if not mirror[int(cy), int(cx)]:  # the handle's opening, not the cup's dark inside
            filled[holes == k] = 0
    body, handle = _beyond(filled, mirror, per_mm)
    return cv2.morphologyEx(body, cv2.MORPH_OPEN, _disc(OPENING_MM * per_mm)) > 0, handle > 0


def _mirror_shift(mask, origin, across, reach_px):
    """How far aside of the origin the upright line stands about which a mask is most its own
    mirror image [mask px]; a handle has no counterpart and does not count."""
    side = int(np.hypot(*mask.shape)) + 1
    down = np.array([-across[1], across[0]])
    turn = np.stack([across, down])
    straight = cv2.warpAffine(
        mask.astype(np.uint8), np.column_stack([turn, side - turn @ origin]), (2 * side, 2 * side),
        flags=cv2.INTER_NEAREST,
    )  # fmt: skip
    # A row laid over its mirror image about s agrees in as many places as the row's correlation
    # with its own reverse tells at 2 s.
    spectrum = np.fft.rfft(straight[straight.any(1)], 4 * side, axis=1)
    agree = np.fft.irfft((spectrum**2).sum(0), 4 * side)
    centres = np.arange(4 * side) / 2 - side
    agree[np.abs(centres) > reach_px] = -1
    # A shadow widens the foot, a handle the middle, a backdrop the rim: two of three are right.
    rows = np.nonzero(straight.any(1))[0]
    ends = max(int(END_SHARE * len(rows)), 1)
    first = straight[rows].argmax(1)
    last = straight.shape[1] - 1 - straight[rows, ::-1].argmax(1)
    middles = (first + last) / 2 - side
    return float(np.median([
        centres[agree.argmax()], np.median(middles[:ends]), np.median(middles[-ends:])
    ]))  # fmt: skip


def _beyond(mask, guess, per_mm):
    """Split a mask by a guess of the body: what reaches far out of it is handle."""
    beyond = mask & (cv2.dilate(guess, _disc(MIRROR_MARGIN_MM * per_mm)) == 0)
    beyond = cv2.morphologyEx(beyond, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    far = mask & (cv2.dilate(guess, _disc(HANDLE_LEAST_MM * per_mm)) == 0)
    _, parts = cv2.connectedComponents(beyond)
    grown = np.isin(parts, list(set(np.unique(parts[far > 0])) - {0})).astype(np.uint8)
    body = mask & ~grown
    return body, grown


def _recoloured(s, guess, per_mm, not_cup):
    """Colours learnt anew: cup well inside the shape, backdrop, paper and shadow well outside."""
    near = cv2.dilate(guess | s.mask.astype(np.uint8), _disc(BAND_OUT_MM * per_mm))
    sure = cv2.erode(guess, _disc(BAND_IN_MM * per_mm)) > 0
    labels = np.where(near > 0, cv2.GC_PR_BGD, cv2.GC_BGD).astype(np.uint8)
    labels[(guess > 0) | s.handle] = cv2.GC_PR_FGD
    labels[(not_cup | s.paper) & (guess == 0)] = cv2.GC_BGD
    labels[sure] = cv2.GC_FGD
    if not_cup.any():
        grown = _off_paper(s.picture, guess, per_mm, not_cup)
        labels[(labels == cv2.GC_BGD) & (cv2.dilate(grown, _disc(2.0 * per_mm)) > 0)] = (
            cv2.GC_PR_BGD
        )
        labels[(grown > 0) & (labels != cv2.GC_FGD)] = cv2.GC_PR_FGD
    cv2.setRNGSeed(0)
    cv2.grabCut(s.picture, labels, None, np.zeros((1, 65)), np.zeros((1, 65)), GRABCUT_ROUNDS,
                cv2.GC_INIT_WITH_MASK)  # fmt: skip
    mask = ((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)).astype(np.uint8)
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    return _joined(mask, labels == cv2.GC_FGD).astype(np.uint8)


def _off_paper(picture, guess, per_mm, not_cup):
    """What grows out of the shape and is not paper, in a top view: hue or depth of dark tell it."""
    ring = cv2.dilate(guess, _disc(HANDLE_MOST_MM * per_mm)) & (guess == 0) & ~not_cup
    ring = ring > 0
    values = picture.astype(float)
    paper = np.median(values[ring], axis=0)
    hue = np.hypot(*(values[..., 1:] - paper[1:]).transpose(2, 0, 1)) / LAB_WEIGHTS[1]
    least = max(PAPER_HUE, 6 * float(np.median(hue[ring])))
    level = (picture[..., 0].astype(float) - 128) / LAB_WEIGHTS[0] + 128
    dark = level < PAPER_DARK * ((paper[0] - 128) / LAB_WEIGHTS[0] + 128)
    found = (((hue > least) | dark) & ring).astype(np.uint8)
    found = cv2.morphologyEx(found, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    near = cv2.dilate(guess, _disc(2.0 * per_mm)) > 0
    far = cv2.dilate(guess, _disc(HANDLE_LEAST_MM * per_mm)) == 0
    _, parts = cv2.connectedComponents(found)
    both = set(np.unique(parts[near & (found > 0)])) & set(np.unique(parts[far & (found > 0)]))
    return np.isin(parts, list(both - {0})).astype(np.uint8)


def split_by_shape(
    silhouette: Silhouette, rings_px: np.ndarray, per_mm: float, printed: np.ndarray | None = None
) -> Silhouette:
    """The same silhouette with body and handle told by a fitted shape.

    Parameters
    ----------
    silhouette : Silhouette
    rings_px : ndarray, shape (rings, n, 2)
        The shape's rings in the picture [px].
    per_mm : float
        Picture pixels per millimetre at the cup.
    printed : ndarray, shape (n, 4, 2), optional
        The mat's markers [px], in a top view, where no handle can stand before them.
    """
    s = silhouette
    guess = covered((rings_px - s.origin + 0.5) / s.step - 0.5, s.mask.shape[::-1])
    not_cup = np.zeros_like(guess)
    for quad in () if printed is None else (printed - s.origin + 0.5) / s.step - 0.5:
        cv2.fillConvexPoly(not_cup, np.round(quad).astype(np.int32), 1)
    not_cup = cv2.dilate(not_cup, np.ones((3, 3), np.uint8)) > 0
    mask = _recoloured(s, guess, per_mm / s.step, not_cup)
    mask = mask | (_filled(mask) & guess)
    body, handle = _beyond(mask, guess, per_mm / s.step)
    return replace(s, mask=mask > 0, body=body > 0, handle=handle > 0)


def _filled(mask):
    """Holes of a mask closed; uint8."""
    outside = cv2.copyMakeBorder(mask.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT)
    cv2.floodFill(outside, None, (0, 0), 2)
    return (outside[1:-1, 1:-1] != 2).astype(np.uint8)


def _without_handle(mask, per_mm):
    """Split a mask into body and handle: a disc too wide for any handle cannot reach into it."""
    pad = int(BODY_DISC_MM * per_mm) + 2
    full = cv2.copyMakeBorder(_filled(mask), pad, pad, pad, pad, cv2.BORDER_CONSTANT)
    opened = cv2.morphologyEx(full, cv2.MORPH_OPEN, _disc(BODY_DISC_MM * per_mm))
    rest = full & ~cv2.dilate(opened, _disc(BODY_RIM_MM * per_mm))
    _, parts = cv2.connectedComponents(rest)
    far = full & ~cv2.dilate(opened, _disc(HANDLE_LEAST_MM * per_mm))
    handle = np.isin(parts, list(set(np.unique(parts[far > 0])) - {0})).astype(np.uint8)
    handle = cv2.dilate(handle, _disc(BODY_RIM_MM * per_mm)) & full & ~opened
    cut = slice(pad, -pad), slice(pad, -pad)
    return (full & ~handle)[cut] > 0, handle[cut] > 0


def _markers_area(camera, low, step, size):
    """Front and side markers the camera found whole: nothing of the cup is before them."""
    out = np.zeros(size[::-1], np.uint8)
    for marker_id in camera.marker_ids:
        quad = camera.project(mat.marker_corners(marker_id))
        cv2.fillConvexPoly(out, np.round((quad - low + 0.5) / step - 0.5).astype(np.int32), 1)
    return out > 0


def _joined(mask, core):
    """The part of the mask that hangs together with the core."""
    _, parts = cv2.connectedComponents(mask)
    wanted = set(np.unique(parts[core & (mask > 0)])) - {0}
    return np.isin(parts, list(wanted))


def printed_edges(shape: tuple[int, int], camera: Camera) -> np.ndarray:
    """Where edges of the mat's printing are expected in the picture; bool, shape (h, w)."""
    out = np.zeros(shape, np.uint8)
    n = mat.CELLS
    t = np.linspace(0, 1, n + 1)
    for marker_id in mat.CENTRES_MM:
        tl, tr, br, bl = mat.marker_corners(marker_id)
        lines = [(tl + k * (bl - tl), tr + k * (br - tr)) for k in t]
        lines += [(tl + k * (tr - tl), bl + k * (br - bl)) for k in t]
        for a, b in lines:
            pa, pb = camera.project(np.array([a, b]))
            cv2.line(out, _whole(pa), _whole(pb), 1, PRINT_WIDTH_PX)
    turn = np.linspace(0, 2 * np.pi, RING_STEPS)
    ring = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(RING_STEPS)])
    for radius in (*mat.RING_RADII_MM, *mat.TICK_RADII_MM):
        at = np.clip(np.round(camera.project(radius * ring)), -20000, 20000).astype(np.int32)
        cv2.polylines(out, [at], True, 1, PRINT_WIDTH_PX)
    return out > 0


def _whole(point):
    return tuple(int(v) for v in np.clip(np.round(point), -20000, 20000))
