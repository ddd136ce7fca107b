"""The rim: how much it rises, whether it tilts or waves, where to take clay off."""

from __future__ import annotations

from rubrics.craft import rim
from rubrics.craft.results import OUTSIDE, WITHIN, RimLevel
from rubrics.reports.drawings.rim import picture
from rubrics.reports.wording import decisive, expanded, quantity

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import marked, needs_work, place, said, with_view

SPARE_SHARE = 0.05
"""A piece may end this share of its planned height lower; more is another cup (our proposal)."""

DRAWN = "drawn"
"""What ``rim_meant`` says of a rim that is meant to be drawn out to a lip or to wander."""


def say(facts: Facts) -> Saying:
    """Say a result of ``rim_level``."""
    return Saying(
        what=with_view(_what(facts)),
        why=_why(facts),
        phrase=_phrase(facts),
    )


def _mm(value: float) -> str:
    return quantity("_mm", value)


def _ends(facts: Facts) -> tuple[str, str]:
    """Where the highest and the lowest reading stand."""
    low = min(facts["stations"], key=lambda s: s["value_mm"])
    high = max(facts["stations"], key=lambda s: s["value_mm"])
    return place(facts, high["azimuth_deg"]), place(facts, low["azimuth_deg"])


def _what(facts: Facts) -> str:
    rise = _mm(facts["rise_mm"])
    if facts.get("cause") == "none":
        return said("The rim is level as far as the readings tell: it rises by {rise}.", rise=rise)
    high, low = _ends(facts)
    if high == low:
        return said(
            "The rim is highest {high}, {rise} above its lowest point.", high=high, rise=rise
        )
    return said(
        "The rim is highest {high}, {rise} above its lowest point {low}.",
        high=high,
        rise=rise,
        low=low,
    )


_TWO_HIDDEN = marked(
    "The places that were read would not show two highs between them; the eye would."
)
_THREE_HIDDEN = marked(
    "The places that were read would not show three highs between them; the eye would."
)


def _hidden(facts: Facts) -> str:
    """What the places that were read can miss, unless enough was seen."""
    hidden = facts.get("hidden_waves") or ()
    if not hidden or facts.get("verdict") == OUTSIDE:
        return ""
    return said(_TWO_HIDDEN if min(hidden) == 2 else _THREE_HIDDEN)


def _why(facts: Facts) -> str:
    if facts.get("rim_meant") == DRAWN:
        return said("It is meant to be drawn out, so it is not levelled.")
    return " ".join(filter(None, (_cause(facts), _hidden(facts))))


def _cause(facts: Facts) -> str:
    judged = decisive(facts)
    if not needs_work(facts) or judged["figure"] == "out_of_round_mm":
        return ""
    cause = facts.get("cause")
    if cause == "tilt":
        return said("The rim tilts: the whole of it leans one way.")
    if cause == "waviness":
        return said("The rim waves: it goes up and down on its way round.")
    if cause == "both":
        return said("The rim leans one way, and it waves on its way round.")
    return ""


_SPONGE = marked(
    "Rub the high place down with a damp sponge, a little at a time. Never dry: "
    "the dust is harmful."
)
_TRUE_IT = marked("Next time, true the rim on a flat board while it is leather-hard.")


def advise(facts: Facts, judged: Facts | None) -> Advice:
    """Where to take clay off while it is soft; else to true the next rim in time."""
    if judged and judged["figure"] == "out_of_round_mm":
        return Advice(
            soft=said("Press the rim in gently at its two wide sides until both widths agree."),
            next_time=said("Next time, press the rim round again while it is leather-hard."),
        )
    if facts.get("rim_meant") == DRAWN:
        return Advice()
    return Advice(soft=_shave(facts), dry=said(_SPONGE), next_time=said(_TRUE_IT))


def _shave(facts: Facts) -> str:
    lowest = min(s["value_mm"] for s in facts["stations"])
    planned = facts.get("planned_height_mm")
    if planned is not None and lowest < planned * (1 - SPARE_SHARE):
        return said(
            "There is no height to spare: cut level it would be {low} high, and the plan says "
            "{planned}. Leave it as high as it is, and soften the edge.",
            low=_mm(lowest),
            planned=_mm(planned),
        )
    high, _ = _ends(facts)
    side = facts.get("high_side_deg")
    if facts.get("cause") == "tilt" and side is not None:
        return said(
            "Shave off up to {rise} {where}, less and less towards the low side, "
            "then smooth the rim with a damp chamois.",
            rise=_mm(facts["tilt_rise_mm"]),
            where=place(facts, side),
        )
    return said(
        "Shave the high places down to the lowest one, at most {rise} {where}, "
        "then smooth the rim with a damp chamois.",
        rise=_mm(facts["rise_mm"]),
        where=high,
    )


def praise(facts: Facts) -> str:
    """What was seen of a rim within its limits."""
    rise = _mm(facts["rise_mm"])
    if facts.get("hidden_waves"):
        return said("The rim stays level within {rise} wherever it was read.", rise=rise)
    return said("The rim stays level within {rise} all the way round.", rise=rise)


def _phrase(facts: Facts) -> str:
    judged = decisive(facts)
    if judged and judged["verdict"] != WITHIN and judged["figure"] == "out_of_round_mm":
        return said("oval by {apart}", apart=_mm(judged["value"]))
    if facts.get("cause") == "none":
        if facts.get("at_least"):
            return said("not told by so few places")
        doubt = expanded(facts.get("u_rise_mm"))
        return said("level, within {rise}", rise=_mm(max(facts["rise_mm"], doubt)))
    high, _ = _ends(facts)
    return said("rises {rise} {where}", rise=_mm(facts["rise_mm"]), where=high)


CHECK = Check(
    name=RimLevel.check,
    place=2,
    part="the rim",
    title="The rim, unrolled",
    result=RimLevel,
    compute=rim.from_sheet,
    needs=rim.QUANTITIES,
    reads=rim.QUANTITIES,
    figures=(
        Figure(
            name="rise_deg",
            axis="Rise across the rim",
            label="Rim: rise across its width",
            short="rise",
            ease=1,
            within=marked("Across the rim that is a slope of {value}; up to {limit} is fine."),
            too_close=marked(
                "Across the rim that is a slope of {value}, give or take {doubt}; "
                "the limit is {limit}."
            ),
            outside=marked("Across the rim that is a slope of {value}; the limit is {limit}."),
        ),
        Figure(
            name="out_of_round_mm",
            reads=("dimension:rim_diameter", "dimension:rim_diameter_2"),
            axis="Out of round",
            label="Rim: out of round",
            short="oval",
            ease=2,
            within=marked("The two widths of the rim differ by {value}; up to {limit} is fine."),
            too_close=marked(
                "The two widths of the rim differ by {value}, give or take {doubt}; "
                "the limit is {limit}."
            ),
            outside=marked("The two widths of the rim differ by {value}; the limit is {limit}."),
        ),
        Figure(
            name="rise_mm",
            axis="Highest minus lowest",
            label="Rim: highest minus lowest",
            short="rise",
            ease=1,
            within=marked("That is within the limit of {limit}."),
            too_close=marked("It may be {doubt} more or less; the limit is {limit}."),
            outside=marked("That is over the limit of {limit}."),
        ),
        Figure(
            name="tilt_deg",
            axis="Tilt",
            label="Rim: tilt",
            short="tilt",
            ease=1,
            within=marked("The tilt is {value}; up to {limit} is fine."),
            too_close=marked("The tilt is {value}, give or take {doubt}; the limit is {limit}."),
            outside=marked("The tilt is {value}; the limit is {limit}."),
        ),
        Figure(
            name="flatness_mm",
            axis="Waviness",
            label="Rim: waviness",
            short="wave",
            ease=1,
            within=marked("The waves are {value} high; up to {limit} is fine."),
            too_close=marked(
                "The waves are {value} high, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("The waves are {value} high; the limit is {limit}."),
        ),
    ),
    principal="rise_mm",
    picture=picture,
    say=say,
    advise=advise,
    praise=praise,
    settled_by="read the rim at eight places with a height gauge",
    touched_by=frozenset({"rim crack", "warp", "hit by shards", "shiver", "overfired", "chip"}),
    is_mendable=True,
    unlike_drawn=frozenset({"rise_mm", "rise_deg", "tilt_deg", "flatness_mm"}),
)
