"""What a piece without a photo looks like from its readings: its own outline, to scale."""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import fmean

from studio.models import Piece, Reading, Stage

MARGIN = 1.15
"""Room round the largest outline of a list, as a share of it."""
ASPECT = 4 / 3
FEET = ("foot_side", "foot_diameter")
READ = ("height", "rim_diameter", "diameter", *FEET)


@dataclass(frozen=True, slots=True)
class Outline:
    """The outline of a piece, its middle at x = 0 and its foot on y = 0. [mm]

    ``view_box`` is the same for all pieces of one list, so that a small cup looks small.
    """

    path: str
    view_box: str
    words: str


def give_outlines(pieces: Iterable[Piece]) -> list[Piece]:
    """Give every piece without a photo an ``outline``, None where its sizes were not read.

    Takes pieces that were asked for ``with_face``; one query.
    """
    pieces = list(pieces)
    faceless = [piece for piece in pieces if piece.face_id is None]
    profiles = _profiles(faceless)
    tallest = max((profile[-1][0] for profile, _ in profiles.values()), default=0.0)
    widest = max((width for profile, _ in profiles.values() for _, width in profile), default=0.0)
    high = MARGIN * max(tallest, widest / ASPECT)
    box = f"{-high * ASPECT / 2:.1f} {-high:.1f} {high * ASPECT:.1f} {high * MARGIN:.1f}"
    for piece in pieces:
        found = profiles.get(piece.pk)
        piece.outline = None
        if found is not None:
            profile, stage = found
            piece.outline = Outline(_path(profile), box, _words(profile, stage))
    return pieces


def _profiles(pieces: list[Piece]) -> dict[int, tuple[list[tuple[float, float]], str]]:
    """(height, width) from the foot up at the latest stage where foot, rim and height are known."""
    rows = (
        Reading.objects.current()
        .filter(piece__in=pieces, quantity__in=("dimension", "foot_side"))
        .values_list("piece", "stage", "quantity", "name", "height_mm", "value")
    )
    read: dict[tuple[int, str], dict[str, list]] = {}
    for piece, stage, quantity, name, height, value in rows:
        key = "foot_side" if quantity == "foot_side" else name
        if key in READ:
            at = read.setdefault((piece, stage), {})
            at.setdefault(key, []).append((height, value))
    profiles = {}
    for stage in Stage.values:
        for piece in pieces:
            if profile := _profile(read.get((piece.pk, stage), {})):
                profiles[piece.pk] = profile, stage
    return profiles


def _profile(sizes: dict[str, list]) -> list[tuple[float, float]]:
    known = {key: fmean(value for _, value in sizes[key]) for key in sizes if key != "diameter"}
    foot = next((known[key] for key in FEET if key in known), None)
    if foot is None or "height" not in known or "rim_diameter" not in known:
        return []
    top = known["height"]
    between = [(z, width) for z, width in sizes.get("diameter", ()) if z and 0 < z < top]
    return [(0.0, foot), *sorted(between), (top, known["rim_diameter"])]


def _path(profile: list[tuple[float, float]]) -> str:
    right = [(width / 2, -z) for z, width in profile]
    left = [(-x, y) for x, y in reversed(right)]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in (*right, *left)) + "Z"


def _words(profile: list[tuple[float, float]], stage: str) -> str:
    (top, rim), (_, foot) = profile[-1], profile[0]
    return f"No photo yet. Read {stage}: {top:.0f} mm high, rim {rim:.0f}, foot {foot:.0f}."
