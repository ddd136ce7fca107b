"""The joins: what is open, what goes through, and how the lips meet."""

from __future__ import annotations

from rubrics.craft import seam
from rubrics.craft.results import WITHIN, SeamJoin
from rubrics.reports.drawings.seam import picture
from rubrics.reports.wording import decisive, quantity
from studio.ware.condition import FIRED

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import clay_now, marked, said


def say(facts: Facts) -> Saying:
    """Say a result of ``seam_join``."""
    return Saying(
        what=_what(facts),
        why=_why(facts),
        phrase=_phrase(facts),
        tells_limit=_worth_a_word(facts, decisive(facts)),
    )


def _mm(value: float) -> str:
    return quantity("_mm", value)


def _worth_a_word(facts: Facts, judged: Facts | None) -> bool:
    """Nothing open needs no share of it; a crack through counts whatever the figures say."""
    if judged is None or facts.get("through"):
        return False
    return judged["figure"] == "largest_step_mm" or judged["value"] != 0


def _worst(facts: Facts) -> Facts | None:
    joins = facts["joins"]
    if facts.get("through"):
        return max(joins, key=lambda j: j["longest_through_mm"], default=None)
    return max(joins, key=lambda j: j["longest_open_mm"], default=None)


def _dart(join: Facts) -> str | None:
    """The number of a dart; None for the seam."""
    return join["name"][4:] if join["name"].startswith("dart") else None


def _what(facts: Facts) -> str:
    worst = _worst(facts)
    if worst is None:
        return said("No join has been looked at yet.")
    dart = _dart(worst)
    if facts.get("through"):
        return _what_through(dart, _mm(worst["longest_through_mm"]))
    if worst["longest_open_mm"] > 0:
        return _what_open(dart, _mm(worst["longest_open_mm"]))
    if facts.get("open_mm") is None:
        return said("Nobody has read yet whether the joins are open.")
    return _what_closed(facts)


def _what_closed(facts: Facts) -> str:
    if any(_dart(join) for join in facts["joins"]):
        return said("The seam and the darts are closed all along.")
    return said("The seam is closed all along.")


def _what_through(dart: str | None, length: str) -> str:
    if dart:
        return said("A crack of {length} goes right through dart {dart}.", length=length, dart=dart)
    return said("A crack of {length} goes right through the seam.", length=length)


def _what_open(dart: str | None, length: str) -> str:
    if dart:
        return said("Dart {dart} is open for {length}.", length=length, dart=dart)
    return said("The seam is open for {length}.", length=length)


def _why(facts: Facts) -> str:
    if not facts.get("through"):
        return ""
    if clay_now(facts) == FIRED:
        return said("A crack that goes through counts whatever its length. Do not drink from it.")
    return said("A crack that goes through counts whatever its length.")


_STEP_NOW = marked("Rib the two edges level, inside and outside, while the clay is leather-hard.")
_STEP_NEXT = marked("Next time, bevel both ends at the same slant, so that the edges meet.")
_OPEN_NOW = marked("Score the open part, add slip, press soft clay in, and rib it from both sides.")
_SHOW_IT = marked(
    "Show it to your teacher before it is loaded: an open join seldom closes in the kiln."
)
_DART_NEXT = marked(
    "Next time, cut narrower darts, score and slip both edges, and back them with a thin coil."
)
_SEAM_NEXT = marked(
    "Next time, score deep, add slip, and press the whole seam with a rib from both sides."
)


def advise(facts: Facts, judged: Facts | None) -> Advice:
    """How to close a join, or to make the lips of the next one meet."""
    if judged is not None and judged["figure"] == "largest_step_mm" and not facts.get("through"):
        return Advice(soft=said(_STEP_NOW), next_time=said(_STEP_NEXT))
    worst = _worst(facts)
    return Advice(
        soft=said(_OPEN_NOW),
        dry=said(_SHOW_IT),
        next_time=said(_DART_NEXT if worst is not None and _dart(worst) else _SEAM_NEXT),
    )


def praise(facts: Facts) -> str:
    """What was seen of closed joins."""
    worst = _worst(facts)
    if worst is None or worst["longest_open_mm"] > 0 or facts.get("open_mm") is None:
        return ""
    return _what_closed(facts)


def _phrase(facts: Facts) -> str:
    worst = _worst(facts)
    if worst is None:
        return said("too early to tell")
    dart = _dart(worst)
    if facts.get("through"):
        if dart:
            return said("crack through dart {dart}", dart=dart)
        return said("crack through the seam")
    if worst["longest_open_mm"] > 0:
        return _phrase_open(dart, _mm(worst["longest_open_mm"]))
    return _phrase_closed(facts)


def _phrase_open(dart: str | None, length: str) -> str:
    if dart:
        return said("dart {dart} open {length}", dart=dart, length=length)
    return said("seam open {length}", length=length)


def _phrase_closed(facts: Facts) -> str:
    judged = decisive(facts)
    step = facts.get("largest_step_mm")
    if step and judged and judged["figure"] == "largest_step_mm" and judged["verdict"] != WITHIN:
        return said("a step of {step}", step=_mm(step))
    if facts.get("open_mm") is None:
        return said("too early to tell")
    return said("closed all along")


CHECK = Check(
    name=SeamJoin.check,
    place=3,
    part="the joins",
    title="The seam and the darts",
    result=SeamJoin,
    compute=seam.from_sheet,
    needs=seam.QUANTITIES,
    reads=seam.QUANTITIES,
    figures=(
        Figure(
            name="open_fraction",
            reads=("seam_length", "seam_open", "seam_through"),
            axis="Open share of the joins",
            label="Seam: open share of the join",
            short="open",
            ease=2,
            within=marked("In all, {value} of the joins' length is open; up to {limit} is fine."),
            too_close=marked(
                "In all, {value} of the joins' length is open, give or take {doubt}; "
                "the limit is {limit}."
            ),
            outside=marked("In all, {value} of the joins' length is open; the limit is {limit}."),
        ),
        Figure(
            name="longest_open_mm",
            reads=("seam_open", "seam_through"),
            axis="Longest open part",
            label="Seam: longest open part",
            short="open",
            ease=2,
            within=marked("That is within the limit of {limit}."),
            too_close=marked("It may be {doubt} more or less; the limit is {limit}."),
            outside=marked("That is over the limit of {limit}."),
        ),
        Figure(
            name="largest_step_mm",
            reads=("seam_step",),
            axis="Largest step",
            label="Seam: largest step",
            short="step",
            ease=1,
            within=marked("The largest step at a join is {value}; up to {limit} is fine."),
            too_close=marked(
                "The largest step at a join is {value}, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("The largest step at a join is {value}; the limit is {limit}."),
        ),
    ),
    principal="open_fraction",
    picture=picture,
    say=say,
    advise=advise,
    praise=praise,
    settled_by="read the open part and the step with a calliper",
    touched_by=frozenset({"seam crack", "base crack", "dart crack", "rim crack", "dunt"}),
    is_mendable=True,
)
