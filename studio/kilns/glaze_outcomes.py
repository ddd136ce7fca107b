"""What came of each glaze: faults of the glaze, counted over the pieces that wear it."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from studio.firing.rates import RateShare, wilson
from studio.models import GlazeCoat, Outcome, Piece, Stage
from studio.ware.outcomes import GLAZE_FAULTS

NOT_TOLD = "not told"


@dataclass(frozen=True, kw_only=True)
class ByCoats:
    """Pieces with so many coats, and how many of them have a fault of the glaze."""

    coats: str
    flawed: RateShare


@dataclass(frozen=True, kw_only=True)
class GlazeRow:
    """One glaze: pieces out of the fire, its faults on them, by coats, and how thick it went on."""

    glaze: str
    out: int
    waiting: int
    flawed: RateShare | None
    kinds: list[tuple[str, RateShare]]
    coats: list[ByCoats]
    thickness_mm: tuple[float, float] | None


@dataclass
class _Counted:
    names: Counter = field(default_factory=Counter)
    pieces: dict[int, set] = field(default_factory=dict)
    coats: dict[int, str] = field(default_factory=dict)
    thick: list[float] = field(default_factory=list)


def by_glaze(pieces) -> list[GlazeRow]:
    """Count what came of every glaze on some pieces; three queries.

    A piece that wears two glazes counts under each. It is out of the fire once its stage says so
    or an outcome of the glaze fire is noted.
    """
    found: dict[str, _Counted] = {}
    coats = GlazeCoat.objects.filter(piece__in=pieces)
    rows = coats.values_list("glaze", "piece", "piece__stage", "coats", "thickness_mm")
    fired: dict[int, set[str]] = {}
    outcomes = Outcome.objects.filter(piece__in=pieces, stage=Stage.GLAZED)
    for piece, kind in outcomes.values_list("piece", "kind"):
        fired.setdefault(piece, set()).add(kind)
    for glaze, piece, stage, count, thickness in rows:
        if stage == Stage.GLAZED:
            fired.setdefault(piece, set())
        counted = found.setdefault(glaze.casefold(), _Counted())
        counted.names[glaze] += 1
        counted.pieces[piece] = fired.get(piece)
        counted.coats[piece] = NOT_TOLD if count is None else str(count)
        counted.thick += [] if thickness is None else [thickness]
    return [_row(counted) for _, counted in sorted(found.items())]


def _row(counted: _Counted) -> GlazeRow:
    # A seam that opened or a cone that stood stiff says nothing about the glaze.
    out = {
        piece: kinds & GLAZE_FAULTS for piece, kinds in counted.pieces.items() if kinds is not None
    }
    kinds = Counter(kind for each in out.values() for kind in each)
    return GlazeRow(
        glaze=counted.names.most_common(1)[0][0],
        out=len(out),
        waiting=len(counted.pieces) - len(out),
        flawed=wilson(sum(map(bool, out.values())), len(out)),
        kinds=[
            (kind, wilson(count, len(out)))
            for kind, count in sorted(kinds.items(), key=lambda each: (-each[1], each[0]))
        ],
        coats=_by_coats(out, counted.coats),
        thickness_mm=(min(counted.thick), max(counted.thick)) if counted.thick else None,
    )


def _by_coats(out: dict[int, set], coats: dict[int, str]) -> list[ByCoats]:
    told = {coats[piece] for piece in out}
    if told <= {NOT_TOLD}:
        return []
    groups = sorted(told, key=lambda each: (each == NOT_TOLD, each.zfill(2)))
    return [
        ByCoats(coats=each, flawed=_flawed([out[p] for p in out if coats[p] == each]))
        for each in groups
    ]


def _flawed(kinds: Iterable[set]) -> RateShare:
    kinds = list(kinds)
    return wilson(sum(map(bool, kinds)), len(kinds))


def names_in(sections) -> list[str]:
    """Names of glazes that some sections have used, for one spelling each."""
    pieces = Piece.objects.filter(section__in=sections)
    used = GlazeCoat.objects.filter(piece__in=pieces).values_list("glaze", flat=True)
    return sorted(set(used), key=str.casefold)
