"""Groups of three or four round one table, pairs that are kept apart in different ones."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from .dealing import FEWEST_MAKERS, Pairs, kept_apart, named
from .errors import CannotTellError
from .matching import Matching

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


def regroup(
    groups: Sequence[Sequence[Hashable]],
    absent: Iterable[Hashable],
    *,
    size: int = 4,
    apart: Iterable[tuple[Hashable, Hashable]] = (),
    seed: int,
) -> tuple[tuple[Hashable, ...], ...]:
    """The groups once somebody is away, or is back: each with three present at least.

    A group that has three present stays as it is, with the pieces of those who are away. One that
    has fewer is broken up, and its members join the groups with the fewest present, away from
    those they are kept apart from; where that cannot be done, all who are present are grouped
    anew.

    Parameters
    ----------
    groups : sequence of sequences
        As they sit now; nobody twice.
    absent : iterable
        All who are away now.

    Raises
    ------
    CannotTellError
        Under three are present, or no table keeps the pairs apart.
    """
    makers = tuple(maker for those in groups for maker in those)
    pairs = kept_apart(makers, apart)
    gone = frozenset(absent) & frozenset(makers)
    present = [maker for maker in makers if maker not in gone]
    if len(present) < FEWEST_MAKERS:
        raise CannotTellError(f"{len(present)} are present: too few for a group of three.")
    whole = [tuple(g) for g in groups if len(set(g) - gone) >= SIZES[0]]
    sitting = {maker for those in whole for maker in those}
    broken = [maker for maker in makers if maker not in sitting]
    found = _join(whole, broken, gone, pairs) if whole else None
    if found is None:
        new = group(present, size=size, apart=apart, seed=seed).groups
        # Whoever is away has a piece to be read, and a table to come back to.
        found = _join(new, [maker for maker in makers if maker in gone], gone, pairs)
    if found is None:
        raise CannotTellError(
            "No group is left for the piece of somebody who is away: every one holds somebody "
            f"it is kept apart from. Take back one of: {named(pairs)}."
        )
    return found


def readers_at(
    groups: Sequence[Sequence[Hashable]],
    *,
    absent: Iterable[Hashable] = (),
    held: Mapping[Hashable, Iterable[Hashable]] | None = None,
    standing: Mapping[Hashable, Iterable[Hashable]] | None = None,
) -> tuple[int, dict[Hashable, tuple[Hashable, ...]]]:
    """Who reads whom at the tables: every piece as many readers, whatever the size of its group.

    As many as the group with the fewest present can give; in a larger one each reads so many of
    the others, the loads even. Where more are held than that, all of them stay.

    Parameters
    ----------
    groups : sequence of sequences
        The makers at each table, three present at least.
    absent : iterable
        They read nothing new; their pieces are read.
    held : mapping, optional
        Maker -> readers whose reading stays whatever happens, of any table: it is sent, or begun.
    standing : mapping, optional
        Maker -> readers who have the piece and have not begun; those who can keep it do.

    Returns
    -------
    int, dict
        How many readers each piece gets, and maker -> readers.
    """
    gone, held, standing = frozenset(absent), dict(held or {}), dict(standing or {})
    present = {maker: [m for m in those if m not in gone] for those in groups for maker in those}
    count = min(map(len, present.values())) - 1
    kept = {maker: tuple(dict.fromkeys(held.get(maker, ()))) for maker in present}
    # What is held weighs on its reader like a piece of its own that nobody else may read.
    weights = {("held", maker, reader): reader for maker in kept for reader in kept[maker]}
    may_read = {
        maker: [m for m in those if m != maker and m not in kept[maker]]
        for maker, those in present.items()
    }
    matching = Matching(
        may_read | {weight: [] for weight in weights}, dict.fromkeys([*present, *weights.values()])
    )
    for weight, reader in weights.items():
        matching.join(reader, weight)
    for maker in present:
        for reader in standing.get(maker, ()):
            if reader in may_read[maker]:
                matching.join(reader, maker)
    wanted = {maker: max(count - len(kept[maker]), 0) for maker in present}
    for maker, number in wanted.items():
        while len(matching.readers[maker]) > number:
            busiest = max(matching.readers[maker], key=lambda r: len(matching.pieces[r]))
            matching.part(busiest, maker)
    matching.fill(wanted, most=len(present))
    place = {maker: at for at, maker in enumerate(present)}
    last = len(place)
    found = {
        maker: tuple(
            sorted((*kept[maker], *matching.readers[maker]), key=lambda r: place.get(r, last))
        )
        for maker in present
    }
    return count, found


def _join(groups, joining, gone: frozenset, apart: Pairs):
    """Each into the group with the fewest present, then the fewest pieces; None if there is none.

    A group with one present more than the largest size is full.
    """
    tables = [list(those) for those in groups]
    for maker in sorted(joining, key=lambda maker: maker in gone):
        able = [
            those
            for those in tables
            if not any(frozenset((maker, other)) in apart for other in those)
            and (maker in gone or len(set(those) - gone) <= SIZES[-1])
        ]
        if not able:
            return None
        min(able, key=lambda those: (len(set(those) - gone), len(those))).append(maker)
    return tuple(map(tuple, tables))


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
