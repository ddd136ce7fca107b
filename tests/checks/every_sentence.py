"""Every sentence that the site can say of a check or of an outcome, by case, in each language."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rubrics.checks.advice import advised, on_the_piece
from rubrics.checks.register import checks
from rubrics.craft.results import OUTSIDE, TOO_CLOSE, WITHIN
from rubrics.families.languages import language
from rubrics.reports.family import CameOut
from rubrics.reports.language import ENGLISH, Language, said, speaking
from rubrics.reports.outcomes import KINDS, SOUND, lesson_of, outcome_said
from rubrics.reports.sentences import phrase, sentence
from rubrics.reports.step_choice import StepSource, step_said
from rubrics.reports.wording import EIGHTHS
from studio.ware.condition import DRY, FIRED, SOFT
from studio.ware.stages import STAGES
from tests.reports.examples import criterion, facts_of

LANGUAGES: tuple[Language, ...] = (ENGLISH, language("es"))
VERDICTS = (WITHIN, TOO_CLOSE, OUTSIDE)
KINDS_OF_CUP = ("sound", "middling", "poor")

UNJUDGED = {"judged": [], "verdict": None}
MISSED = {"name": "height", "planned_wet_mm": 108.0}

# What the three cups do not show: (check, what it is, facts that differ).
MORE = (
    ("wall_evenness", "no side noted", {"stations": "without places"}),
    ("wall_evenness", "all alike", UNJUDGED | {"stations": "alike"}),
    ("wall_evenness", "at its planned thickness", {"planned_mm": 12.0, "plan_match_mm": -3.0}),
    ("wall_evenness", "thick by the seam", {"thick_side_deg": 180.0, "thick_amplitude_mm": 3.0}),
    ("wall_evenness", "thicker up", {"foot_to_rim_mm_per_10mm": 1.0}),
    ("rim_level", "no height to spare", {"planned_height_mm": 120.0}),
    ("rim_level", "meant to be drawn out", {"rim_meant": "drawn"}),
    ("rim_level", "tilt and waves", {"cause": "both"}),
    ("seam_join", "nobody looked", UNJUDGED | {"joins": [], "through": False}),
    ("handle_alignment", "lean to the left", {"lean_deg": -9.0}),
    ("handle_alignment", "no lean read", {"lean_deg": None}),
    ("handle_alignment", "tight", {"finger_room_mm": -2.5, "opening_short_mm": 2.5}),
    ("handle_alignment", "tight", {"opening_short_mm": 2.5, "opening_source": "expected"}),
    ("handle_alignment", "one finger", {"fingers": 1}),
    ("shrinkage", "no plan", UNJUDGED | {"planned_shrinkage": None}),
    ("shrinkage", "one size stands out", {"stands_out": "rim_diameter"}),
    *(
        (
            "shrinkage",
            f"making {making:+g}, clay {clay:+g}",
            {"dimensions": [MISSED | {"making_mm": making, "clay_mm": clay}], "stands_out": None},
        )
        for making, clay in (
            *((6.1, 0.0), (0.3, 2.0), (-0.3, -2.0), (3.0, 2.0)),
            *((-4.0, 2.0), (-2.0, 4.0), (2.0, -4.0)),
        )
    ),
    ("squared_foot", "diagonals alone", UNJUDGED | {"sides_mm": []}),
    ("squared_foot", "rock alone", UNJUDGED | {"sides_mm": [], "diagonal_difference_mm": None}),
    (
        "squared_foot",
        "read in part",
        UNJUDGED | {"sides_mm": [], "diagonal_difference_mm": None, "rock_mm": None},
    ),
    ("capacity", "no plan", UNJUDGED | {"planned_ml": None}),
    ("capacity", "before the kiln", {"stage": "leather-hard"}),
    (
        "capacity",
        "before the kiln, no plan",
        UNJUDGED | {"stage": "leather-hard", "planned_ml": None},
    ),
    ("capacity", "tall and large", {"planned_height_mm": 50.0, "difference_ml": 60.0}),
)


def _changed(facts: dict, changes: dict) -> dict:
    stations = facts.get("stations")
    if changes.get("stations") == "without places":
        changes = {"stations": [each | {"azimuth_deg": None} for each in stations]}
        changes |= {"thinnest": None, "thickest": None}
    elif changes.get("stations") == "alike":
        changes = UNJUDGED | {"stations": [each | {"value_mm": 6.0} for each in stations]}
        changes |= {"thinnest": None, "thickest": None, "spread_mm": 0.0}
    if "dimensions" in changes:
        (one,) = changes["dimensions"]
        one = one | {"miss_mm": one["making_mm"] + one["clay_mm"]}
        changes = changes | {"dimensions": [one]}
    return facts | changes


def _limit(size: float, verdict: str) -> float:
    """A round limit that a figure is within, near to, or over."""
    step = 0.005 if size < 0.1 else 0.5
    share = {WITHIN: 1.5, TOO_CLOSE: 1.0, OUTSIDE: 0.6}[verdict]
    return max(step, math.ceil(size * share / step) * step - (0 if verdict == WITHIN else step))


def cases() -> Iterator[tuple[str, str, dict]]:
    """Check, what the case is, and its facts: each figure at each verdict, and more."""
    for name, check in checks().items():
        for kind in KINDS_OF_CUP:
            yield name, f"the {kind} cup", facts_of(kind)[name]
        for figure in check.figures:
            for verdict in VERDICTS:
                facts = facts_of("sound" if verdict == WITHIN else "poor")[name]
                value = facts.get(figure.name)
                if value is None or not figure.label:
                    continue
                value = value or (0.4 if figure.name.endswith(("_mm", "_deg")) else 0.004)
                judged = {"figure": figure.name, "value": value, "u": abs(value) / 8}
                judged |= {"limit": _limit(abs(value), verdict), "verdict": verdict, "graded": True}
                told = facts | {figure.name: value, "judged": [judged], "verdict": verdict}
                yield name, f"{figure.axis}: {verdict}", told
                if verdict == OUTSIDE:
                    ungraded = told | {"judged": [judged | {"graded": False}]}
                    yield name, f"{figure.axis}: {verdict}, not graded", ungraded
    for name, what, changes in MORE:
        yield name, what, _changed(facts_of("poor")[name], changes)


def of_a_check(name: str, facts: dict) -> Iterator[tuple[str, str]]:
    """What is said of one case, and in what place: (place, words)."""
    check = checks()[name]
    yield "found", sentence(name, facts)
    yield "in a few words", phrase(name, facts)
    judged = min(
        facts["judged"], default=None, key=lambda each: VERDICTS[::-1].index(each["verdict"])
    )
    if judged is None:
        return
    if judged["verdict"] == WITHIN:
        yield "praise", check.praise(facts)
        return
    for clay in (SOFT, DRY):
        yield f"do, while {clay}", on_the_piece(check, facts | {"clay": clay}, judged)
    yield "do, once fired", advised(check, facts | {"clay": FIRED}, judged)


def of_outcomes() -> Iterator[tuple[str, str]]:
    """What is said of each outcome, for the family and as a next step."""
    yield SOUND, outcome_said(CameOut(kind=SOUND, stage="glazed", doing=""))
    for number, kind in enumerate(KINDS):
        stage = STAGES[number % len(STAGES)]
        for doing in ("craft", "kiln", "unclear"):
            yield f"{kind}, {doing}", outcome_said(CameOut(kind=kind, stage=stage, doing=doing))
        yield f"{kind}, lost", outcome_said(CameOut(kind=kind, stage=stage, doing="", lost=True))
        if lesson_of(kind):
            yield f"{kind}, next step", step_said({}, StepSource("outcome", kind))


def of_steps() -> Iterator[tuple[str, str]]:
    """Next steps that come from no figure."""
    seen = criterion("F", "Surface", "10", level=2, above="There is a clear place to look at.")
    yield "judged by eye", step_said({"criteria": [seen]}, StepSource("criterion", "F"))
    yield "all at the highest level", step_said({}, StepSource("all high"))


def of_places() -> Iterator[tuple[str, str]]:
    """The names of places round a piece."""
    for azimuth, words in zip(range(0, 360, 45), EIGHTHS, strict=True):
        yield f"{azimuth}°", said(words)


def written_out() -> str:
    """All of it as one text: each line of English with its translations below."""
    lines: list[str] = []
    title = ""
    for name, what, facts in cases():
        if name != title:
            lines += ["", "=" * 80, checks()[name].title, "=" * 80]
            title = name
        lines += ["", f"-- {what}", *_in_each_language(lambda n=name, f=facts: of_a_check(n, f))]
    for heading, say in (
        ("What happened to a piece", of_outcomes),
        ("Other next steps", of_steps),
        ("Places", of_places),
    ):
        lines += ["", "=" * 80, heading, "=" * 80, *_in_each_language(say)]
    return "\n".join(lines) + "\n"


def _in_each_language(say) -> Iterator[str]:
    told = []
    for spoken in LANGUAGES:
        with speaking(spoken):
            told.append(list(say()))
    for parts in zip(*told, strict=True):
        if parts[0][1]:
            yield f"   {parts[0][0]}:"
            yield from (
                f"      {spoken.code}  {words}"
                for spoken, (_, words) in zip(LANGUAGES, parts, strict=True)
            )
