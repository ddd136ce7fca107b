"""The most telling checks, drawn and said; the others in a line."""

from __future__ import annotations

from reportlab.platypus import Flowable, Spacer

from rubrics.checks.outcomes import checks_touched_by
from rubrics.checks.register import check_named, check_of, checks

from ..drawings import draw
from ..print_drawing import to_reportlab
from ..sentences import phrase
from ..shown import PublishedAssessment
from ..step_choice import FINDING, OUTCOME
from ..wording import VERDICT_WORDS, decisive, urgency
from . import styles
from .fit import Fit, Notes
from .rows import BETWEEN_COLUMNS, columns, stack

DRAWN_AT = 290.0
"""Width at which drawings are laid out, before they are set to their width on paper. [unit]"""
NOT_JUDGED = 9
"""Sorts a check without a limit behind all that have one."""
LONGEST_ALSO = 400
"""Characters of the line on the other checks."""


def telling(shown: PublishedAssessment) -> list[str]:
    """The names of the checks, the most telling first.

    What the next step is about comes first, then a crack that goes through, then what is outside,
    too close to call, within; among those of one verdict the checks that a criterion leans on, and
    the furthest from its limit.
    """
    known = [name for name in checks() if name in shown["checks"]]
    drawn = [name for name in known if not shown["checks"][name]["facts"].get("refused")]
    stepped = _checks_of_step(shown)
    leaned_on = {name for criterion in shown["criteria"] for name in criterion["checks"]}

    def urgency_of(name: str) -> tuple:
        facts = shown["checks"][name]["facts"]
        judged = decisive(facts)
        rank = urgency(judged) if judged else (NOT_JUDGED, 0.0)
        return (
            name not in stepped,
            not facts.get("through"),
            rank[0],
            name not in leaned_on,
            rank[1],
        )

    return sorted(drawn, key=urgency_of)


def _checks_of_step(shown: PublishedAssessment) -> set[str]:
    """The checks that the proposed next step is about."""
    step = shown.get("step", {})
    if step.get("kind") == FINDING:
        return {check_of(step["name"]).name}
    if step.get("kind") == OUTCOME:
        return set(checks_touched_by(step["name"]))
    return set()


def reasons(shown: PublishedAssessment, fit: Fit, notes: Notes, width: float) -> Flowable | None:
    """The most telling checks drawn, each with its sentence; the others in a line."""
    names = telling(shown)
    if not names:
        return None
    drawn, rest = names[: fit.drawings], names[fit.drawings :]
    parts: list[Flowable] = [styles.label("The reasons, measured", fit.text), Spacer(1, 3)]
    if drawn:
        column = (width - BETWEEN_COLUMNS) / 2
        cells = [_reason(shown, name, fit, notes, column) for name in drawn]
        widths = [column, BETWEEN_COLUMNS, column]
        padded = [cells[0], "", cells[1] if len(cells) > 1 else ""]
        if len(cells) == 1:
            padded, widths = _beside(cells[0], fit, width)
        parts.append(columns(padded, widths))
    if rest:
        also = "; ".join(_in_a_line(shown, name) for name in rest)
        parts += [
            Spacer(1, 4),
            styles.soft(notes.text(f"Also: {also}.", LONGEST_ALSO), fit.text - 0.5),
        ]
    return stack(parts, width)


def _beside(cell: list[Flowable], fit: Fit, width: float) -> tuple[list, list[float]]:
    """A drawing alone has its words at its right."""
    title, gap, drawing, *words = cell
    room = width - fit.drawing_width - BETWEEN_COLUMNS
    return [[drawing], "", [title, gap, *words[1:]]], [fit.drawing_width, BETWEEN_COLUMNS, room]


def _reason(
    shown: PublishedAssessment, name: str, fit: Fit, notes: Notes, width: float
) -> list[Flowable]:
    check = shown["checks"][name]
    scene = draw(name, check["facts"], width=DRAWN_AT, most_bars=1)
    return [
        styles.strong(check_named(name).title, fit.text),
        Spacer(1, 3),
        to_reportlab(scene, width=min(fit.drawing_width, width)),
        Spacer(1, 5),
        styles.plain(notes.text(check["sentence"], fit.sentence), fit.text - 0.5),
    ]


def _in_a_line(shown: PublishedAssessment, name: str) -> str:
    facts = shown["checks"][name]["facts"]
    title, _, _ = check_named(name).title.partition(",")
    verdict = VERDICT_WORDS.get(facts.get("verdict") or "")
    said = f"{title}: {phrase(name, facts)}"
    return f"{said} ({verdict})" if verdict else said
