"""A check in plain words, for the teacher or for the student, and one thing to do about it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from decimal import Decimal
from typing import Literal

from rubrics.checks.advice import advised, has_work
from rubrics.checks.register import check_named
from rubrics.checks.saying import TOO_CLOSE_SAID, limit_sentence
from rubrics.craft.results import TOO_CLOSE

from .facts import Facts
from .language import marked, own_words, said
from .shown import ShownCriterion
from .wording import decisive

Reader = Literal["teacher", "student"]

TOO_EARLY = marked("too early to tell")

STRONG_FROM_LEVEL = 3
"""A level below this is not called strong."""


def sentence(check: str, facts: Facts, *, reader: Reader = "teacher") -> str:
    """Say what a check found, why, and how sure that is; for the student also what to do.

    Parameters
    ----------
    check : str
        Its name, as :func:`rubrics.checks.register.checks` knows it.
    facts : dict
        From :func:`rubrics.reports.facts.as_facts`.
    reader : {"teacher", "student"}

    Returns
    -------
    str
        A few whole sentences, every number with its unit.
    """
    if facts.get("refused"):
        return facts["refused"]
    known = check_named(check)
    saying = known.say(facts)
    limit = limit_sentence(known, decisive(facts)) if saying.tells_limit else ""
    parts = [saying.what, limit]
    if facts.get("verdict") == TOO_CLOSE:
        parts.append(said(TOO_CLOSE_SAID))
    parts.append(saying.why)
    if reader == "student":
        parts.append(next_step(check, facts))
    return " ".join(filter(None, parts))


def next_step(check: str, facts: Facts) -> str | None:
    """One action for the student, or None when there is nothing to mend."""
    if facts.get("refused"):
        return None
    if not has_work(facts):
        return None
    return advised(check_named(check), facts, decisive(facts)) or None


def phrase(check: str, facts: Facts) -> str:
    """A few words for a tile or the end of a row: "rises 2.1 mm by the handle"."""
    return said(TOO_EARLY) if facts.get("refused") else check_named(check).say(facts).phrase


def describe(check: str, facts: Facts) -> str:
    """What a drawing shows, for who cannot see it: the finding and every reading behind it."""
    if facts.get("refused"):
        return facts["refused"]
    readings = [f"{station['value_mm']:.1f}" for station in facts.get("stations") or () if station]
    listed = f" Readings in mm: {', '.join(readings)}." if readings else ""
    return sentence(check, facts) + listed


def strong_point(criteria: Iterable[ShownCriterion], outside: Collection[str] = ()) -> str:
    """Propose a sentence on what is strong: the highest level, the heaviest of several.

    A criterion that leans on a check ``outside`` its limits comes last among its equals: praise
    beside a picture that says otherwise is not believed.
    "" where nothing reached level 3: then the teacher's own words serve better than praise by rote.
    """
    best = next(iter(strongest(criteria, outside)), None)
    if best is None:
        return ""
    name, descriptor = own_words(best["name"]), own_words(best["descriptor"])
    if not descriptor:
        return said("{name} is the strongest part of this piece.", name=name)
    return said(
        "{name} is the strongest part. {descriptor}", name=name, descriptor=_as_an_end(descriptor)
    )


def strongest(
    criteria: Iterable[ShownCriterion], outside: Collection[str] = ()
) -> list[ShownCriterion]:
    """The criteria that can be called strong, the strongest first; see :func:`strong_point`."""
    strong = [c for c in criteria if (c["level"] or 0) >= STRONG_FROM_LEVEL and not c["excused"]]

    def strength(one: ShownCriterion):
        clear = not any(check in outside for check in one["checks"])
        return one["level"], clear, Decimal(one["weight"])

    return sorted(strong, key=strength, reverse=True)


def _as_an_end(descriptor: str) -> str:
    """A descriptor as the end of a sentence."""
    text = descriptor.strip()
    return text if text.endswith((".", "!", "?")) else f"{text}."
