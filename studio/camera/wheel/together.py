"""Photos of one piece solved together; those that do not belong are left out with a sentence."""

from dataclasses import dataclass, field

import numpy as np

from studio.camera.wheel import figures, fit, form, hull, lens, strap
from studio.camera.wheel.seen_photo import SeenPhoto

FEWEST_SIDE = 3  # photos from the side: fewer leave most of the wall unseen
BLUR_TIMES, BLUR_PX = 2.0, 1.0  # of the others' blur; and at least so much
OFF_MM = 0.5  # an outline point without an edge so near does not fit
MISFIT_SHARE, MISFIT_TIMES = 0.22, 2.5  # of a photo's outline; of the others' median
SECTORS = 12
MOST_LEFT_OUT = 2  # by misfit; where more do not fit nobody knows which are right


class TurnedError(ValueError):
    """The photos give no cup; the message is a sentence for the teacher.

    Attributes
    ----------
    left_out : dict of str to str
        Sentences by photo, found before.
    """

    def __init__(self, message: str, left_out: dict | None = None):
        super().__init__(message)
        self.left_out = left_out or {}


@dataclass(frozen=True)
class Together:
    """A solved cup with its figures before they are judged.

    Attributes
    ----------
    solved : fit.Solved
    strap : strap.Fitted or None
    values, by_edges, by_photos : dict of str to ndarray
        Figures, and their spreads (`figures.spreads`); the handle's among them.
    rivals : dict of str to float
        How far other likely handles are off.
    misfit : dict of str to float
        Shares of the outline without an edge near: rim, wall, foot.
    rim_gaps : ndarray, shape (SECTORS,)
        The rim's share by direction about the cup's axis, from azimuth 0 on.
    left_out : dict of str to str
        Sentences by photo.
    """

    solved: fit.Solved
    strap: strap.Fitted | None
    values: dict
    by_edges: dict
    by_photos: dict
    rivals: dict
    misfit: dict
    rim_gaps: np.ndarray
    left_out: dict = field(default_factory=dict)


def together(looks: list[SeenPhoto], scale: float = 1.0) -> Together:
    """Solve the photos of one cup.

    Raises
    ------
    TurnedError
        Too few photos are left, no cup is seen, or the photos do not show one cup.
    """
    left_out = {v.name: v.problem for v in looks if v.camera is None}
    use = [v for v in looks if v.camera is not None]
    for rule in (other_slips, blurred_ones):
        sentences = rule(use)
        left_out |= sentences
        use = [v for v in use if v.name not in sentences]
    solved = _solve(use, scale, left_out)
    for _ in range(MOST_LEFT_OUT):
        foreign = _foreign(solved)
        if foreign is None:
            break
        left_out[foreign] = (
            "The outline in this photo is not that of the cup in the others. It may show another "
            "cup, or the cup was moved on the mat."
        )
        use = [v for v in use if v.name != foreign]
        solved = _solve(use, scale, left_out)
    if _foreign(solved) is not None:
        raise TurnedError(
            "These photos do not show one cup standing still on the mat. Look whether photos of "
            "two cups came together, or the cup was moved while the wheel was turned.", left_out,
        )  # fmt: skip
    return _measured(solved, left_out)


def other_slips(looks: list[SeenPhoto]) -> dict[str, str]:
    """Sentences for photos whose slip names another piece than most."""
    codes = [v.code for v in looks if v.code]
    if len(codes) < 2:
        return {}
    ours = max(set(codes), key=codes.count)
    if codes.count(ours) < 2:
        return {}
    return {
        v.name: f"The slip in this photo reads {v.code}, in the others {ours}."
        for v in looks
        if v.code and v.code != ours
    }


def blurred_ones(looks: list[SeenPhoto]) -> dict[str, str]:
    """Sentences for photos far less sharp than the others."""
    if len(looks) < FEWEST_SIDE:
        return {}
    usual = float(np.median([v.blur_px for v in looks]))
    return {
        v.name: "This photo is blurred. Steady the camera and take it again."
        for v in looks
        if v.blur_px > max(BLUR_TIMES * usual, BLUR_PX)
    }


def _solve(looks, scale, left_out):
    if sum(not v.from_above for v in looks) < FEWEST_SIDE:
        raise TurnedError(
            f"At least {FEWEST_SIDE} usable photos from the side are needed, better six: turn the "
            "wheel by a sixth between them.", left_out,
        )  # fmt: skip
    cameras = lens.bundle(looks, scale)
    looks = [v.at(c) for v, c in zip(looks, cameras.cameras, strict=True)]
    rough = hull.rough(hull.block(looks))
    if rough is None:
        raise TurnedError(
            "No cup could be told from the backdrop. Set it on the middle of the mat, before a "
            "plain backdrop of another colour.", left_out,
        )  # fmt: skip
    try:
        return fit.solve(looks, cameras, rough)
    except np.linalg.LinAlgError:
        raise TurnedError(
            "The outline could not be followed. Measure this cup by hand.", left_out
        ) from None


def misfits(solved: fit.Solved) -> np.ndarray:
    """Share of each photo's outline without an edge near the form; shape (photos,)."""
    out = []
    for view, traced in zip(solved.looks, solved.traced, strict=True):
        off = np.abs(np.nan_to_num(traced.offset_mm, nan=np.inf)) > OFF_MM
        share = _share(off[~traced.hidden])
        if view.from_above:
            # There the wall shows in a narrow strip, where shadow and foot are hard to tell: a
            # rim in its place is enough.
            rim = ~traced.hidden & (traced.line.ring >= form.FIRST_LIP - 1)
            share = min(share, _share(off[rim]))
        out.append(share)
    return np.array(out)


def _share(misses):
    return float(misses.mean()) if len(misses) else 1.0


def _foreign(solved):
    """Name of the photo that fits least, if it does not fit."""
    share = misfits(solved)
    worst = int(share.argmax())
    others = np.delete(share, worst)
    if share[worst] < max(MISFIT_SHARE, MISFIT_TIMES * float(np.median(others))):
        return None
    return solved.looks[worst].name


def _measured(solved, left_out):
    values, by_edges, by_photos = figures.spreads(solved)
    handle, rivals = strap.solve(solved), {}
    if handle is not None:
        found, edge, photo, rivals = strap.spreads(handle)
        values, by_edges, by_photos = values | found, by_edges | edge, by_photos | photo
    return Together(
        solved, handle, values, by_edges, by_photos, rivals, _parts(solved), _rim_gaps(solved),
        left_out,
    )  # fmt: skip


def _rim_gaps(solved):
    """Share of the rim's outline without an edge, by direction."""
    missed, count = np.zeros(SECTORS), np.zeros(SECTORS)
    for t in solved.traced:
        rim = (t.line.ring >= form.FIRST_LIP - 0.5) & ~t.hidden
        sector = (t.line.angle[rim] / form.ANGLES * SECTORS).astype(int) % SECTORS
        far = np.abs(np.nan_to_num(t.offset_mm[rim], nan=np.inf)) >= fit.RIM_NEAR_MM
        count += np.bincount(sector, minlength=SECTORS)
        missed += np.bincount(sector[far], minlength=SECTORS)
    return np.where(count > 0, missed / np.maximum(count, 1), 1.0)


def _parts(solved):
    """How well the parts of the outline are seen, over all photos."""
    found = {"rim": [], "wall": [], "foot": []}
    for t in solved.traced:
        near = np.abs(np.nan_to_num(t.offset_mm, nan=np.inf)) < fit.RIM_NEAR_MM
        rim, foot = t.line.ring >= form.FIRST_LIP - 0.5, t.line.ring < form.FIRST_BODY
        for name, part in (("rim", rim), ("foot", foot), ("wall", ~rim & ~foot)):
            found[name].append(~near[part & ~t.hidden])
    return {
        name: float(np.concatenate(rows).mean()) if sum(map(len, rows)) else 1.0
        for name, rows in found.items()
    }
