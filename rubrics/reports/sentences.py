"""A check in plain words, for the teacher or for the student, and one thing to do about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Literal

from rubrics.checks.advice import has_work
from rubrics.checks.register import check_named
from rubrics.checks.saying import TOO_CLOSE_SAID, limit_sentence
from rubrics.craft.levels import HIGHEST_LEVEL
from rubrics.craft.results import TOO_CLOSE, WITHIN

from .language import as_written, marked, said
from .result_json import Facts
from .shown import ShownCheck, ShownCriterion
from .wording import decisive

Reader = Literal["teacher", "student"]

TOO_EARLY = marked("too early to tell")

STRONG_FROM_LEVEL = 3
"""A level below this is not called strong."""


def sentence(check: str, facts: Facts, *, reader: Reader = "teacher") -> str:
    """Say what a check found, why, and how sure that is; for the student also what to do.

    What a student reads is kept and read at any time, so it is what to do next time; what can be
    done to the piece itself is said on live pages, by :mod:`rubrics.checks.advice`.

    Parameters
    ----------
    check : str
        Its name, as :func:`rubrics.checks.register.checks` knows it.
    facts : dict
        From :func:`rubrics.reports.result_json.as_facts`.
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
    judged = decisive(facts)
    limit = limit_sentence(known, judged) if saying.tells_limit else ""
    parts = [saying.what, limit]
    if limit and judged["verdict"] == TOO_CLOSE:
        parts.append(said(TOO_CLOSE_SAID))
    parts.append(saying.why)
    if reader == "student":
        parts.append(next_step(check, facts))
    return " ".join(filter(None, parts))


def next_step(check: str, facts: Facts) -> str | None:
    """What to do next time, or None when there is nothing to do better."""
    if facts.get("refused") or not has_work(facts):
        return None
    return check_named(check).advise(facts, decisive(facts)).next_time or None


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


def strengths(criteria: Iterable[ShownCriterion], checks: Mapping[str, ShownCheck]) -> list[str]:
    """Say what was seen to be strong: the highest level first, of equal ones what was measured.

    Of a criterion that was measured it is what its checks found within their limits, and nothing
    where they found none; of one that was judged by eye its descriptor at the highest level. What
    lower levels say is mostly what they lack: one of level 3 stands in where there is nothing else.
    """
    judged = [each for each in criteria if each["level"] is not None and not each["excused"]]
    found = []
    for one in judged:
        told = [checks[name]["facts"] for name in one["checks"] if name in checks]
        is_seen = any(_is_read(facts) for facts in told)
        words = _seen(told) if is_seen else _by_eye(one, HIGHEST_LEVEL)
        if words:
            found.append(((one["level"], is_seen, Decimal(one["weight"])), words))
    if found:
        return [words for _rank, words in sorted(found, key=lambda each: each[0], reverse=True)]
    by_eye = [one for one in judged if not one["checks"]]
    best = sorted(by_eye, key=lambda one: (one["level"], Decimal(one["weight"])), reverse=True)
    return [words for one in best[:1] if (words := _by_eye(one, STRONG_FROM_LEVEL))]


def strong_point(criteria: Iterable[ShownCriterion], checks: Mapping[str, ShownCheck]) -> str:
    """The first of :func:`strengths`; "" where nothing was seen: then the teacher's own words
    serve better than praise by rote."""
    return next(iter(strengths(criteria, checks)), "")


def _is_read(facts: Facts) -> bool:
    return not facts.get("refused")


def _seen(told: Iterable[Facts]) -> str:
    """What the checks praise that are within their limits; the others say nothing."""
    within = (facts for facts in told if _is_read(facts) and _is_within(facts))
    return " ".join(filter(None, (check_named(one["check"]).praise(one) for one in within)))


def _is_within(facts: Facts) -> bool:
    judged = decisive(facts)
    return judged is not None and judged["verdict"] == WITHIN


def _by_eye(criterion: ShownCriterion, least: int) -> str:
    name, descriptor = as_written(criterion["name"]), as_written(criterion["descriptor"])
    if criterion["level"] < least or not descriptor:
        return ""
    return said("{name}: {what}", name=name, what=_as_an_end(descriptor))


def _as_an_end(descriptor: str) -> str:
    """A descriptor as the end of a sentence."""
    text = descriptor.strip()
    return text if text.endswith((".", "!", "?", "”", "»")) else f"{text}."
