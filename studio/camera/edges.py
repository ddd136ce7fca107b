"""Sub-pixel edges along short lines across an outline, in linear light.

In linear light the blur of an edge is even on both sides. A round wall darkens or brightens
towards its limb as the square root of the distance to it, since its normal turns that way; the
paper darkens likewise towards the foot. The steepest place of such an edge lies to one side of it
by up to a pixel, so the steepest place only starts a fit of the edge with both square roots,
blurred as the markers were found to be.
"""

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np

STEP_PX = 0.5
SMOOTH_PX = 0.9  # about the picture's own blur: sharper gains noise, softer lets neighbours in
BESIDE_PX = (-2.0, -1.0, 0.0, 1.0, 2.0)  # samples along the edge, averaged
MIN_SNR = 5.0
OUTER_SHARE = 0.3  # of the strongest edge's weight: so much makes a farther edge the outline
OUTER_SNR = 15.0
DARK_LEVEL = 0.01  # linear light under which a ratio is noise
HUE_WEIGHT = 2.5  # turn of the colour against its change of level


@dataclass(frozen=True)
class Edges:
    """One edge a line, or none.

    Attributes
    ----------
    offset_px : ndarray, shape (n,)
        Along the outward normal; nan where no edge stands out.
    snr : ndarray, shape (n,)
        Slope of the edge over the slope noise makes.
    contrast : ndarray, shape (n,)
        Difference of linear light across the edge over the light there.
    """

    offset_px: np.ndarray
    snr: np.ndarray
    contrast: np.ndarray


def profiles(linear: np.ndarray, pixels: np.ndarray, normals: np.ndarray, half_px: float):
    """Values along the normals, averaged a little along the edge; shape (n, m, 3), and offsets."""
    t = np.arange(-half_px, half_px + STEP_PX / 2, STEP_PX)
    along = np.stack([-normals[:, 1], normals[:, 0]], 1)
    total = 0
    for beside in BESIDE_PX:
        where = pixels[:, None] + t[None, :, None] * normals[:, None] + beside * along[:, None]
        where = where.astype(np.float32)
        total = total + cv2.remap(
            linear, where[..., 0], where[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
        )
    return total / len(BESIDE_PX), t


FIT_INSIDE_PX, FIT_OUTSIDE_PX = 4.0, 4.0
FIT_REACH_PX, FIT_STEP_PX = 1.5, 0.1
FIT_RIDGE = 0.001  # a square root must earn its place: keeps the fit from trading it for a shift


@cache
def _edge_bases(blur_px: float):
    """Orthonormal bases of blurred edges at every trial place; shifts (k,), bases (k, m, 4)."""
    t = np.arange(-FIT_INSIDE_PX, FIT_OUTSIDE_PX + STEP_PX / 2, STEP_PX)
    fine = np.arange(-FIT_INSIDE_PX - 4, FIT_OUTSIDE_PX + 4, 0.05)
    spread = np.exp(-0.5 * ((t[:, None] - fine[None]) / blur_px) ** 2)
    spread /= spread.sum(1, keepdims=True)
    shifts = np.arange(-FIT_REACH_PX, FIT_REACH_PX + FIT_STEP_PX / 2, FIT_STEP_PX)
    bases = []
    for shift in shifts:
        d = fine - shift
        inside, outside = (d < 0).astype(float), (d >= 0).astype(float)
        shapes = [inside, outside, np.sqrt(np.maximum(-d, 0)), np.sqrt(np.maximum(d, 0))]
        design = spread @ np.stack(shapes, 1)
        ridge = FIT_RIDGE * np.diag([0, 0, 1, 1]) * len(t)
        # Augmented rows make a ridge on the roots; their data are zero, so only the top is kept.
        q, _ = np.linalg.qr(np.vstack([design, np.sqrt(ridge)]))
        bases.append(q[: len(t)])
    return t, shifts, np.stack(bases)


def _fitted_shift(linear, pixels, normals, blur_px):
    """Shift of the limb from `pixels` along `normals` [px]; nan where the fit has no inner best."""
    values, _ = profiles(linear, pixels, normals, FIT_INSIDE_PX)
    _, shifts, bases = _edge_bases(round(float(blur_px), 2))
    flat = values.transpose(0, 2, 1)  # n, 3, m
    explained = (np.einsum("ncm,kmb->nkcb", flat, bases, optimize=True) ** 2).sum((2, 3))
    k = explained.argmax(1)
    inner = (k > 0) & (k < len(shifts) - 1)
    k = np.clip(k, 1, len(shifts) - 2)
    rows = np.arange(len(k))
    a, b, c = (explained[rows, k + d] for d in (-1, 0, 1))
    bend = a - 2 * b + c
    part = 0.5 * (a - c) / np.where(np.abs(bend) < 1e-15, np.inf, bend)
    return np.where(inner, shifts[k] + np.clip(part, -1, 1) * FIT_STEP_PX, np.nan)


def find(
    linear,
    pixels,
    normals,
    *,
    half_px: float,
    noise: float,
    prefer_px: float,
    blur_px: float | None = None,
    outermost: np.ndarray | None = None,
    outer_px: float = 0.0,
) -> Edges:
    """The strongest edge near the middle of each line, or a clear one outside of it.

    Parameters
    ----------
    linear : ndarray, shape (h, w, 3), float32
    pixels, normals : ndarray, shape (n, 2)
        Middle and direction of the lines.
    half_px : float
        Half length of the lines.
    noise : float
        Standard deviation of a pixel in linear light.
    prefer_px : float
        An edge this far from the middle must be 1.65 times as strong (Gaussian preference).
    blur_px : float, optional
        The picture's blur; given, the limb is fitted about the steepest place.
    outermost : ndarray of bool, shape (n,), optional
        Lines on which a weaker edge farther out outranks the strongest: a highlight along a lip is
        a stronger edge than the lip before its backdrop.
    outer_px : float
        How far outside of the strongest edge it may lie.
    """
    values, t = profiles(linear, pixels, normals, half_px + 3 * SMOOTH_PX)
    wings = int(np.ceil(3 * SMOOTH_PX / STEP_PX))
    kernel_t = STEP_PX * np.arange(-wings, wings + 1)  # even about 0, or every edge is shifted
    bell = np.exp(-0.5 * (kernel_t / SMOOTH_PX) ** 2)
    bell /= bell.sum()
    slope_kernel = kernel_t / SMOOTH_PX**2 * bell  # correlation gives the slope per pixel
    slope = cv2.filter2D(values.transpose(0, 2, 1).reshape(-1, len(t)).astype(np.float64), -1,
                         slope_kernel[None]).reshape(len(pixels), 3, -1)  # fmt: skip
    inner, outer = (values[:, t < -0.5].mean(1), values[:, t > 0.5].mean(1))
    step = outer - inner
    weight = step / (np.linalg.norm(step, axis=1, keepdims=True) + 1e-9)
    along_step = np.einsum("ncm,nc->nm", slope, weight)
    # A shadow scales a colour, another material turns it: what is square to the local colour weighs
    # more. And where the sides hardly differ in mean, an edge may still stand out in any colour.
    colour = (inner + outer) / (np.linalg.norm(inner + outer, axis=1, keepdims=True) + 1e-9)
    scaled = np.einsum("ncm,nc->nm", slope, colour)
    turned = np.sqrt(np.maximum((slope**2).sum(1) - scaled**2, 0))
    strength = np.hypot(np.maximum(np.abs(along_step), 0.7 * np.abs(scaled)), HUE_WEIGHT * turned)
    usable = np.abs(t) <= half_px
    crest = np.zeros(strength.shape, bool)
    crest[:, 1:-1] = (strength[:, 1:-1] >= strength[:, :-2]) & (
        strength[:, 1:-1] >= strength[:, 2:]
    )
    score = np.where(usable & crest, strength * np.exp(-0.5 * (t / prefer_px) ** 2), 0)
    # Five samples a pixel apart share noise along the edge, the bell averages across it.
    slope_noise = noise * np.sqrt((slope_kernel**2).sum() * 1.5 / len(BESIDE_PX))
    k = score.argmax(1)
    rows = np.arange(len(k))
    if outermost is not None:
        clear = score > np.maximum(OUTER_SHARE * score[rows, k], OUTER_SNR * slope_noise)[:, None]
        clear &= t <= t[k][:, None] + outer_px
        last = len(t) - 1 - clear[:, ::-1].argmax(1)
        k = np.where(outermost & clear.any(1), last, k)
    k = np.clip(k, 1, len(t) - 2)
    a, b, c = strength[rows, k - 1], strength[rows, k], strength[rows, k + 1]
    shift = 0.5 * (a - c) / np.where(np.abs(a - 2 * b + c) < 1e-12, np.inf, a - 2 * b + c)
    snr = b / (slope_noise + 1e-9)
    found = score.max(1) > 0
    offset = np.where(found & (snr > MIN_SNR), t[k] + shift * STEP_PX, np.nan)
    if blur_px is not None:
        rough = np.nan_to_num(offset)[:, None] * normals
        shift = _fitted_shift(linear, pixels + rough, normals, blur_px)
        if np.isfinite(shift).any():  # where the fit ran to its end, the usual shift stands in
            shift = np.where(np.isfinite(shift), shift, np.nanmedian(shift))
        offset = offset + np.nan_to_num(shift)
    level = np.linalg.norm(inner + outer, axis=1) / 2
    return Edges(offset, snr, np.linalg.norm(step, axis=1) / (level + DARK_LEVEL))


def slope_at(linear, pixels, normals):
    """Slope of the picture along the normals at the pixels themselves, all colours; shape (n,)."""
    values, t = profiles(linear, pixels, normals, 2 * SMOOTH_PX)
    bell = t / SMOOTH_PX**2 * np.exp(-0.5 * (t / SMOOTH_PX) ** 2)
    return np.linalg.norm(np.einsum("nmc,m->nc", values, bell / np.abs(bell).sum()), axis=1)


def pixel_noise(linear: np.ndarray) -> float:
    """Noise of a pixel in linear light, robustly from the diagonal second difference."""
    green = linear[..., 1]
    d = green[:-1:2, :-1:2] - green[1::2, :-1:2] - green[:-1:2, 1::2] + green[1::2, 1::2]
    return float(1.4826 * np.median(np.abs(d)) / 2 + 1e-4)
