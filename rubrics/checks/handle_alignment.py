"""The handle in words: which way it leans or turns, where it sits, and whether fingers fit."""

from __future__ import annotations

from rubrics.craft import handle
from rubrics.craft.results import HandleAlignment
from rubrics.reports.drawings.handle import picture
from rubrics.reports.wording import decisive, expanded, quantity

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import marked, needs_work, said


def say(facts: Facts) -> Saying:
    """Say a result of ``handle_alignment``."""
    judged = decisive(facts)
    return Saying(
        what=_what(facts),
        why=_fingers(facts),
        phrase=_phrase(facts, judged),
    )


def _deg(value: float) -> str:
    return quantity("_deg", abs(value))


def _told(facts: Facts, figure: str) -> bool:
    """Whether a figure stands out of its own doubt."""
    value = facts.get(figure)
    return value is not None and abs(value) > expanded(facts.get(f"u_{figure}"))


def _what(facts: Facts) -> str:
    lean = facts.get("lean_deg")
    if lean is None:
        return _twist(facts) or _place(facts) or said("The lean of the handle has not been read.")
    if not _told(facts, "lean_deg"):
        return said(
            "The handle stands upright as far as the readings tell: it leans {lean}.",
            lean=_deg(lean),
        )
    if lean > 0:
        return said("Facing the handle, its top leans {lean} to the right.", lean=_deg(lean))
    return said("Facing the handle, its top leans {lean} to the left.", lean=_deg(lean))


def _twist(facts: Facts) -> str:
    twist = facts.get("twist_deg")
    if twist is None:
        return ""
    return said("The handle is twisted by {twist}.", twist=_deg(twist))


def _place(facts: Facts) -> str:
    off = facts.get("placement_deg")
    if off is None:
        return ""
    return said("The handle sits {off} from its planned place.", off=_deg(off))


def _fingers(facts: Facts) -> str:
    room, fingers = facts.get("finger_room_mm"), facts.get("fingers")
    if room is None or not fingers:
        return ""
    named = {"room": quantity("_mm", abs(room)), "fingers": fingers}
    if room >= 0:
        if fingers == 1:
            return said("There is room for the planned finger.")
        return said("There is room for the planned {fingers} fingers.", **named)
    if facts.get("opening_source") == "expected":
        return said("When glazed, the opening would be {room} too low for the plan.", **named)
    return said("The opening is {room} too low for the plan.", **named)


_NOW = {
    "twist_deg": marked(
        "Turn the handle until it points straight out, then press both joints again."
    ),
    "placement_deg": marked(
        "If the joints are still soft, move the handle to its mark and join it again."
    ),
}
_NEXT_CUP = {
    "twist_deg": marked(
        "On your next cup, look straight down and turn the handle until it points out."
    ),
    "placement_deg": marked(
        "On your next cup, mark the handle's place on the rim before you score."
    ),
    "lean_deg": marked(
        "On your next cup, draw an upright line on the wall and set the handle on it."
    ),
}
_LEFT = marked("Move the top of the handle to the left until it is upright; press both joints.")
_RIGHT = marked("Move the top of the handle to the right until it is upright; press both joints.")


def advise(_facts: Facts, judged: Facts | None) -> Advice:
    """How to set the handle right, now or on the next cup."""
    figure = judged["figure"] if judged else "lean_deg"
    value = judged["value"] if judged else 0.0
    return Advice(
        soft=said(_NOW.get(figure, _LEFT if value > 0 else _RIGHT)),
        next_time=said(_NEXT_CUP.get(figure, _NEXT_CUP["lean_deg"])),
    )


def _phrase(facts: Facts, judged: Facts | None) -> str:
    if judged and needs_work(facts) and judged["figure"] != "lean_deg":
        return _phrase_of(judged["figure"], judged["value"])
    lean = facts.get("lean_deg")
    if lean is None:
        twist = facts.get("twist_deg")
        return said("lean not read") if twist is None else _phrase_of("twist_deg", twist)
    if not _told(facts, "lean_deg"):
        return said("upright, within {lean}", lean=_deg(expanded(facts.get("u_lean_deg"))))
    return _phrase_of("lean_deg", lean)


def _phrase_of(figure: str, value: float) -> str:
    if figure == "twist_deg":
        return said("twisted {twist}", twist=_deg(value))
    if figure == "placement_deg":
        return said("{off} from its place", off=_deg(value))
    if value > 0:
        return said("leans {lean} to the right", lean=_deg(value))
    return said("leans {lean} to the left", lean=_deg(value))


CHECK = Check(
    name=HandleAlignment.check,
    place=4,
    part="the handle",
    title="The handle",
    result=HandleAlignment,
    compute=handle.from_sheet,
    needs=handle.QUANTITIES,
    also=handle.ALSO,
    reads=(*handle.QUANTITIES, *handle.ALSO),
    figures=(
        Figure(
            name="lean_deg",
            axis="Lean",
            label="Handle: lean",
            short="lean",
            signed=True,
            within=marked("A lean of up to {limit} is fine."),
            too_close=marked("The lean is {value}, give or take {doubt}; the limit is {limit}."),
            outside=marked("The limit for the lean is {limit}."),
        ),
        Figure(
            name="twist_deg",
            axis="Twist",
            label="Handle: twist",
            short="twist",
            signed=True,
            within=marked("The twist is {value}; up to {limit} is fine."),
            too_close=marked("The twist is {value}, give or take {doubt}; the limit is {limit}."),
            outside=marked("The twist is {value}; the limit is {limit}."),
        ),
        Figure(
            name="placement_deg",
            axis="Away from its place",
            label="Handle: away from its planned place",
            short="away",
            signed=True,
            within=marked("It sits {value} from its planned place; up to {limit} is fine."),
            too_close=marked(
                "It sits {value} from its planned place, give or take {doubt}; "
                "the limit is {limit}."
            ),
            outside=marked("It sits {value} from its planned place; the limit is {limit}."),
        ),
    ),
    principal="lean_deg",
    picture=picture,
    say=say,
    advise=advise,
    touched_by=frozenset({"warp", "handle crack", "handle off"}),
    is_mendable=True,
)
