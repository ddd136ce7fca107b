"""What a page for the family shows of one student: frozen figures, words, pictures."""

from __future__ import annotations

from dataclasses import dataclass

from .language import ENGLISH, Language
from .shown import PublishedAssessment


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedPicture:
    """A photo's file, what it shows in a word or two, and the part of it to print."""

    file: bytes
    stage: str = ""
    caption: str = ""
    window: tuple[float, float, float, float] | None = None
    """Left, top, right, bottom as shares of width and height; the whole photo where None."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CameOut:
    """One outcome: the trade's word, at which stage, whose doing the teacher holds it to be."""

    kind: str
    stage: str
    doing: str
    note: str = ""
    lost: bool = False
    """Whether nothing of the piece is left."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedPiece:
    """One piece whose feedback was published."""

    shown: PublishedAssessment
    number: int
    """Of the project."""
    stage: str
    intent: str = ""
    title: str = ""
    """What the student calls the piece."""
    pictures: tuple[PrintedPicture, ...] = ()
    pair: tuple[PrintedPicture, ...] = ()
    """The piece at its first and last photographed stage, at one scale; empty where it cannot."""
    outcomes: tuple[CameOut, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NotYet:
    """One piece of which nothing is published, and how it stands."""

    project: str
    number: int
    state: str
    """Of the piece, as in "lost"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyPage:
    """One student's page; words that are empty are proposed from what was published."""

    student: str
    section: str
    day: str
    """ISO 8601, of printing."""
    pieces: tuple[PublishedPiece, ...]
    """The latest one first; the page is about it."""
    unpublished: tuple[NotYet, ...] = ()
    school: str = ""
    teachers: tuple[str, ...] = ()
    strength: str = ""
    strength_too: str = ""
    next_step: str = ""
    student_words: str = ""
    words: str = ""
    language: Language = ENGLISH
