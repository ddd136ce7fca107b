"""The slip with the piece's code, read on the sheet's plane once the camera is known.

On that plane a slanted, small code is square again. A low camera leaves a module hardly a pixel
high, so the code is found first, aligned by the patterns every code has, sampled module by module,
and drawn clean for the decoder.
"""

from functools import cache

import cv2
import numpy as np

from studio.camera.pose import Camera

FIND_PX_PER_MM = (4.0, 6.0)
HALF_SHEET_MM = (125.0, 95.0)
SIDE_RANGE_MM = (15.0, 40.0)  # printed 20 to 30 mm wide
MODULES = (21, 25)  # versions 1 and 2 hold up to 25 and 47 characters
MIN_ALIGNMENT = 0.5  # correlation of the fixed patterns with the picture
ALIGNMENT_ROUNDS = 14
THRESHOLDS = (0.5, 0.42, 0.58, 0.35, 0.65)
MAP_STEP = 8
MAX_CODE_LENGTH = 40


def _sample(picture, camera, grid_xy):
    """Picture values at places on the paper; grid_xy has shape (h, w, 2), mm."""
    where = camera.project(np.concatenate([grid_xy, np.zeros((*grid_xy.shape[:2], 1))], -1))
    where = where.astype(np.float32)
    return cv2.remap(picture, where[..., 0], where[..., 1], cv2.INTER_CUBIC, borderValue=255)


def rectified(picture: np.ndarray, camera: Camera, px_per_mm: float) -> np.ndarray:
    """The sheet seen straight from above; rows run from the rear edge to the front edge."""
    nx, ny = (int(2 * h * px_per_mm) // MAP_STEP + 1 for h in HALF_SHEET_MM)
    step = MAP_STEP / px_per_mm
    xs, ys = np.arange(nx + 1) * step, np.arange(ny + 1) * step
    x, y = np.meshgrid(xs - HALF_SHEET_MM[0], HALF_SHEET_MM[1] - ys)
    coarse = camera.project(np.stack([x, y, np.zeros_like(x)], -1)).astype(np.float32)
    # The map is smooth: projecting every eighth point and interpolating is exact to 0.01 px.
    fine_x, fine_y = np.meshgrid(
        np.arange(nx * MAP_STEP, dtype=np.float32) / MAP_STEP,
        np.arange(ny * MAP_STEP, dtype=np.float32) / MAP_STEP,
    )
    where = cv2.remap(coarse, fine_x, fine_y, cv2.INTER_LINEAR)
    return cv2.remap(picture, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderValue=255)


def read_code(grey: np.ndarray, camera: Camera) -> str | None:
    """Text of the QR slip on the sheet, or None where no slip can be read."""
    detector = cv2.QRCodeDetector()
    for px_per_mm in FIND_PX_PER_MM:
        plan = rectified(grey, camera, px_per_mm)
        try:
            found, quad = detector.detect(plan)
        except cv2.error:  # a degenerate candidate makes the library raise
            continue
        if not found:
            continue
        quad = np.array([-1, 1]) * (np.array([HALF_SHEET_MM]) - quad[0] / px_per_mm)
        square = _true_square(quad)
        if square is None:
            continue
        text = _decode_square(detector, grey, camera, square)
        if text:
            return text
    return None


def _true_square(quad):
    """Centre, corners (as complex numbers) and side [mm] of a square slip; None if it is none."""
    z = quad[:, 0] + 1j * quad[:, 1]
    centre = z.mean()
    side = np.sqrt(2) * np.abs(z - centre).mean()
    spread = np.abs(z - centre).std() / np.abs(z - centre).mean()
    if not SIDE_RANGE_MM[0] < side < SIDE_RANGE_MM[1] or spread > 0.15:
        return None
    return centre, z, side


def _decode_square(detector, grey, camera, square):
    """Align the fixed patterns, sample each module, and hand the decoder a clean drawing."""
    centre, corners, side = square
    # Direction of the code's own right, from all four corners of a square turned clockwise.
    turn = (corners - centre) * np.exp(1j * np.pi / 4 * np.array([-3, -1, 1, 3]))
    start = np.array([centre.real, centre.imag, np.log(side), np.angle(turn.mean())])
    for modules in MODULES:
        place, score = _aligned(grey, camera, modules, start)
        if score < MIN_ALIGNMENT:
            continue
        values = _module_values(grey, camera, modules, place)
        for share in THRESHOLDS:
            low, high = np.percentile(values, [10, 90])
            bits = values > low + share * (high - low)
            fixed, known = _fixed_patterns(modules)
            bits[known] = fixed[known]
            clean = np.pad(bits.astype(np.uint8) * 255, 4, constant_values=255)
            clean = cv2.resize(clean, None, fx=8, fy=8, interpolation=cv2.INTER_NEAREST)
            try:
                text = detector.detectAndDecode(clean)[0].strip()
            except cv2.error:
                continue
            if text and len(text) <= MAX_CODE_LENGTH and text.isprintable():
                return text
    return None


@cache
def _fixed_patterns(modules):
    """White modules that every code of this size has, and where they are (ISO/IEC 18004)."""
    white = np.ones((modules, modules), bool)
    known = np.zeros((modules, modules), bool)
    finder = np.ones((8, 8), bool)
    finder[:7, :7] = False
    finder[1:6, 1:6] = True
    finder[2:5, 2:5] = False
    white[:8, :8], known[:8, :8] = finder, True
    white[:8, -8:], known[:8, -8:] = finder[:, ::-1], True
    white[-8:, :8], known[-8:, :8] = finder[::-1], True
    run = np.arange(8, modules - 8)
    white[6, run] = white[run, 6] = run % 2 == 1
    known[6, run] = known[run, 6] = True
    return white, known


def _module_values(grey, camera, modules, place):
    x, y, log_side, angle = place
    inside = (np.arange(3 * modules) + 0.5) / (3 * modules) - 0.5  # three by three to a module
    u, v = np.meshgrid(inside, -inside)
    at = (u + 1j * v) * np.exp(log_side + 1j * angle) + x + 1j * y
    drawn = _sample(grey, camera, np.stack([at.real, at.imag], -1)).astype(float)
    return drawn.reshape(modules, 3, modules, 3).mean((1, 3))


def _aligned(grey, camera, modules, start):
    """Pattern search for the place whose modules agree best with the fixed patterns."""
    white, known = _fixed_patterns(modules)
    wanted = white[known] - white[known].mean()

    def score(place):
        got = _module_values(grey, camera, modules, place)[known]
        got = got - got.mean()
        return float(got @ wanted / (np.linalg.norm(got) * np.linalg.norm(wanted) + 1e-9))

    best, step = start, np.array([0.8, 0.8, 0.04, 0.04])
    top = score(best)
    for _ in range(ALIGNMENT_ROUNDS):
        before = top
        for axis in range(4):
            for sign in (1, -1):
                trial = best + sign * step * (np.arange(4) == axis)
                value = score(trial)
                if value > top:
                    best, top = trial, value
                    break
        if top <= before:
            step = step / 2
    return best, top
