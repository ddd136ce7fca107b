"""One student's levels and measured figures from project to project, never compared with others."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from rubrics.checks.register import figure_of, judgeable
from rubrics.models import Assessment
from rubrics.reports.wording import with_doubt
from rubrics.stats.trend import FALLING, RISING, STEADY, TOO_EARLY, Trend, trends
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
    """One project's figure: its place from 1, and ``said`` with its unit or the level's name."""

    place: int
    project: str
    value: float
    said: str
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class ProgressLine:
    """One criterion or figure over the projects, with the word for it.

    ``limit`` is the latest one that the figure was held against, None of a level.
    """

    name: str
    points: tuple[Point, ...]
    word: str
    said: str
    limit: float | None = None

    @property
    def told(self) -> bool:
        """Whether more than "too early" is said of it."""
        return self.word != TOO_EARLY


@dataclass(frozen=True, slots=True)
class StudentProgress:
    """All lines of a student; ``projects`` are the titles in order."""

    projects: tuple[str, ...]
    levels: tuple[ProgressLine, ...]
    figures: tuple[ProgressLine, ...]

    @property
    def count(self) -> int:
        """How many lines share the page's chance of a false word."""
        return len(self.levels) + len(self.figures)


def progress_of(user, student: Student) -> StudentProgress:
    """Collect what was published of a student's pieces that this user may see. One query."""
    published = (
        Assessment.objects.by_teacher()
        .published()
        .filter(piece__in=access.pieces(user), piece__student=student)
        .select_related("piece__project")
        .order_by("piece__project__number", "piece__project_id", "piece__code")
    )
    levels: dict[str, list[Point]] = defaultdict(list)
    figures: dict[str, list[Point]] = defaultdict(list)
    projects: dict[int, str] = {}
    for assessment in published:
        project = assessment.piece.project
        projects[project.pk] = project.title
        place = list(projects).index(project.pk) + 1
        for each in assessment.shown["criteria"]:
            if each["level"] is not None:
                said = f"{each['level']} {each['level_name']}"
                levels[each["name"]].append(Point(place, project.title, each["level"], said))
        for key, value, u, limit in _figures(assessment.shown["checks"]):
            said = with_doubt(key.partition(".")[2], value, u)
            figures[key].append(Point(place, project.title, value, said, limit))
    keys = [key for key in judgeable() if key in figures]
    names = [*levels, *keys]
    # One chance over all lines of the page: with a dozen, chance alone would make one of them rise.
    found = dict(
        zip(names, trends([_line_of(levels.get(n) or figures[n]) for n in names]), strict=True)
    )
    return StudentProgress(
        tuple(projects.values()),
        tuple(_line(name, points, found[name], OF_LEVELS) for name, points in levels.items()),
        tuple(_line(figure_of(key).label, figures[key], found[key], OF_FIGURES) for key in keys),
    )


def _figures(checks):
    """(key, size, uncertainty, limit) of the first judged figure of each check that carries one."""
    seen = set()
    for key in judgeable():
        check, _, name = key.partition(".")
        facts = checks.get(check, {}).get("facts", {})
        value = facts.get(name)
        if check not in seen and isinstance(value, int | float):
            seen.add(check)
            limits = [each["limit"] for each in facts.get("judged", ()) if each["figure"] == name]
            yield key, abs(value), facts.get(f"u_{name}"), next(iter(limits), None)


def _line_of(points: list[Point]) -> tuple[list[int], list[float]]:
    return [point.place for point in points], [point.value for point in points]


def _line(name: str, points: list[Point], found: Trend, words: dict[str, str]) -> ProgressLine:
    limits = [point.limit for point in points if point.limit is not None]
    return ProgressLine(
        name, tuple(points), found.word, words[found.word], limits[-1] if limits else None
    )
