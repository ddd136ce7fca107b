"""Invented cups, read, checked and made facts: a sound one, a middling one and a poor one."""

from __future__ import annotations

from functools import cache

from rubrics.checks.compute import check_piece
from rubrics.checks.register import check_named, checks
from rubrics.craft.levels import Limit
from rubrics.craft.plan import STARTER_LIMITS, Plan
from rubrics.craft.readings import Reading
from rubrics.craft.results import Refused
from rubrics.reports.result_json import as_facts
from rubrics.reports.sentences import next_step, sentence, strong_point
from studio.ware.condition import condition

SEAM_DEG = 180.0

PLAN = Plan(
    limits={
        **{key: each for key, each in STARTER_LIMITS.items() if key != "rim_level.rise_deg"},
        "rim_level.rise_mm": Limit("rim_level.rise_mm", 2, 4, 6),
    }
)
"""A rubric that limits the rise of a rim in millimetres, as a teacher may."""

WALLS = {
    # three heights by azimuths 0, 90, 180, 270
    "sound": ((6.2, 6.1, 6.4, 6.2), (6.1, 6.0, 6.3, 6.1), (5.9, 5.9, 6.2, 6.0)),
    "middling": ((6.4, 6.8, 7.0, 6.2), (5.6, 6.4, 6.9, 5.7), (5.4, 6.0, 6.6, 5.5)),
    "poor": ((8.0, 9.4, 10.6, 8.1), (7.0, 8.2, 9.8, 7.2), (5.1, 6.1, 7.7, 5.4)),
}
RIMS = {
    "sound": (95.0, 95.5, 95.5, 95.5, 95.0, 95.0, 95.0, 95.0),
    "middling": (96.5, 97.0, 96.0, 95.5, 94.0, 93.5, 94.0, 95.5),
    "poor": (98.5, 96.0, 94.0, 96.5, 99.5, 96.0, 91.5, 95.0),
}
HANDLES = {
    "sound": (0.5, 74, 0, 26, 0),
    "middling": (5, 74, -3, 24, 5),
    "poor": (16, 73, -4, 25, 11),
}
SIZES = {
    "sound": {"height": (108, 105, 102, 95), "rim_diameter": (97, 94.5, 91, 85.5)},
    "middling": {"height": (106, 104, 100, 94), "rim_diameter": (96, 93, 90.5, 84)},
    "poor": {"height": (104, 102, 98, 93.5), "rim_diameter": (99, 97, 93, 89)},
}
FEET = {
    "sound": ((58, 58.5, 58, 58.5), (80, 80.5), (0, 0, 0.05, 0)),
    "middling": ((57, 59, 58, 60.5), (80, 83), (0, 0.2, 0, 0.4)),
    "poor": ((54, 60, 57, 63), (79, 86), (0, 1.2, 0, 0.9)),
}
WATER = {"sound": 288.0, "middling": 244.0, "poor": 352.0}
STAGES = ("wet", "leather-hard", "bone dry", "glazed")


def readings(kind: str) -> list[Reading]:
    leather, glazed = "leather-hard", "glazed"
    out = [
        Reading("wall_thickness", leather, value, 0.1, height_mm=z, azimuth_deg=90.0 * k)
        for z, row in zip((15.0, 45.0, 80.0), WALLS[kind], strict=True)
        for k, value in enumerate(row)
    ]
    out += [
        Reading("rim_height", leather, value, 0.25, azimuth_deg=45.0 * k)
        for k, value in enumerate(RIMS[kind])
    ]
    out += _seams(kind)
    top_az, top_z, bottom_az, bottom_z, twist = HANDLES[kind]
    out += [
        Reading("handle_top", leather, top_z, 0.4, azimuth_deg=top_az % 360),
        Reading("handle_bottom", leather, bottom_z, 0.4, azimuth_deg=bottom_az % 360),
        Reading("handle_twist", leather, twist, 1.1),
        Reading("handle_opening", leather, 56.0, 0.4, name="height"),
        Reading("handle_opening", leather, 34.0, 0.4, name="depth"),
    ]
    for name, values in SIZES[kind].items():
        out += [
            Reading("dimension", stage, value, 0.3, name=name)
            for stage, value in zip(STAGES, values, strict=True)
        ]
    sides, diagonals, gaps = FEET[kind]
    out += [Reading("foot_side", glazed, v, 0.3, name=str(i)) for i, v in enumerate(sides, 1)]
    out += [
        Reading("foot_diagonal", glazed, v, 0.3, name=str(i)) for i, v in enumerate(diagonals, 1)
    ]
    out += [Reading("foot_gap", glazed, v, 0.05, name=str(i)) for i, v in enumerate(gaps, 1)]
    return [*out, Reading("water_mass", glazed, WATER[kind], 2.0, name="brim")]


def _seams(kind: str) -> list[Reading]:
    leather = "leather-hard"
    out = [
        Reading("seam_length", leather, 102.0, 0.4, name="seam", azimuth_deg=SEAM_DEG),
        *(Reading("seam_length", leather, 34.0, 0.4, name=f"dart{k}") for k in (1, 2, 3, 4)),
        Reading("seam_step", leather, 0.3, 0.1, name="seam", height_mm=50.0),
    ]
    if kind == "middling":
        out += [
            Reading("seam_open", leather, 4.0, 0.4, name="dart2", height_mm=12.0),
            Reading("seam_step", leather, 1.4, 0.1, name="seam", height_mm=84.0),
        ]
    if kind == "poor":
        out += [
            Reading("seam_open", leather, 14.0, 0.4, name="seam", height_mm=60.0),
            Reading("seam_through", leather, 9.0, 0.4, name="dart3", height_mm=8.0),
            Reading("seam_step", leather, 1.8, 0.1, name="seam", height_mm=20.0),
        ]
    else:
        out.append(Reading("seam_open", leather, 0.0, 0.3, name="seam", height_mm=0.0))
    return out


@cache
def facts_of(kind: str) -> dict[str, dict]:
    """Facts of every check of one cup, with the ladder's other stages."""
    every = readings(kind)
    plan = PLAN
    found = check_piece(every, plan)
    missing = sorted(set(checks()) - set(found))
    assert not missing, f"`readings` here gives nothing to the checks {missing}: add some."
    ladder = [check_piece(every, plan, stage).get("shrinkage") for stage in STAGES[1:]]
    rung = check_named("shrinkage").rung
    rungs = [rung(result) for result in ladder if result and not isinstance(result, Refused)]
    return {
        name: as_facts(
            result,
            seam_azimuth_deg=SEAM_DEG,
            clay=condition(result.stage),
            rungs=rungs if name == "shrinkage" else (),
        )
        for name, result in found.items()
    }


DESCRIPTORS = {
    4: "Nothing open, steps of 0.5 mm at most, the inside clean.",
    3: "A hairline of up to 5 mm, steps of up to 1.5 mm.",
    2: "Open for 6 to 12 mm, or marks left where the joins were closed.",
    1: "Open for more than 12 mm, open right through, or it leaks.",
}
LEVEL_NAMES = {4: "Extending", 3: "Secure", 2: "Developing", 1: "Starting"}
CRITERIA = (
    ("A", "Plan and idea", "10", "design", ()),
    ("B", "Wall", "15", "craft", ("wall_evenness",)),
    ("C", "Seam, darts, base", "20", "craft", ("seam_join",)),
    ("D", "Rim and foot", "15", "craft", ("rim_level", "squared_foot")),
    ("E", "Handle", "15", "craft", ("handle_alignment",)),
    ("F", "Texture and glaze", "15", "design", ()),
    ("G", "Habits and reflection", "10", "habits", ()),
)


def criterion(letter: str, name: str, weight: str, **kind) -> dict:
    level = kind.pop("level", 3)
    return {
        "letter": letter,
        "name": name,
        "group": "craft",
        "weight": weight,
        "level": level,
        "level_name": LEVEL_NAMES.get(level, ""),
        "points": {4: "100", 3: "85", 2: "70", 1: "55"}.get(level),
        "descriptor": DESCRIPTORS.get(level, ""),
        "excused": False,
        "reason": "",
        "note": "",
        "suggested": None,
        "suggested_because": "",
        "checks": [],
    } | kind


def shown_of(kind: str = "middling", **changes) -> dict:
    """A published assessment of an invented student."""
    rows = [
        criterion(letter, name, weight, group=group, checks=list(checks), level=level)
        for (letter, name, weight, group, checks), level in zip(
            CRITERIA, (3, 3, 3, 4, 3, 4, 3), strict=True
        )
    ]
    rows[4] |= {"suggested": 2, "reason": "Mended since it was measured.", "level": 3}
    rows[5] |= {
        "excused": True,
        "level": None,
        "level_name": "",
        "descriptor": "",
        "points": None,
        "reason": "The kiln's doing, not yours: a neighbour's glaze dripped on it.",
    }
    checks = {
        name: {
            "facts": facts,
            "sentence": sentence(name, facts, reader="student"),
            "next_step": next_step(name, facts),
        }
        for name, facts in facts_of(kind).items()
    }
    return {
        "format": 1,
        "piece": "K3-07",
        "project": "Lidless slab cup with a squared foot",
        "section": "Bell 4",
        "student": "Şeyma Nguyễn-Łukasz",
        "date": "2026-03-14",
        "rubric": "Slab cup",
        "rubric_version": 2,
        "criteria": rows,
        "percent": "87",
        "grade": "B",
        "weight_counted": "85",
        "weight_total": "100",
        "strong": strong_point(rows, checks),
        "next_steps": ["Before the handle goes on, turn the cup and check the rim with a square."],
        "words": "A calm, well-balanced cup. The foot stands firm and the rim invites a drink. "
        "I liked how you closed the darts before the wall stiffened.",
        "checks": checks,
        "photos": [],
    } | changes
