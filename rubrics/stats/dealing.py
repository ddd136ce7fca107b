"""Who looks at whom: every piece the same number of readers, every reader the same load.

With nobody to keep apart the readers of a piece are those at fixed distances round a circle (a
cyclic design): two readers then meet over a piece as evenly as the numbers allow, which is a
balanced incomplete block design where there is one, as for seven makers and three readers. Pairs
that are kept apart are first seated so that the distances pass them by; where that cannot be done
the readers are matched one by one and the meetings evened out by exchanges.

All chance comes of ``random.Random(seed).random()``, the one sequence that Python promises to keep.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations
from random import Random

from .errors import CannotTellError
from .matching import Matching, Unfilled

FEWEST_MAKERS = 3
READERS = (1, 2, 3, 4)
SEATINGS = 60
"""Exchanges of seats that are tried before the readers are matched one by one."""

EXCHANGES = 400
"""Exchanges of readers that are tried to even out who meets whom."""

Pairs = frozenset[frozenset[Hashable]]


@dataclass(frozen=True, slots=True)
class Deal:
    """Who reads whose piece. ``readers[i]`` read the piece of ``makers[i]``."""

    makers: tuple[Hashable, ...]
    readers: tuple[tuple[Hashable, ...], ...]
    apart: Pairs
    seed: int
    absent: frozenset[Hashable] = frozenset()

    def by_piece(self) -> dict[Hashable, tuple[Hashable, ...]]:
        """Maker -> those who read the piece."""
        return dict(zip(self.makers, self.readers, strict=True))


def deal(
    makers: Sequence[Hashable],
    *,
    readers: int = 3,
    apart: Iterable[tuple[Hashable, Hashable]] = (),
    seed: int,
) -> Deal:
    """Deal every piece to ``readers`` readers; nobody reads the own piece.

    Parameters
    ----------
    makers : sequence
        One entry a piece; what ``str`` gives of it stands in a message.
    readers : int
        1 to 4.
    apart : iterable of pairs
        Neither reads the other's piece. Pairs with somebody who is not among the makers are
        passed over.
    seed : int
        The same seed gives the same deal.

    Raises
    ------
    CannotTellError
        Fewer makers than it takes, somebody twice, or pairs that leave pieces without enough
        readers of the same load (said which pairs).
    """
    makers = tuple(makers)
    pairs = kept_apart(makers, apart)
    if readers not in READERS:
        raise CannotTellError(f"{readers} readers a piece: it can be 1 to {READERS[-1]}.")
    if len(makers) < max(FEWEST_MAKERS, readers + 1):
        raise CannotTellError(
            f"{len(makers)} makers are too few for {readers} readers a piece: it takes "
            f"{max(FEWEST_MAKERS, readers + 1)}, for nobody reads the own piece."
        )
    chance = Random(seed)
    seats = _seated(makers, pairs, steps(len(makers), readers), chance)
    if seats is not None:
        found = _round_the_circle(makers, seats, steps(len(makers), readers))
    else:
        found = _matched(makers, readers, pairs, chance)
    return Deal(makers, found, pairs, seed)


def replace_absent(dealt: Deal, absent: Iterable[Hashable]) -> Deal:
    """Give what absent readers had to others; all else stays, and the loads stay even.

    The absent ones' own pieces keep their readers.

    Raises
    ------
    CannotTellError
        Too few are present.
    """
    gone = dealt.absent | (frozenset(absent) & frozenset(dealt.makers))
    present = [maker for maker in dealt.makers if maker not in gone]
    readers = max(map(len, dealt.readers))
    if len(present) <= readers:
        raise CannotTellError(
            f"{len(present)} are present: too few for {readers} readers a piece. "
            "Deal again with fewer readers."
        )
    matching = Matching(_may_read(present, dealt.makers, dealt.apart), present)
    for maker, those in zip(dealt.makers, dealt.readers, strict=True):
        for reader in those:
            if reader not in gone:
                matching.join(reader, maker)
    try:
        # Each as many as it had: a piece may have one more since somebody came back.
        need = {m: len(those) for m, those in zip(dealt.makers, dealt.readers, strict=True)}
        matching.fill(need, most=len(dealt.makers))
    except Unfilled as stuck:
        raise CannotTellError(_stuck(stuck, dealt.apart, dealt.makers, gone)) from stuck
    return replace(dealt, readers=_listed(matching, dealt.makers), absent=gone)


def kept_apart(makers: Sequence[Hashable], apart: Iterable[tuple[Hashable, Hashable]]) -> Pairs:
    """The pairs as sets, those of these makers only; somebody twice is refused."""
    twice = [maker for maker, count in Counter(makers).items() if count > 1]
    if twice:
        raise CannotTellError(f"{twice[0]} is on the list twice.")
    known = set(makers)
    pairs = (frozenset(pair) for pair in apart)
    return frozenset(pair for pair in pairs if len(pair) == 2 and pair <= known)


@cache
def steps(makers: int, readers: int) -> tuple[int, ...]:
    """Distances round a circle of so many at which the readers of a piece sit, the most even ones.

    Two makers d apart meet as often as d is a difference of two distances. The search ends at the
    first set in which no difference is met twice as often as it must.
    """
    even = readers * (readers - 1)
    whole, rest = divmod(even, makers - 1)
    # For an even number of makers the one half way round is met from both sides at once.
    best, fewest = None, None
    bound = (makers - 1 - rest) * whole**2 + rest * (whole + 1) ** 2
    for distances in combinations(range(1, makers), readers):
        met = Counter((a - b) % makers for a in distances for b in distances if a != b)
        uneven = sum(count * count for count in met.values())
        if fewest is None or uneven < fewest:
            best, fewest = distances, uneven
        if fewest <= bound:
            break
    return best


def _seated(makers, apart: Pairs, distances, chance: Random) -> dict[Hashable, int] | None:
    """A seat for each, no pair that is kept apart at one of the distances; None if not found."""
    order = sorted(makers, key=lambda _: chance.random())
    n = len(order)
    seat = {maker: place for place, maker in enumerate(order)}
    foes = _foes(apart)
    close = {d % n for d in distances} | {-d % n for d in distances}

    def trouble(maker, place, instead) -> int:
        """Foes at one of the distances if ``maker`` sat at ``place``; ``instead`` has moved."""
        return sum((instead.get(foe, seat[foe]) - place) % n in close for foe in foes[maker])

    for _ in range(SEATINGS + 1):
        troubled = [maker for maker in order if trouble(maker, seat[maker], {})]
        if not troubled:
            return seat
        one = troubled[int(chance.random() * len(troubled))]

        def cost(other, one=one) -> tuple[int, float]:
            moved = {one: seat[other], other: seat[one]}
            after = trouble(one, seat[other], moved) + trouble(other, seat[one], moved)
            before = trouble(one, seat[one], {}) + trouble(other, seat[other], {})
            return after - before, chance.random()

        other = min((maker for maker in order if maker != one), key=cost)
        seat[one], seat[other] = seat[other], seat[one]
    return None


def _round_the_circle(makers, seat: dict[Hashable, int], distances):
    at = {place: maker for maker, place in seat.items()}
    n = len(makers)
    return tuple(tuple(at[(seat[maker] + d) % n] for d in distances) for maker in makers)


def _matched(makers, readers: int, apart: Pairs, chance: Random):
    order = sorted(makers, key=lambda _: chance.random())
    matching = Matching(_may_read(order, order, apart), order)
    try:
        matching.fill(dict.fromkeys(order, readers), most=readers)
    except Unfilled as stuck:
        raise CannotTellError(_stuck(stuck, apart, makers)) from stuck
    matching.even_out(EXCHANGES, chance)
    return _listed(matching, makers)


def _may_read(readers, makers, apart: Pairs) -> dict[Hashable, list[Hashable]]:
    """Maker -> who may read the piece."""
    return {
        maker: [r for r in readers if r != maker and frozenset((r, maker)) not in apart]
        for maker in makers
    }


def _listed(matching: Matching, makers):
    place = {maker: i for i, maker in enumerate(makers)}
    return tuple(tuple(sorted(matching.readers[maker], key=place.get)) for maker in makers)


def _foes(apart: Pairs) -> dict[Hashable, list[Hashable]]:
    foes: dict[Hashable, list[Hashable]] = defaultdict(list)
    for pair in sorted(apart, key=lambda pair: sorted(map(str, pair))):
        one, other = pair
        foes[one].append(other)
        foes[other].append(one)
    return foes


def _stuck(stuck: Unfilled, apart: Pairs, makers, gone: frozenset = frozenset()) -> str:
    """Which pieces have too few readers, and the pairs that keep the others from them."""
    shut = [
        pair
        for pair in apart
        if any(pair - {piece} - stuck.readers - gone for piece in pair & stuck.pieces)
    ]
    whose = ", ".join(str(maker) for maker in makers if maker in stuck.pieces)
    if not shut:
        return f"Too few readers are left for the pieces of: {whose}. Deal with fewer readers."
    return (
        f"Too few readers are left for the pieces of: {whose}. "
        f"Take back one or more of the pairs kept apart: {named(shut)}."
    )


def named(pairs: Iterable[frozenset[Hashable]]) -> str:
    """Pairs as a teacher reads them, in order."""
    return "; ".join(sorted(" and ".join(sorted(map(str, pair))) for pair in pairs))
