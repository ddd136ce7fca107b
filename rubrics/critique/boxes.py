"""The five boxes in the trade's order, and starters that quote what the maker wants.

The order (describe, analyse, interpret, judge) is the trade's way through a critique.
"""

from __future__ import annotations

from dataclasses import dataclass

from rubrics.models import Remark
from studio.models import Piece

Box = Remark.Box
QUOTED_WORDS = 9
"""Of the maker's own words a starter quotes so many."""


@dataclass(frozen=True, slots=True)
class BoxText:
    """What a box asks."""

    key: str
    number: int
    title: str
    step: str
    ask: str


BOXES = (
    BoxText(Box.SEE, 1, "What I see", "describe", "Only what is there. No like or dislike yet."),
    BoxText(
        Box.WORKS,
        2,
        "How it works",
        "analyse",
        "Form, join, surface, use: what does one part do to another?",
    ),
    BoxText(
        Box.ABOUT,
        3,
        "What it is about or for",
        "interpret",
        "Who would hold it, when, and how should it feel?",
    ),
    BoxText(Box.STRONG, 4, "What works", "judge", "One thing to keep, and why."),
    BoxText(Box.TRY, 5, "One thing to try", "judge", "One thing, where on the piece, and why."),
)
NUMBER_OF = {box.key: box.number for box in BOXES}


def starters(piece: Piece) -> dict[str, list[str]]:
    """Beginnings of sentences by box, those that quote the maker first."""
    accent, seam, handle = (
        piece.get_intent_accent_display(),
        piece.get_intent_seam_display(),
        piece.get_intent_handle_display(),
    )
    quoted = _quoted(piece.intent)
    eye = f"You wanted the eye at {accent}; mine goes to … because …" if accent else ""
    told = {
        Box.SEE: [eye, "My eye goes first to …", "The … is …, while the … is …"],
        Box.WORKS: [
            f"You wanted the seam {seam.partition(',')[0]}; it …" if seam else "",
            _handle_starter(piece.intent_handle, handle),
            "Where the … meets the …, it …",
        ],
        Box.ABOUT: [
            f"You wrote “{quoted}”; to me it …" if quoted else "",
            "It seems made for … because …",
        ],
        Box.STRONG: ["The … works because …", "Keep the …, because …"],
        Box.TRY: ["Try … at the …, because …", "If the … were …, then …"],
    }
    return {box: [each for each in lines if each] for box, lines in told.items()}


def _handle_starter(key: str, words: str) -> str:
    if not key:
        return ""
    if key == Piece.HandleIntent.NONE:
        return "You wanted no handle; in the hand it …"
    return f"You wanted the handle {words}; it …"


def _quoted(intent: str) -> str:
    words = intent.split()
    cut = " ".join(words[:QUOTED_WORDS]).rstrip(' ,;:.“”"')
    return f"{cut} …" if len(words) > QUOTED_WORDS else cut
