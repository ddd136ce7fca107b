"""The language a reader's page is written in: sentences, dates, decimals.

A sentence stands in the code in English and is looked up as a whole when it is said. Who wants
another language says so round the call, and nothing in between needs to know::

    with speaking(spanish):
        sentence("rim_level", facts)
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Language:
    """How to say things in one language.

    ``gettext`` and ``ngettext`` are the usual two; ``day`` says a date in full; ``decimal`` is the
    sign between a number's whole and its part.
    """

    code: str
    name: str
    gettext: Callable[[str], str]
    ngettext: Callable[[str, str, int], str]
    day: Callable[[date], str]
    decimal: str = "."

    @property
    def is_source(self) -> bool:
        """Whether this is the language the sentences are written in."""
        return self.code == SOURCE

    def knows(self, words: str) -> bool:
        """Whether a text can be said in this language: it is the source, or was translated."""
        return self.is_source or not words or self.gettext(words) != words


SOURCE = "en"

ENGLISH = Language(
    code=SOURCE,
    name="English",
    gettext=lambda words: words,
    ngettext=lambda one, many, count: one if count == 1 else many,
    day=lambda day: f"{day.day} {day:%B %Y}",
)

_SPOKEN: ContextVar[Language] = ContextVar("spoken", default=ENGLISH)


def spoken() -> Language:
    """The language that sentences are said in just now."""
    return _SPOKEN.get()


@contextmanager
def speaking(language: Language) -> Iterator[Language]:
    """Say every sentence inside in this language."""
    before = _SPOKEN.set(language)
    try:
        yield language
    finally:
        _SPOKEN.reset(before)


def said(template: str, **named: object) -> str:
    """Put numbers and names into a whole sentence of the language spoken."""
    words = spoken().gettext(template)
    return words.format(**named) if named else words


def own_words(words: str) -> str:
    """A text of a rubric in the language spoken, where it is known; as it was written, else."""
    return spoken().gettext(words) if words else words


def as_written(words: str) -> str:
    """Words that somebody wrote: as they stand, and between marks where the page is translated."""
    if spoken().is_source:
        return words
    known = own_words(words)
    return known if known != words else said(_QUOTED, words=words)


def counted(one: str, many: str, count: int, **named: object) -> str:
    """The sentence for one thing or for several; ``{count}`` is there to be named."""
    return spoken().ngettext(one, many, count).format(count=count, **named)


def marked(template: str) -> str:
    """Mark a sentence for the translators where it stands; it is looked up when it is said."""
    return template


_QUOTED = marked("“{words}”")


def day_said(iso: str) -> str:
    """ "14 March 2026" in the language spoken; what is no date is said as it stands."""
    try:
        return spoken().day(date.fromisoformat(iso))
    except ValueError:
        return iso
