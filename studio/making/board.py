"""The making board: every piece that is still in work, with what it waits for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from studio.making import soft_clay
from studio.models import Piece, Plan, Stage

ON_THE_BOARD = (Piece.State.IN_WORK, Piece.State.FINISHED)


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One piece on the board."""

    piece: Piece
    days: int | None
    days_words: str
    said: soft_clay.ClaySentence
    waits_words: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to narrow the board, with how many pieces it leaves."""

    value: str
    count: int
    chosen: bool


@dataclass(frozen=True, slots=True)
class Board:
    """The pieces shown, the soonest to spoil first, and the ways to narrow them."""

    rows: list[BoardRow]
    total: int
    stages: list[Choice]
    waits: list[Choice]
    stage: str
    wait: str


def said_of(piece: Piece, plan: Plan, today: date) -> soft_clay.ClaySentence:
    """What the trade says of a piece that was asked for ``with_marks_of_work``."""
    return soft_clay.say(
        soft_clay.Standing(
            stage=piece.stage,
            days=days_at_stage(piece, today),
            has_handle=bool(plan.fingers),
            is_measured=piece.is_measured,
            has_photo=piece.has_photo,
            has_outcome=piece.has_outcome,
        )
    )


def days_at_stage(piece: Piece, today: date) -> int | None:
    """Whole days since the piece came to its stage; None where nobody noted when. [days]"""
    # A date ahead of today is a slip of a clock, not a negative wait.
    return None if piece.stage_since is None else max((today - piece.stage_since).days, 0)


def counts_of(pieces: Iterable[Piece], plan: Plan, today: date) -> tuple[str, ...]:
    """The lines for the project's Make step."""
    return soft_clay.counts(
        said_of(piece, plan, today) for piece in pieces if piece.state in ON_THE_BOARD
    )


def lay_out(
    pieces: Iterable[Piece], plan: Plan, today: date, *, stage: str = "", wait: str = ""
) -> Board:
    """Lay out the board, narrowed to a stage and to what is waited for.

    A word that is neither a stage nor a wait narrows nothing.
    """
    stage = stage if stage in Stage.values else ""
    wait = wait if wait in list(soft_clay.Wait) else ""
    rows = [_row(piece, plan, today) for piece in pieces if piece.state in ON_THE_BOARD]
    rows.sort(key=lambda row: (row.said.rank, -(row.days or 0), row.piece.code))
    of_wait = [row for row in rows if not wait or wait in row.said.waits]
    of_stage = [row for row in rows if not stage or row.piece.stage == stage]
    # Each choice counts what it would leave beside the other one.
    by_stage = Counter(row.piece.stage for row in of_wait)
    by_wait = Counter(each for row in of_stage for each in row.said.waits)
    return Board(
        rows=[row for row in of_wait if not stage or row.piece.stage == stage],
        total=len(rows),
        stages=[
            Choice(each, by_stage[each], each == stage)
            for each in Stage.values
            if by_stage[each] or each == stage
        ],
        waits=[
            Choice(each, by_wait[each], each == wait)
            for each in soft_clay.Wait
            if by_wait[each] or each == wait
        ],
        stage=stage,
        wait=wait,
    )


def _row(piece: Piece, plan: Plan, today: date) -> BoardRow:
    days = days_at_stage(piece, today)
    said = said_of(piece, plan, today)
    return BoardRow(
        piece=piece,
        days=days,
        days_words=_days_words(days),
        said=said,
        waits_words=" and ".join(said.waits),
    )


def _days_words(days: int | None) -> str:
    if days is None:
        return "since when is not noted"
    return "since today" if days == 0 else "1 day" if days == 1 else f"{days} days"
