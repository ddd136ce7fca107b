"""Groups of three or four round one table, pairs that are kept apart in different ones."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from random import Random

from .dealing import FEWEST_MAKERS, Pairs, kept_apart, named
from .errors import CannotTellError

SIZES = (3, 4)
MOST_TRIES = 5_000
"""Seats that are tried, over all, before it is given up."""


@dataclass(frozen=True, slots=True)
class Groups:
    """The groups, each in the order of the list, with the seed that gives them again."""

    groups: tuple[tuple[Hashable, ...], ...]
    seed: int


def sizes(makers: int, wanted: int) -> tuple[int, ...]:
    """Threes and fours, as many as can be of the wanted size; five people stay together."""
    count = max(1, -(-makers // wanted) if wanted == SIZES[-1] else makers // wanted)
    if makers == SIZES[-1] + 1:
        count = 1
    whole, rest = divmod(makers, count)
    return (whole + 1,) * rest + (whole,) * (count - rest)


def group(
    makers: Sequence[Hashable],
    *,
    size: int = 4,
    apart: Iterable[tuple[Hashable, Hashable]] = (),
    seed: int,
) -> Groups:
    """Deal makers into groups by chance.

    Parameters
    ----------
    makers : sequence
    size : int
        3 or 4: the size that most groups have.
    apart : iterable of pairs
        Never in one group.
    seed : int
        The same seed gives the same groups.

    Raises
    ------
    CannotTellError
        Under three makers, somebody twice, or pairs that no grouping keeps apart (said which).
    """
    makers = tuple(makers)
    pairs = kept_apart(makers, apart)
    if size not in SIZES:
        raise CannotTellError(f"Groups of {size}: it can be three or four.")
    if len(makers) < FEWEST_MAKERS:
        raise CannotTellError(f"{len(makers)} makers are too few for a group of three.")
    room = sizes(len(makers), size)
    found = _seat(makers, pairs, room, seed)
    if found is None:
        alone = [pair for pair in pairs if _seat(makers, pairs - {pair}, room, seed)]
        people = " or ".join(map(str, sorted(set(room))))
        raise CannotTellError(
            f"No groups of {people} were found that keep all these pairs apart. "
            f"Take back {'one' if alone else 'some'} of: {named(alone or pairs)}."
        )
    return Groups(found, seed)


def _seat(makers, apart: Pairs, room: tuple[int, ...], seed: int):
    """Those with most pairs first, each into a group without a foe; back where none is left."""
    chance = Random(seed)
    foes = {m: {other for pair in apart if m in pair for other in pair - {m}} for m in makers}
    mixed = sorted(makers, key=lambda _: chance.random())
    order = sorted(mixed, key=lambda maker: -len(foes[maker]))
    groups: list[list[Hashable]] = [[] for _ in room]
    tries = 0

    def place(at: int) -> bool:
        nonlocal tries
        if at == len(order):
            return True
        maker = order[at]
        # An empty group is like any other of its size: one of them is enough to try.
        able, seen = [], set()
        for i, those in enumerate(groups):
            if len(those) < room[i] and not foes[maker] & set(those):
                if those or room[i] not in seen:
                    able.append(i)
                seen |= {room[i]} if not those else set()
        able.sort(key=lambda _: chance.random())
        for i in able:
            tries += 1
            if tries > MOST_TRIES:
                return False
            groups[i].append(maker)
            if place(at + 1):
                return True
            groups[i].remove(maker)
        return False

    if not place(0):
        return None
    rank = {maker: i for i, maker in enumerate(makers)}
    return tuple(sorted((tuple(sorted(g, key=rank.get)) for g in groups), key=lambda g: rank[g[0]]))
