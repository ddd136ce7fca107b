"""The foot: its sides, its diagonals, and whether it stands."""

from __future__ import annotations

from rubrics.craft import foot
from rubrics.craft.results import OUTSIDE, SquaredFoot
from rubrics.reports.drawings.foot import picture
from rubrics.reports.wording import decisive, number, quantity

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import marked, needs_work, said

STEADY_MM = 0.1
"""Rock of no more than a sheet of paper. [mm]"""


def say(facts: Facts) -> Saying:
    """Say a result of ``squared_foot``."""
    judged = decisive(facts)
    return Saying(what=_what(facts), why=_why(facts, judged), phrase=_phrase(facts, judged))


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
        return said(_ROCKS, rock=_mm(rock))
    return said("The foot has been read in part.")


_ROCKS = marked("On a flat table the foot rocks by {rock}.")


def _why(facts: Facts, judged: Facts | None) -> str:
    figure = judged["figure"] if judged else ""
    if figure == "diagonal_difference_mm" and judged["verdict"] == OUTSIDE:
        return said("The foot leans over like a diamond.")
    rock = facts.get("rock_mm")
    if rock is None or not _sides(facts):
        return ""
    if _bulges(facts):
        return said(_BULGES)
    if figure == "rock_mm":
        return ""
    return said("It stands firm.") if rock <= STEADY_MM else said(_ROCKS, rock=_mm(rock))


_BULGES = marked(
    "No corner touches the table: the cup stands on the middle of its base, and may turn on it."
)


def _bulges(facts: Facts) -> bool:
    """Whether every corner was read and stands off the table: nothing rocks, nothing carries."""
    gaps = [gap for gap in facts.get("gaps_mm") or () if gap is not None]
    return len(gaps) == foot.SIDES and min(gaps) > STEADY_MM


_SPONGE = marked(
    "Rub the high corner on a damp sponge until it stands. Never dry: the dust is harmful."
)
_ADVICE = {
    "rock_mm": (
        marked("Set the cup on a flat board and press the rim down over the corner that lifts."),
        _SPONGE,
        marked("Next time, let the foot dry on a flat board."),
    ),
    "largest_gap_mm": (
        marked("Turn the cup over and press the middle of the base in, until the corners carry."),
        _SPONGE,
        marked("Next time, press the middle of the base in a little before it dries."),
    ),
    "diagonal_difference_mm": (
        marked("Press the two far corners towards each other until the diagonals match."),
        "",
        marked("Next time, compare both diagonals before the base goes on."),
    ),
    "side_spread_mm": (
        marked("Pat the longest side in with a flat stick until all four sides match."),
        "",
        marked("Next time, cut all darts alike and centre each on its quarter mark."),
    ),
}


def advise(_facts: Facts, judged: Facts | None) -> Advice:
    """What squares or steadies the foot."""
    figure = judged["figure"] if judged else "side_spread_mm"
    soft, dry, next_time = _ADVICE.get(figure, _ADVICE["side_spread_mm"])
    return Advice(soft=said(soft), dry=dry and said(dry), next_time=said(next_time))


def praise(facts: Facts) -> str:
    """What was seen of a foot that is square, or that stands."""
    sides, rock = _sides(facts), facts.get("rock_mm")
    steady = rock is not None and rock <= STEADY_MM and not _bulges(facts)
    if len(sides) > 1:
        apart = _mm(max(sides) - min(sides))
        if steady:
            return said(
                "The sides of the foot agree within {apart}, and it stands firm.", apart=apart
            )
        return said("The sides of the foot agree within {apart}.", apart=apart)
    return said("The cup stands firm on a flat table.") if steady else ""


def _phrase(facts: Facts, judged: Facts | None) -> str:
    if judged and judged["figure"] == "rock_mm" and needs_work(facts):
        return said("rocks {rock}", rock=_mm(judged["value"]))
    if judged and judged["figure"] == "diagonal_difference_mm" and needs_work(facts):
        return said("diagonals differ by {apart}", apart=_mm(judged["value"]))
    if judged and judged["figure"] == "largest_gap_mm" and needs_work(facts):
        return said("a corner {gap} off the table", gap=_mm(judged["value"]))
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
            reads=("foot_side",),
            axis="Longest minus shortest side",
            label="Foot: longest minus shortest side",
            short="sides",
            ease=2,
            within=marked("The sides differ by {value}; up to {limit} is fine."),
            too_close=marked(
                "The sides differ by {value}, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("The sides differ by {value}; the limit is {limit}."),
        ),
        Figure(
            name="diagonal_difference_mm",
            reads=("foot_diagonal",),
            axis="Difference of the diagonals",
            label="Foot: difference of the diagonals",
            short="diagonals",
            ease=2,
            within=marked("The diagonals differ by {value}; up to {limit} is fine."),
            too_close=marked(
                "The diagonals differ by {value}, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("The diagonals differ by {value}; the limit is {limit}."),
        ),
        Figure(
            name="largest_gap_mm",
            reads=("foot_gap",),
            axis="Largest gap under a corner",
            label="Foot: largest gap under a corner",
            short="gap",
            ease=1,
            within=marked("A corner stands {value} off the table; up to {limit} is fine."),
            too_close=marked(
                "A corner stands {value} off the table, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("A corner stands {value} off the table; the limit is {limit}."),
        ),
        Figure(
            name="rock_mm",
            reads=("foot_gap",),
            axis="Rock on a flat table",
            label="Foot: rock on a flat table",
            short="rock",
            ease=1,
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
    praise=praise,
    settled_by="read sides and diagonals with a calliper, and the gaps with feelers on glass",
    touched_by=frozenset({"warp", "glaze run", "stuck to the shelf", "overfired"}),
    is_mendable=True,
)
