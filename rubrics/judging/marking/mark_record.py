"""A mark as plain JSON, the guards of a write, and the record of a late change."""

from __future__ import annotations

from django.db.models import F
from django.utils import timezone

from rubrics.judging.marking.errors import GradingError, Stale, WhyWanted
from rubrics.models import Assessment, Mark, MarkChange, NextStep, Rubric
from rubrics.publishing.publish import freeze_again
from studio.models import Project

REASON_LENGTH = Mark._meta.get_field("reason_text").max_length
WHY_LENGTH = MarkChange._meta.get_field("why").max_length
BECAUSE_LENGTH = Mark._meta.get_field("suggested_because").max_length
NOTE_LENGTH = Mark._meta.get_field("note").max_length
WORDS_LENGTH = Assessment._meta.get_field("words").max_length
STRENGTH_LENGTH = Assessment._meta.get_field("strength").max_length
STEP_LENGTH = NextStep._meta.get_field("text").max_length

STATE_FIELDS = [
    "level",
    "excused",
    "reason",
    "reason_text",
    "note",
    "suggested",
    "suggested_because",
]


def state_of_mark(mark: Mark) -> dict:
    """A mark as plain JSON, for the record of a change."""
    return {
        "level": mark.level.number if mark.level else None,
        "excused": mark.excused,
        "reason": mark.reason,
        "reason_text": mark.reason_text,
        "note": mark.note,
        "suggested": mark.suggested,
        "suggested_because": mark.suggested_because,
    }


def decision(state: dict) -> dict:
    """What a person decided, without what the checks said."""
    return {key: state[key] for key in ("level", "excused", "reason", "reason_text", "note")}


def refuse_stale(assessment, mark, expected_version, *, theirs, mine) -> None:
    """Refuse where the same mark changed since; the same key sent twice is no quarrel."""
    if mark.pk is None or expected_version >= assessment.version:
        return
    if decision(theirs) == decision(mine):
        return
    newer = mark.changes.filter(version__gt=expected_version).select_related("who")
    latest = newer.order_by("-version").first()
    if latest is not None:
        who = latest.who.get_full_name() or latest.who.get_username() if latest.who else ""
        raise Stale(theirs=theirs, mine=mine, version=assessment.version, who=who, at=latest.at)


def refuse_without_why(assessment: Assessment, why: str) -> None:
    if assessment.published_at is not None and not why.strip():
        raise WhyWanted("This is published: say in a few words why it changes.")
    if len(why.strip()) > WHY_LENGTH:
        raise GradingError(f"The why fits in {WHY_LENGTH} characters; this has more.")


def check_reason(mark: Mark) -> None:
    mark.reason_text = mark.reason_text.strip()
    if mark.reason and mark.reason not in Mark.Reason.values:
        raise GradingError(f"“{mark.reason}” is not one of the reasons; choose one of the list.")
    if len(mark.reason_text) > REASON_LENGTH:
        raise GradingError(f"A reason fits in {REASON_LENGTH} characters; this has more.")
    if len(mark.note) > NOTE_LENGTH:
        raise GradingError(f"A note fits in {NOTE_LENGTH} characters; this has more.")


def record_late(assessment, mark, by, *, before, after, why) -> None:
    """Freeze what is shown anew and keep what was shown with the change."""
    old = assessment.shown
    freeze_again(assessment, mark.criterion if mark else None)
    MarkChange.objects.create(
        assessment=assessment,
        mark=mark,
        version=assessment.version,
        who=by,
        before={**before, "shown": old},
        after=after,
        why=why.strip(),
        after_publishing=True,
    )


def put_back(mark: Mark, state: dict, levels: dict) -> None:
    mark.level = levels.get(state["level"])
    for name in STATE_FIELDS[1:]:
        setattr(mark, name, state[name])


def guard(project_id: int) -> None:
    """Hold the project's row, so that batch writes and first marks come one after another."""
    Project.objects.select_for_update().filter(pk=project_id).values_list("pk").first()


def freeze_rubric(rubric: Rubric) -> None:
    if rubric.frozen_at is None:
        Rubric.objects.filter(pk=rubric.pk, frozen_at=None).update(frozen_at=timezone.now())


def count_up(assessment_ids: list[int]) -> None:
    Assessment.objects.filter(pk__in=assessment_ids).update(version=F("version") + 1)
