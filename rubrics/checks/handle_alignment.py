"""The handle: which way it leans or turns, where it sits, and whether fingers fit."""

from __future__ import annotations

from rubrics.craft import handle
from rubrics.craft.results import HandleAlignment
from rubrics.reports.drawings.handle import picture
from rubrics.reports.wording import decisive, expanded, quantity

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import marked, needs_work, said


def say(facts: Facts) -> Saying:
    """Say a result of ``handle_alignment``."""
    return Saying(
        what=_what(facts),
        why=_fingers(facts),
        phrase=_phrase(facts, decisive(facts)),
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
    return "" if twist is None else said("The handle is twisted by {twist}.", twist=_deg(twist))


def _place(facts: Facts) -> str:
    off = facts.get("placement_deg")
    if off is None:
        return ""
    return said("The handle sits {off} from its planned place.", off=_deg(off))


def _fingers(facts: Facts) -> str:
    """Whether the planned fingers fit, where the limit's own sentence does not say it."""
    room, fingers = facts.get("finger_room_mm"), facts.get("fingers")
    short = facts.get("opening_short_mm")
    judged = decisive(facts)
    if room is None or not fingers or (judged and judged["figure"] == "opening_short_mm"):
        return ""
    if short or room < 0:
        lack = quantity("_mm", short or -room)
        if facts.get("opening_source") == "expected":
            return said("When glazed, the opening would be {lack} too small.", lack=lack)
        return said("The opening is {lack} too small for the fingers.", lack=lack)
    if fingers == 1:
        return said("There is room for the planned finger.")
    return said("There is room for the planned {fingers} fingers.", fingers=fingers)


_NOW = {
    "twist_deg": marked(
        "Turn the handle until it points straight out, then press both joints again."
    ),
    "placement_deg": marked(
        "Cut the handle off at both joints, move it to its mark, score, slip and join it again."
    ),
    "opening_short_mm": marked(
        "Ease the handle outwards with a wet finger until the planned fingers pass with room to "
        "spare; press both joints."
    ),
}
_NEXT_TIME = {
    "twist_deg": marked(
        "Next time, look straight down on the handle and turn it until it points out."
    ),
    "placement_deg": marked("Next time, mark the handle's place on the rim before you score."),
    "lean_deg": marked("Next time, draw an upright line on the wall and set the handle on it."),
    "opening_short_mm": marked(
        "Next time, pull the handle longer and try it with your fingers before you join it: the "
        "opening shrinks with the clay."
    ),
}
_LEFT = marked("Move the top of the handle to the left until it is upright; press both joints.")
_RIGHT = marked("Move the top of the handle to the right until it is upright; press both joints.")


def advise(_facts: Facts, judged: Facts | None) -> Advice:
    """How to set the handle right, now or on the next piece."""
    figure = judged["figure"] if judged else "lean_deg"
    value = judged["value"] if judged else 0.0
    return Advice(
        soft=said(_NOW.get(figure, _LEFT if value > 0 else _RIGHT)),
        next_time=said(_NEXT_TIME.get(figure, _NEXT_TIME["lean_deg"])),
    )


def praise(facts: Facts) -> str:
    """What was seen of a handle that stands as it should."""
    lean, room = facts.get("lean_deg"), facts.get("finger_room_mm")
    if lean is None or facts.get("opening_short_mm") or (room is not None and room < 0):
        return ""
    if room is None or not facts.get("fingers"):
        return said("The handle stands upright within {lean}.", lean=_deg(lean))
    return said("The handle stands upright within {lean}, and the fingers pass.", lean=_deg(lean))


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
    if figure == "opening_short_mm":
        return said("opening {short} too small", short=quantity("_mm", value))
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
            name="opening_short_mm",
            reads=("handle_opening",),
            axis="Opening too small by",
            label="Handle: opening too small for the fingers by",
            short="tight by",
            is_planned=True,
            only_side="low",
            is_lack=True,
            ease=2,
            within=marked(
                "The opening is {value} too small for the fingers; up to {limit} may pass."
            ),
            too_close=marked(
                "The opening is {value} too small for the fingers, give or take {doubt}; "
                "the limit is {limit}."
            ),
            outside=marked(
                "The opening is {value} too small for the fingers; the limit is {limit}."
            ),
        ),
        Figure(
            name="lean_deg",
            reads=("handle_top", "handle_bottom"),
            axis="Lean",
            label="Handle: lean",
            short="lean",
            signed=True,
            ease=1,
            within=marked("That is within the limit of {limit}."),
            too_close=marked("The lean is {value}, give or take {doubt}; the limit is {limit}."),
            outside=marked("That is over the limit of {limit}."),
        ),
        Figure(
            name="twist_deg",
            reads=("handle_twist",),
            axis="Twist",
            label="Handle: twist",
            short="twist",
            signed=True,
            ease=1,
            within=marked("The twist is {value}; up to {limit} is fine."),
            too_close=marked("The twist is {value}, give or take {doubt}; the limit is {limit}."),
            outside=marked("The twist is {value}; the limit is {limit}."),
        ),
        Figure(
            name="placement_deg",
            reads=("handle_top", "handle_bottom"),
            axis="Away from its place",
            label="Handle: away from its planned place",
            short="away",
            signed=True,
            is_planned=True,
            ease=1,
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
    praise=praise,
    settled_by="read both attachments again on a degree mat, and the angle with a protractor",
    touched_by=frozenset({"warp", "handle crack", "handle off"}),
    is_mendable=True,
)
