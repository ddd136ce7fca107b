"""One student's levels and measured figures from project to project, never compared with others."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from rubrics.checks.register import judgeable
from rubrics.models import Assessment
from rubrics.reports.wording import with_doubt
from rubrics.stats.trend import FALLING, RISING, STEADY, TOO_EARLY, trend
from studio import access
from studio.models import Student

# What a student reads of a level's trend, and of a measured figure's, where less is better.
OF_LEVELS = {
    RISING: "Rising",
    STEADY: "Steady: no rise or fall that stands out",
    FALLING: "Falling",
    TOO_EARLY: "Too early to tell",
}
OF_FIGURES = {
    RISING: "Growing; smaller would be better",
    STEADY: "Steady: no change that stands out",
    FALLING: "Getting smaller, which is better",
    TOO_EARLY: "Too early to tell",
}


@dataclass(frozen=True, slots=True)
class Point:
    """One project's figure: ``said`` with its unit or the level's name."""

    project: str
    value: float
    said: str


@dataclass(frozen=True, slots=True)
class ProgressLine:
    """One criterion or figure over the projects, with the word for it."""

    name: str
    points: tuple[Point, ...]
    word: str
    said: str


@dataclass(frozen=True, slots=True)
class Progress:
    """All lines of a student; ``projects`` are the titles in order."""

    projects: tuple[str, ...]
    levels: tuple[ProgressLine, ...]
    figures: tuple[ProgressLine, ...]


def progress_of(user, student: Student) -> Progress:
    """Collect what was published of a student's pieces that this user may see. One query."""
    told = (
        Assessment.objects.by_teacher()
        .published()
        .filter(piece__in=access.pieces(user), piece__student=student)
        .select_related("piece__project")
        .order_by("piece__project__number", "piece__project_id", "piece__code")
    )
    levels: dict[str, list[tuple[int, Point]]] = defaultdict(list)
    figures: dict[str, list[tuple[int, Point]]] = defaultdict(list)
    projects: dict[int, str] = {}
    for assessment in told:
        project = assessment.piece.project
        projects[project.pk] = project.title
        place = len(projects)
        for each in assessment.shown["criteria"]:
            if each["level"] is not None:
                said = each["level_name"]
                levels[each["name"]].append((place, Point(project.title, each["level"], said)))
        for key, value, u in _figures(assessment.shown["checks"]):
            said = with_doubt(key.partition(".")[2], value, u)
            figures[key].append((place, Point(project.title, value, said)))
    return Progress(
        tuple(projects.values()),
        tuple(_line(name, points, OF_LEVELS) for name, points in levels.items()),
        tuple(
            _line(figure.label, figures[key], OF_FIGURES)
            for key, figure in judgeable().items()
            if key in figures
        ),
    )


def _figures(checks):
    """(key, size, uncertainty) of the first judged figure of each check that carries one."""
    seen = set()
    for key in judgeable():
        check, _, name = key.partition(".")
        facts = checks.get(check, {}).get("facts", {})
        value = facts.get(name)
        if check not in seen and isinstance(value, int | float):
            seen.add(check)
            yield key, abs(value), facts.get(f"u_{name}")


def _line(name: str, points: list[tuple[int, Point]], words: dict[str, str]) -> ProgressLine:
    found = trend([place for place, _ in points], [point.value for _, point in points])
    return ProgressLine(name, tuple(point for _, point in points), found.word, words[found.word])
