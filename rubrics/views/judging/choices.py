"""Choices that several judging pages offer."""

from rubrics.models import Mark


def reasons() -> list[dict]:
    """The pick-list of reasons."""
    return [{"value": value, "label": label} for value, label in Mark.Reason.choices]
