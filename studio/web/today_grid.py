"""The first page's table: sections and their projects down, the five steps across."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from studio.models import Piece as PieceModel
from studio.models import Project, Section
from studio.ware.stages import FIRED_STAGES, UNFIRED_STAGES
from studio.web.waiting import EMPTY, Tally, number_of


@dataclass(frozen=True, slots=True)
class ProjectRow:
    """A project that goes on. ``plan``, ``make`` and ``fire`` are the table's words; judging and
    telling are asked of whoever judges."""

    project: Project
    plan: str
    make: str
    fire: str
    hurry: str
    """What can be mended today and not tomorrow, "" where nothing hurries."""
    has_pieces: bool


@dataclass(frozen=True, slots=True)
class SectionRows:
    """A section with its projects that go on, the newest first, and how many are finished."""

    section: Section
    enrolled: int
    is_own: bool
    rows: tuple[ProjectRow, ...]
    finished: int


def is_finished(batch: Tally) -> bool:
    """Whether there were pieces and none is in work any more."""
    return bool(batch.total) and not batch.states.get(PieceModel.State.IN_WORK, 0)


def section_rows(
    section: Section,
    projects: Sequence[Project],
    tallies: dict[int, Tally],
    *,
    enrolled: int,
    is_own: bool,
) -> SectionRows:
    """The rows of one section.

    Parameters
    ----------
    projects : sequence of Project
        The section's, the newest first, with ``plan__clay`` and ``size_count`` fetched.
    tallies : dict
        By project id; a project without pieces has none.
    """
    counted = [(project, tallies.get(project.pk, EMPTY)) for project in projects]
    going = [(project, batch) for project, batch in counted if not is_finished(batch)]
    return SectionRows(
        section=section,
        enrolled=enrolled,
        is_own=is_own,
        rows=tuple(_row(project, batch) for project, batch in going),
        finished=len(counted) - len(going),
    )


def _row(project: Project, batch: Tally) -> ProjectRow:
    plan = getattr(project, "plan", None)
    plan_words = number_of(project.size_count, "size", "sizes")
    if plan is None or plan.clay is None:
        plan_words += ", no clay yet"
    late = batch.unmeasured_leather_hard
    return ProjectRow(
        project=project,
        plan=plan_words,
        make=_make(batch),
        fire=_fire(batch),
        hurry=f"{late} to measure now" if late else "",
        has_pieces=bool(batch.total),
    )


def _make(batch: Tally) -> str:
    if not batch.total:
        return "no pieces yet"
    soft = [f"{batch.stages[stage]} {stage}" for stage in UNFIRED_STAGES if stage in batch.stages]
    return ", ".join(soft) or f"all {batch.total} made"


def _fire(batch: Tally) -> str:
    told = [f"{batch.stages[stage]} {stage}" for stage in FIRED_STAGES if stage in batch.stages]
    if batch.gone:
        told.append(f"{batch.gone} lost or broken")
    return ", ".join(told) or "not yet"


def by_section(projects: Sequence[Project]) -> dict[int, list[Project]]:
    """Projects by section id, in the order given."""
    of = sorted(projects, key=lambda project: project.section_id)
    return {key: list(group) for key, group in groupby(of, key=lambda each: each.section_id)}
