"""The shape of what a published assessment showed: frozen once, drawn again at any time.

Everything here is plain JSON: numbers that were decided in decimal arithmetic are strings
("85", "87.5"), so that what was shown is what is shown again.
"""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict

SHOWN_FORMAT = 1
"""Goes up when a key changes its meaning; an older frozen dict keeps its own number."""


class ShownCheck(TypedDict):
    """One craft check as the reader saw it."""

    facts: dict[str, Any]
    """From ``rubrics.reports.result_json.as_facts``: all that its drawing and its sentence need."""
    sentence: str
    """From ``rubrics.reports.sentences.sentence(check, facts, reader="student")``."""
    next_step: str | None
    """From ``rubrics.reports.sentences.next_step``; None when there is nothing to mend."""


class ShownCriterion(TypedDict):
    """One criterion: the level the teacher gave, and why where the checks said otherwise."""

    letter: str
    name: str
    group: str
    weight: str
    level: int | None
    """1 .. 4; None when excused or not looked at."""
    level_name: str
    """"" without a level."""
    points: str | None
    top: NotRequired[str]
    """Points of the criterion's highest level: what its weight is counted against."""
    descriptor: str
    """The level's descriptor; "" without a level."""
    excused: bool
    reason: str
    """In words, as the student may read it: why excused, or why the level is not the one the
    checks suggested. "" when there is none."""
    note: str
    suggested: int | None
    suggested_because: str
    limits: NotRequired[list[dict[str, str]]]
    """What its figures are held against: "figure", and "a", "b", "c" as they were written."""
    above: NotRequired[str]
    """Descriptor of the highest level, to aim at; "" where it was reached."""
    checks: list[str]
    """Names of the checks it leans on, keys of ``Shown["checks"]``; may name absent ones."""


class PublishedAssessment(TypedDict):
    """A published assessment."""

    format: int
    piece: str
    """The piece's code."""
    project: str
    section: NotRequired[str]
    student: str
    date: str
    """Day of publishing, ISO 8601: "2026-03-14"."""
    rubric: str
    rubric_version: int
    criteria: list[ShownCriterion]
    percent: str | None
    """Rounded once, at the end; None when nothing could be counted."""
    grade: str
    """The label on the section's grade scale; "" where it has none."""
    grade_from: NotRequired[str]
    """The per cent from which the label is given; "" without one."""
    weight_counted: str
    weight_total: str
    strong: str
    """One sentence on what is strong; ``rubrics.reports.sentences.strong_point`` proposes one."""
    next_steps: list[str]
    step: NotRequired[dict[str, str]]
    """Where a proposed next step comes from; see ``rubrics.reports.step_choice.Step``. Absent
    where the teacher wrote one."""
    outcomes: NotRequired[list[dict[str, Any]]]
    """What happened to the piece: "kind", "stage", "doing", "severity", "note"."""
    words: str
    """The teacher's words."""
    checks: dict[str, ShownCheck]
    photos: list[int]
    """Ids of the photos shown, the first one first."""
