"""An invented craft check in one file, as somebody would add it: how far a hung cup tips."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rubrics.checks.descriptor import Advice, Check, Facts, Figure, Saying
from rubrics.craft.parts import Judged
from rubrics.craft.verdict import judge
from rubrics.reports.language import marked, said
from rubrics.reports.palette import Role
from rubrics.reports.scene import Line, Scene
from rubrics.reports.wording import quantity
from studio.ware.quantities import ANGLE, Quantity

QUANTITY = Quantity("hang_tip", "Tip when hung", ANGLE, "protractor", 0, 90)


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """How far a cup tips when it hangs from its handle, three quarters full."""

    check: ClassVar[str] = "balance"
    FIGURES: ClassVar[tuple[str, ...]] = ("tip_deg",)
    stage: str
    tip_deg: float
    u_tip_deg: float
    verdict: str | None = None
    judged: tuple[Judged, ...] = ()


def from_sheet(sheet, stage, plan) -> Balance:
    """The mean of the tips read."""
    readings = sheet.at(stage, QUANTITY.key)
    figures = {
        "tip_deg": sum(each.value for each in readings) / len(readings),
        "u_tip_deg": max(each.u for each in readings),
    }
    verdict, judged = judge(Balance, figures, plan.limits)
    return Balance(stage=stage, verdict=verdict, judged=judged, **figures)


def picture(facts: Facts, width: float) -> Scene:
    """A line that tips."""
    return Scene(width, 40.0, (Line(10, 5, 10 + facts["tip_deg"], 35, Role.MEASURE),))


def say(facts: Facts) -> Saying:
    """Say how far it tips."""
    tip = quantity("_deg", facts["tip_deg"])
    return Saying(
        what=said("Hung by its handle, the cup tips by {tip}.", tip=tip),
        phrase=said("tips {tip}", tip=tip),
    )


def advise(_facts: Facts, _judged: Facts | None) -> Advice:
    """Where the handle goes."""
    return Advice(
        soft=said("Move the handle's foot down the wall and join it again."),
        next_time=said("Next time, hang the handle lower."),
    )


CHECK = Check(
    name="balance",
    place=9,
    part="the balance",
    title="The cup, hung",
    result=Balance,
    compute=from_sheet,
    needs=(QUANTITY.key,),
    reads=(QUANTITY.key,),
    figures=(
        Figure(
            name="tip_deg",
            axis="Tip when hung",
            label="Balance: tip when hung",
            short="tips",
            within=marked("It tips by {value}; up to {limit} is fine."),
            too_close=marked("It tips by {value}, give or take {doubt}; the limit is {limit}."),
            outside=marked("It tips by {value}; the limit is {limit}."),
        ),
    ),
    principal="tip_deg",
    picture=picture,
    say=say,
    advise=advise,
    touched_by=frozenset({"handle crack"}),
    is_mendable=True,
)
