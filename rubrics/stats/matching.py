"""Readers matched to pieces: as many as wanted each, the loads even, by augmenting paths."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Hashable, Iterable, Mapping
from itertools import combinations
from random import Random


class Unfilled(Exception):  # noqa: N818  an outcome, turned into a sentence by who asked
    """``pieces`` share too few ``readers``: with all of these at work, places are left."""

    def __init__(self, pieces: set[Hashable], readers: set[Hashable]):
        super().__init__("Too few readers.")
        self.pieces, self.readers = pieces, readers


class Matching:
    """Who reads what, built up place by place.

    Parameters
    ----------
    may_read : mapping
        Piece -> those who may read it.
    readers : iterable
        All readers.
    """

    def __init__(self, may_read: Mapping[Hashable, list[Hashable]], readers: Iterable[Hashable]):
        self.may_read = may_read
        self.readers: dict[Hashable, list[Hashable]] = {piece: [] for piece in may_read}
        self.pieces: dict[Hashable, list[Hashable]] = {reader: [] for reader in readers}

    def join(self, reader: Hashable, piece: Hashable) -> None:
        self.readers[piece].append(reader)
        self.pieces[reader].append(piece)

    def part(self, reader: Hashable, piece: Hashable) -> None:
        self.readers[piece].remove(reader)
        self.pieces[reader].remove(piece)

    def fill(self, wanted: Mapping[Hashable, int], most: int) -> None:
        """Find readers until every piece has as many as wanted, nobody with more than ``most``.

        The load is raised one at a time, so that nobody has two more than another unless the pairs
        leave no other way.

        Raises
        ------
        Unfilled
            There are not enough readers however they are shared.
        """
        load = sum(wanted.values()) // len(self.pieces)
        while True:
            stuck = self._fill_up_to(wanted, load)
            if stuck is None:
                return
            if load >= most:
                raise stuck
            load += 1

    def _fill_up_to(self, wanted: Mapping[Hashable, int], load: int) -> Unfilled | None:
        stuck = None
        for place in range(max(wanted.values())):
            for piece, count in wanted.items():
                if len(self.readers[piece]) <= place < count:
                    stuck = self._one_more(piece, load) or stuck
        return stuck

    def _one_more(self, piece: Hashable, load: int) -> Unfilled | None:
        """One more reader for a piece, others moved on where need be (breadth first)."""
        came: dict[Hashable, tuple[Hashable, Hashable | None]] = {}
        pieces, todo = {piece}, deque([(piece, None)])
        while todo:
            at, before = todo.popleft()
            able = (r for r in self.may_read[at] if r not in came and r not in self.readers[at])
            for reader in sorted(able, key=lambda r: len(self.pieces[r])):
                came[reader] = (at, before)
                if len(self.pieces[reader]) < load:
                    self._move_on(reader, came)
                    return None
                for other in self.pieces[reader]:
                    if other not in pieces:
                        pieces.add(other)
                        todo.append((other, reader))
        return Unfilled(pieces, set(came))

    def _move_on(self, reader: Hashable, came) -> None:
        """Reader takes the piece; who had to leave it takes the one before, and so on."""
        while reader is not None:
            piece, leaves = came[reader]
            if leaves is not None:
                self.part(leaves, piece)
            self.join(reader, piece)
            reader = leaves

    def even_out(self, exchanges: int, chance: Random) -> None:
        """Exchange the readers of two pieces where that makes pairs of readers meet more evenly."""
        met = Counter(
            frozenset(p) for those in self.readers.values() for p in combinations(those, 2)
        )
        places = list(self.readers)
        for _ in range(exchanges):
            one, other = (places[int(chance.random() * len(places))] for _ in range(2))
            first, second = (
                self.readers[at][int(chance.random() * len(self.readers[at]))]
                for at in (one, other)
            )
            if (
                second in self.readers[one]
                or first in self.readers[other]
                or second not in self.may_read[one]
                or first not in self.may_read[other]
            ):
                continue
            stay_one = [r for r in self.readers[one] if r != first]
            stay_other = [r for r in self.readers[other] if r != second]
            gone = [frozenset((first, r)) for r in stay_one]
            gone += [frozenset((second, r)) for r in stay_other]
            come = [frozenset((second, r)) for r in stay_one]
            come += [frozenset((first, r)) for r in stay_other]
            before = sum(met[pair] for pair in gone)
            met.subtract(gone)
            met.update(come)
            # A sum of squares falls where the new pairs met less than the old ones.
            if sum(met[pair] for pair in come) > before:
                met.subtract(come)
                met.update(gone)
                continue
            for reader, leaves, takes in ((first, one, other), (second, other, one)):
                self.part(reader, leaves)
                self.join(reader, takes)
