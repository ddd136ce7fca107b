"""The wall: where it is thin, where it is thick, and what pattern that makes."""

from __future__ import annotations

from rubrics.craft import wall
from rubrics.craft.results import WITHIN, WallEvenness
from rubrics.reports.drawings.wall import picture
from rubrics.reports.wording import (
    BY_THE_SEAM,
    EIGHTH_DEG,
    decisive,
    expanded,
    number,
    quantity,
    wrap_half_turn,
)

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import marked, needs_work, place, said, with_view

OFF_PLAN_SHARE = 0.1
"""A mean this share away from the plan is worth a word (our proposal)."""

THICKER_MM = 0.5
"""A place this much over the planned thickness may be scraped; less is a reading's doubt on soft
clay (common practice, no source). [mm]"""

FOOT_THIRD, RIM_THIRD = 1 / 3, 2 / 3
HEIGHT_STEP_MM = 10.0

SPREADS = ("spread_mm", "scaled_spread_mm")


def say(facts: Facts) -> Saying:
    """Say a result of ``wall_evenness``."""
    judged = decisive(facts)
    figure = judged["figure"] if judged else ""
    what = with_view(_what(facts))
    if figure == "plan_match_mm":
        return Saying(what=f"{what} {_off(facts)}", phrase=_phrase(facts))
    pattern = _pattern(facts) if needs_work(facts) and figure in SPREADS else ""
    searched = said(_SEARCHED) if facts.get("searched") else ""
    why = " ".join(filter(None, (searched, _why(facts, pattern), _against_plan(facts))))
    return Saying(what=what, why=why, phrase=_phrase(facts))


_SEARCHED = marked(
    "The two places were looked for all the way round, which counts as twelve readings."
)


def _mm(value: float) -> str:
    return quantity("_mm", value)


def _ends(facts: Facts) -> tuple[Facts, Facts]:
    stations = facts["stations"]
    thin = facts.get("thinnest") or min(stations, key=lambda s: s["value_mm"])
    thick = facts.get("thickest") or max(stations, key=lambda s: s["value_mm"])
    return thin, thick


def _what(facts: Facts) -> str:
    thin, thick = _ends(facts)
    if thin["value_mm"] == thick["value_mm"]:
        return said("Every reading of the wall is {mm}.", mm=_mm(thin["value_mm"]))
    named = {"thin": _mm(thin["value_mm"]), "thick": _mm(thick["value_mm"])}
    there, here = _where(facts, thin), _where(facts, thick)
    if there and here and there != here:
        return said(
            "The wall is {thin} at its thinnest ({there}) and {thick} at its thickest ({here}).",
            there=there,
            here=here,
            **named,
        )
    return said("The wall is {thin} at its thinnest and {thick} at its thickest.", **named)


def _where(facts: Facts, station: Facts) -> str:
    """Side and height of a station, as far as they are known and tell it from others."""
    parts = []
    if station["azimuth_deg"] is not None:
        parts.append(place(facts, station["azimuth_deg"]))
    heights = [s["height_mm"] for s in facts["stations"] if s["height_mm"] is not None]
    if station["height_mm"] is not None and max(heights) - min(heights) > HEIGHT_STEP_MM:
        share = (station["height_mm"] - min(heights)) / (max(heights) - min(heights))
        parts.append(_height(share))
    return ", ".join(parts)


def _height(share: float) -> str:
    if share < FOOT_THIRD:
        return said("near the foot")
    return said("near the rim") if share > RIM_THIRD else said("half way up")


def _pattern(facts: Facts) -> str:
    """What makes most of the spread, if it stands out of the readings' doubt."""
    heights = [s["height_mm"] for s in facts["stations"] if s["height_mm"] is not None]
    slope = facts.get("foot_to_rim_mm_per_10mm") or 0.0
    amplitude = facts.get("thick_amplitude_mm") or 0.0
    run = (max(heights) - min(heights)) / HEIGHT_STEP_MM if heights else 0.0
    by_height, by_side = abs(slope) * run, 2 * amplitude
    told_height = abs(slope) > expanded(facts.get("u_foot_to_rim_mm_per_10mm"))
    told_side = amplitude > expanded(facts.get("u_thick_amplitude_mm"))
    if max(by_height, by_side) < facts["spread_mm"] / 2:
        return ""
    if told_side and by_side >= by_height and facts.get("thick_side_deg") is not None:
        return "side"
    if told_height and by_height > by_side:
        return "thinner up" if slope < 0 else "thicker up"
    return ""


def _thick_place(facts: Facts) -> str:
    """The thick side by the name of the thickest reading, where the two are neighbours."""
    side, thick = facts["thick_side_deg"], _ends(facts)[1]["azimuth_deg"]
    if thick is not None and abs(wrap_half_turn(side - thick)) <= EIGHTH_DEG:
        return place(facts, thick)
    return place(facts, side)


def _why(facts: Facts, pattern: str) -> str:
    if pattern == "side":
        return said(
            "Most of it comes from one side: the wall is thickest {where}.",
            where=_thick_place(facts),
        )
    if pattern == "thinner up":
        return said("Most of it comes from foot to rim: the wall gets thinner on its way up.")
    if pattern == "thicker up":
        return said("Most of it comes from foot to rim: the wall gets thicker on its way up.")
    return ""


def _against_plan(facts: Facts) -> str:
    off, planned = facts.get("plan_match_mm"), facts.get("planned_mm")
    if off is None or not planned or abs(off) < OFF_PLAN_SHARE * planned:
        return ""
    if abs(off) <= expanded(facts.get("u_plan_match_mm")):
        return ""
    return _off(facts)


def _off(facts: Facts) -> str:
    """How far the mean is from the planned thickness, and on which side."""
    off, planned = facts["plan_match_mm"], facts.get("planned_mm") or 0.0
    named = {"off": _mm(abs(off)), "planned": _mm(planned)}
    if off > 0:
        return said("On average it is {off} thicker than the planned {planned}.", **named)
    return said("On average it is {off} thinner than the planned {planned}.", **named)


_LEAVE_THIN = marked(
    "The wall is too thin {where}, and clay cannot be put back. Leave it, and lift the piece by "
    "its foot."
)
_THIN_AND_DRY = marked(
    "It cannot be thickened now. Lift it by the foot, and give it a safe place in the kiln."
)
_THICK_AND_DRY = marked("Tell your teacher before it is loaded: a thick place has to dry longer.")


def advise(facts: Facts, judged: Facts | None) -> Advice:
    """Where to scrape while the clay is soft, what to leave alone, and what evens the next wall."""
    figure = judged["figure"] if judged else "spread_mm"
    thin, thick = _ends(facts)
    if figure == "too_thin_mm":
        return Advice(
            soft=_leave_thin(facts, thin),
            dry=said(_THIN_AND_DRY),
            next_time=said(
                "Next time, measure while you thin the wall, and stop before it gets so thin."
            ),
        )
    if figure == "too_thick_mm":
        return Advice(
            soft=_scrape_at(facts, thick),
            dry=said(_THICK_AND_DRY),
            next_time=said(
                "Next time, thin the thick place while it is leather-hard: it dries slowly and "
                "can burst in the kiln."
            ),
        )
    if figure == "plan_match_mm":
        return _off_plan(judged["value"])
    pattern = _pattern(facts)
    return Advice(soft=_scrape(facts, pattern), next_time=_next_time(facts, pattern))


def _off_plan(off: float) -> Advice:
    if off > 0:
        return Advice(
            soft=said("Scrape the whole wall a little at a time, and measure again."),
            next_time=said(
                "Next time, roll until the pin runs on both sticks, and measure the slab before "
                "you cut it."
            ),
        )
    return Advice(
        next_time=said("Next time, roll on thicker sticks, and measure the slab before you cut it.")
    )


def _alike(facts: Facts) -> bool:
    thin, thick = _ends(facts)
    return thin["value_mm"] == thick["value_mm"]


def _leave_thin(facts: Facts, thin: Facts) -> str:
    if _alike(facts):
        return said(
            "The wall is too thin all over, and clay cannot be put back. Leave it, and lift the "
            "piece by its foot."
        )
    where = _where(facts, thin)
    if where:
        return said(_LEAVE_THIN, where=where)
    return said(
        "The wall is too thin in one place, and clay cannot be put back. Leave it, and lift the "
        "piece by its foot."
    )


def _may_be_thinned(facts: Facts, thick: Facts) -> bool:
    """A wall at its planned thickness is not thinned because another place is too thin."""
    planned = facts.get("planned_mm")
    return planned is None or thick["value_mm"] > planned + THICKER_MM


def _scrape(facts: Facts, pattern: str) -> str:
    thin, thick = _ends(facts)
    if not _may_be_thinned(facts, thick):
        return _leave_thin(facts, thin)
    if pattern == "thinner up":
        return said("Scrape the lower wall a little at a time, leave the rim, and measure again.")
    if pattern == "side":
        return said(_SCRAPE, where=_thick_place(facts))
    return _scrape_at(facts, thick)


_SCRAPE = marked("Scrape the wall {where} a little at a time, and measure again.")


def _scrape_at(facts: Facts, thick: Facts) -> str:
    if thick["azimuth_deg"] is None:
        return said("Scrape the thickest place a little at a time, and measure again.")
    return said(_SCRAPE, where=place(facts, thick["azimuth_deg"]))


def _next_time(facts: Facts, pattern: str) -> str:
    if pattern == "side" and _thick_place(facts) == said(BY_THE_SEAM):
        return said("Next time, press the seam down until it is as thick as the wall beside it.")
    if pattern == "thinner up":
        return said("Next time, press the rim less, so that it stays as thick as the foot.")
    if pattern == "thicker up":
        return said("Next time, smooth the rim without piling up clay there, and measure it.")
    return said(
        "Next time, roll the slab on both sticks, turn it over, and measure four places before "
        "you cut."
    )


def praise(facts: Facts) -> str:
    """What was seen of a wall within its limits."""
    thin, thick = _ends(facts)
    if thin["value_mm"] == thick["value_mm"]:
        return said("The wall is even: every reading is {mm}.", mm=_mm(thin["value_mm"]))
    named = {"thin": number(thin["value_mm"], 1), "thick": _mm(thick["value_mm"])}
    if thin["azimuth_deg"] is None:
        return said("The wall stays between {thin} and {thick} wherever it was read.", **named)
    return said("The wall stays between {thin} and {thick} all the way round.", **named)


def _phrase(facts: Facts) -> str:
    thin, thick = _ends(facts)
    judged = decisive(facts)
    if judged and judged["verdict"] != WITHIN and judged["figure"] == "too_thin_mm":
        words = said("only {thin} thick", thin=_mm(thin["value_mm"]))
        return words if _alike(facts) else _at(words, facts, thin)
    if judged and judged["verdict"] != WITHIN and judged["figure"] == "too_thick_mm":
        return _at(said("{thick} thick", thick=_mm(thick["value_mm"])), facts, thick)
    if thin["value_mm"] == thick["value_mm"]:
        return said("{mm} everywhere", mm=_mm(thin["value_mm"]))
    named = {"thin": number(thin["value_mm"], 1), "thick": _mm(thick["value_mm"])}
    if thin["azimuth_deg"] is None:
        return said("{thin} to {thick}", **named)
    return said("{thin} to {thick}, thin {where}", where=place(facts, thin["azimuth_deg"]), **named)


def _at(words: str, facts: Facts, station: Facts) -> str:
    """A phrase with the side it speaks of, where the side is known."""
    azimuth = station["azimuth_deg"]
    return words if azimuth is None else f"{words} {place(facts, azimuth)}"


CHECK = Check(
    name=WallEvenness.check,
    place=1,
    part="the wall",
    title="The wall, cut open",
    result=WallEvenness,
    compute=wall.from_sheet,
    needs=wall.QUANTITIES,
    reads=wall.QUANTITIES,
    figures=(
        Figure(
            name="scaled_spread_mm",
            axis="Spread, scaled to twelve readings",
            label="Wall: thickest minus thinnest, on the scale of 12 readings",
            short="spread",
            ease=3,
            within=marked(
                "Scaled to twelve readings the difference is {value}; up to {limit} is fine."
            ),
            too_close=marked(
                "Scaled to twelve readings the difference is {value}, give or take {doubt}; "
                "the limit is {limit}."
            ),
            outside=marked(
                "Scaled to twelve readings the difference is {value}; the limit is {limit}."
            ),
        ),
        Figure(
            name="too_thin_mm",
            axis="Thinnest place, too thin by",
            label="Wall: thinnest place under what can be trusted",
            short="thin by",
            is_lack=True,
            ease=2,
            within=marked(
                "The thinnest place is {value} under what can be trusted; up to {limit} may pass."
            ),
            too_close=marked(
                "The thinnest place is {value} under what can be trusted, give or take {doubt}; "
                "the limit is {limit}."
            ),
            outside=marked(
                "The thinnest place is {value} under what can be trusted; the limit is {limit}."
            ),
        ),
        Figure(
            name="too_thick_mm",
            axis="Thickest place, too thick by",
            label="Wall: thickest place over what a wall should be",
            short="thick by",
            is_lack=True,
            ease=2,
            within=marked(
                "The thickest place is {value} over what a wall should be; up to {limit} may pass."
            ),
            too_close=marked(
                "The thickest place is {value} over what a wall should be, give or take {doubt}; "
                "the limit is {limit}."
            ),
            outside=marked(
                "The thickest place is {value} over what a wall should be; the limit is {limit}."
            ),
        ),
        Figure(
            name="spread_mm",
            axis="Thickest minus thinnest",
            label="Wall: thickest minus thinnest",
            short="spread",
            ease=3,
            within=marked("The difference is {value}; up to {limit} is fine."),
            too_close=marked(
                "The difference is {value}, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("The difference is {value}; the limit is {limit}."),
        ),
        Figure(
            name="plan_match_mm",
            axis="Mean minus plan",
            label="Wall: mean away from the plan",
            short="off plan",
            signed=True,
            is_planned=True,
            ease=2,
            within=marked("That is within the limit of {limit}."),
            too_close=marked("It may be {doubt} more or less; the limit is {limit}."),
            outside=marked("That is over the limit of {limit}."),
        ),
    ),
    principal="spread_mm",
    picture=picture,
    say=say,
    advise=advise,
    praise=praise,
    settled_by="read the wall at twelve places with a calliper, on fired clay if it can wait",
    touched_by=frozenset({"bloat"}),
    is_mendable=True,
)
