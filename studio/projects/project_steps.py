"""The five steps of a project, Plan, Make, Fire, Judge, Tell: each with its present state."""

from collections.abc import Sequence
from dataclasses import dataclass

from studio.models import Plan, Stage
from studio.ware.stages import FIRED_STAGES, UNFIRED_STAGES
from studio.web.waiting import Tally, number_of

NOW, DONE, AHEAD = "now", "done", ""


@dataclass(frozen=True, slots=True)
class ProjectStep:
    """One step: how it stands, said in short lines."""

    name: str
    standing: str
    lines: tuple[str, ...]


def next_stage(batch: Tally) -> str:
    """The stage that most of the batch comes to next."""
    order = list(Stage)
    most = max(order, key=lambda stage: batch.stages.get(stage, 0))
    return order[min(order.index(most) + 1, len(order) - 1)]


def plan_step(plan: Plan, size_count: int) -> ProjectStep:
    """Clay, sizes and handle."""
    lines = [f"{number_of(size_count, 'planned size', 'planned sizes')}."]
    if plan.clay is None:
        lines.append("No clay chosen yet, so no wet sizes.")
    else:
        lines.append(f"In {plan.clay.name}.")
    return ProjectStep("Plan", DONE if plan.clay and size_count else NOW, tuple(lines))


def make_step(plan: Plan, batch: Tally, said: Sequence[str] = ()) -> ProjectStep:
    """What stands on the ware boards; ``said`` is what the trade says of pieces, counted."""
    if not batch.total:
        return ProjectStep("Make", NOW, ("No pieces yet.",))
    wet, leather, dry = (batch.stages.get(stage, 0) for stage in UNFIRED_STAGES)
    lines = []
    if leather:
        lines.append(f"{leather} leather-hard.")
    if wet:
        lines.append(f"{wet} wet{', too wet for a handle' if plan.fingers else ''}.")
    if dry:
        lines.append(f"{dry} bone dry.")
    lines += said
    if not (wet or leather or dry):
        lines.append("All made.")
    lines.append(_measured_line(batch))
    return ProjectStep("Make", NOW if wet or leather or dry else DONE, tuple(lines))


def _measured_line(batch: Tally) -> str:
    """How many were measured; those measured only at an earlier stage are no unmeasured ones."""
    going = batch.total - batch.gone
    if batch.measured == batch.ever_measured:
        return f"{batch.measured} of {going} measured at their stage."
    return (
        f"{batch.ever_measured} of {going} measured, {batch.measured} at the stage they are at now."
    )


def fire_step(batch: Tally) -> ProjectStep:
    """What came through the kiln, and what did not."""
    bisque, glazed = (batch.stages.get(stage, 0) for stage in FIRED_STAGES)
    dry = batch.stages.get(Stage.BONE_DRY, 0)
    lines = [f"{dry} bone dry, ready for the kiln."] if dry else []
    if bisque:
        lines.append(f"{bisque} bisque.")
    if glazed:
        lines.append(f"{glazed} glazed.")
    if batch.gone:
        lines.append(f"{batch.gone} lost or broken.")
    if batch.without_outcome:
        lines.append(f"{batch.without_outcome} glazed without an outcome noted.")
    if not lines:
        return ProjectStep("Fire", AHEAD, ("Nothing fired yet.",))
    standing = batch.total - batch.gone
    done = glazed == standing and not batch.without_outcome
    return ProjectStep("Fire", DONE if done else NOW, tuple(lines))
