"""The foot in words: its sides, its diagonals, and whether it stands."""

from __future__ import annotations

from rubrics.craft import foot
from rubrics.craft.results import SquaredFoot
from rubrics.reports.drawings.foot import picture
from rubrics.reports.wording import decisive, number, quantity

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import marked, needs_work, said

STEADY_MM = 0.1
"""Rock of no more than a sheet of paper. [mm]"""


def say(facts: Facts) -> Saying:
    """Say a result of ``squared_foot``."""
    judged = decisive(facts)
    return Saying(
        what=_what(facts),
        why=_why(facts, judged),
        phrase=_phrase(facts, judged),
    )


def _mm(value: float) -> str:
    return quantity("_mm", value)


def _sides(facts: Facts) -> list[float]:
    return [side for side in facts.get("sides_mm") or () if side is not None]


def _what(facts: Facts) -> str:
    sides = _sides(facts)
    if len(sides) > 1:
        return said(
            "The sides of the foot measure {low} to {high}.",
            low=number(min(sides), 1),
            high=_mm(max(sides)),
        )
    apart = facts.get("diagonal_difference_mm")
    if apart is not None:
        return said("The two diagonals of the foot differ by {apart}.", apart=_mm(apart))
    rock = facts.get("rock_mm")
    if rock is not None:
        return said("On a flat table the foot rocks by {rock}.", rock=_mm(rock))
    return said("The foot has been read in part.")


def _why(facts: Facts, judged: Facts | None) -> str:
    if judged and judged["figure"] == "diagonal_difference_mm" and needs_work(facts):
        return said("The foot leans over like a diamond.")
    rock = facts.get("rock_mm")
    if rock is None or (judged and judged["figure"] == "rock_mm"):
        return ""
    if rock <= STEADY_MM:
        return said("It stands firm.")
    return said("On a flat table it rocks by {rock}.", rock=_mm(rock))


def advise(_facts: Facts, judged: Facts | None) -> Advice:
    """What squares or steadies the foot."""
    figure = judged["figure"] if judged else "side_spread_mm"
    if figure == "rock_mm":
        return Advice(
            soft=said(
                "Set the cup on a flat board and press the rim down over the corner that lifts."
            ),
            dry=said(_SPONGE),
            next_time=said("On your next cup, dry the foot on a flat board."),
        )
    if figure == "diagonal_difference_mm":
        soft = said("Press the two far corners towards each other until the diagonals match.")
    else:
        soft = said("Pat the longest side in with a flat stick until all four sides match.")
    return Advice(
        soft=soft,
        next_time=said(
            "On your next cup, cut all darts alike and centre each on its quarter mark."
        ),
    )


_SPONGE = marked("Rub the high corner on a damp sponge until it stands. Never dry.")


def _phrase(facts: Facts, judged: Facts | None) -> str:
    if judged and judged["figure"] == "rock_mm" and needs_work(facts):
        return said("rocks {rock}", rock=_mm(judged["value"]))
    if judged and judged["figure"] == "diagonal_difference_mm" and needs_work(facts):
        return said("diagonals differ by {apart}", apart=_mm(judged["value"]))
    sides = _sides(facts)
    if len(sides) > 1:
        return said("sides {low} to {high}", low=number(min(sides), 1), high=_mm(max(sides)))
    return said("read in part")


CHECK = Check(
    name=SquaredFoot.check,
    place=6,
    part="the foot",
    title="The foot, from above",
    result=SquaredFoot,
    compute=foot.from_sheet,
    needs=foot.QUANTITIES,
    also=foot.ALSO,
    reads=(*foot.QUANTITIES, *foot.ALSO),
    figures=(
        Figure(
            name="side_spread_mm",
            axis="Longest less shortest side",
            label="Foot: longest minus shortest side",
            short="sides",
            within=marked("The sides differ by {value}; up to {limit} is fine."),
            too_close=marked(
                "The sides differ by {value}, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("The sides differ by {value}; the limit is {limit}."),
        ),
        Figure(
            name="diagonal_difference_mm",
            axis="Diagonals apart by",
            label="Foot: difference of the diagonals",
            short="diagonals",
            within=marked("The diagonals differ by {value}; up to {limit} is fine."),
            too_close=marked(
                "The diagonals differ by {value}, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("The diagonals differ by {value}; the limit is {limit}."),
        ),
        Figure(
            name="rock_mm",
            axis="Rock on a flat table",
            label="Foot: rock on a flat table",
            short="rock",
            within=marked("On a flat table it rocks by {value}; up to {limit} is fine."),
            too_close=marked(
                "On a flat table it rocks by {value}, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("On a flat table it rocks by {value}; the limit is {limit}."),
        ),
    ),
    principal="side_spread_mm",
    picture=picture,
    say=say,
    advise=advise,
    touched_by=frozenset({"warp", "glaze run", "stuck to the shelf", "overfired"}),
    is_mendable=True,
)
