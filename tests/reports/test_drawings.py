"""Drawings: words that never touch, leave the sheet or shrink; marks where the facts put them."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

from rubrics.checks.register import checks, figure_of
from rubrics.checks.saying import is_nothing
from rubrics.craft.results import OUTSIDE, TOO_CLOSE, WITHIN, Refused
from rubrics.reports.drawings import NARROWEST, draw, glance
from rubrics.reports.drawings.interval import bar
from rubrics.reports.drawings.progress import ProgressPoint, progress
from rubrics.reports.layout import overlap, text_box
from rubrics.reports.palette import Role
from rubrics.reports.result_json import as_facts
from rubrics.reports.scene import SMALLEST_TEXT, Circle, Line, Rect, Text, bounds
from rubrics.reports.wording import with_doubt

from .examples import facts_of
from .strategies import facts as any_facts

KINDS = ("sound", "middling", "poor")
LINE_ROOM = 2.0
"""Half the widest line, beyond which a mark's centre line may not come near the edge. [unit]"""


def check_scene(scene):
    boxes = [(text, text_box(text)) for text in scene.texts()]
    for text, box in boxes:
        assert text.size >= SMALLEST_TEXT, text
        assert box[0] >= -0.01, text
        assert box[1] >= -0.01, text
        assert box[2] <= scene.width + 0.01, text
        assert box[3] <= scene.height + 0.01, text
    for i, (text, box) in enumerate(boxes):
        for other, other_box in boxes[i + 1 :]:
            assert not overlap(box, other_box), (text, other)
    for mark in scene.marks:
        if not isinstance(mark, Text):
            left, top, right, bottom = bounds(mark)
            assert all(map(math.isfinite, (left, top, right, bottom))), mark
            assert left >= -LINE_ROOM, mark
            assert top >= -LINE_ROOM, mark
            assert right <= scene.width + LINE_ROOM, mark
            assert bottom <= scene.height + LINE_ROOM, mark


def check_verdicts(check, scene, facts):
    """No figure is judged without its value, its limit and its verdict in words."""
    words = [text.words for text in scene.texts()]
    shown = [each for each in facts["judged"] if not is_nothing(checks()[check], each)]
    under = [w for w in words if w.startswith("limit ")]
    # The limit of a rim stands once more beside its drawing.
    assert len(under) - len(shown) in ((0, 1) if check == "rim_level" else (0,))
    for judged in shown:
        graded = "" if judged["graded"] else ", not graded"
        assert f"{judged['verdict']}{graded}" in words
        assert with_doubt(judged["figure"], judged["value"], judged["u"]) in words


@pytest.mark.parametrize("width", [NARROWEST, 320, 340, 480])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("check", tuple(checks()))
def test_words_of_a_usual_cup_hold_at_every_width(check, kind, width):
    check_scene(draw(check, facts_of(kind)[check], width=width))


@pytest.mark.parametrize("check", tuple(checks()))
@settings(max_examples=120, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_words_hold_whatever_was_read(check, data):
    facts = data.draw(any_facts(check))
    assume(facts is not None)
    scene = draw(check, facts, width=320)
    check_scene(scene)
    event(f"{check}: {'refused' if facts.get('refused') else facts.get('verdict')}")
    if not facts.get("refused"):
        check_verdicts(check, scene, facts)
    assert draw(check, json.loads(json.dumps(facts)), width=320) == scene
    small = glance(check, facts, width=96)
    assert small.texts() == ()
    assert small.width == pytest.approx(96)


@pytest.mark.parametrize("check", tuple(checks()))
def test_every_judged_figure_is_shown_with_value_and_limit(check):
    facts = facts_of("poor")[check]
    check_verdicts(check, draw(check, facts), facts)


def test_a_wall_shows_every_reading():
    facts = facts_of("middling")["wall_evenness"]
    words = [text.words for text in draw("wall_evenness", facts).texts()]
    for station in facts["stations"]:
        assert f"{station['value_mm']:.1f}" in words


def test_a_wall_unrolls_to_the_right_as_one_faces_the_handle():
    texts = {
        t.words: t.x for t in draw("wall_evenness", facts_of("sound")["wall_evenness"]).texts()
    }
    assert texts["left"] < texts["handle"] < texts["right"]


def test_a_rim_reads_up_from_its_lowest_point():
    facts = facts_of("middling")["rim_level"]
    words = [text.words for text in draw("rim_level", facts).texts()]
    assert facts["rise_mm"] == 3.5
    assert "+3.5" in words
    assert "0.0" in words


def rim_dots(facts):
    return [
        m
        for m in draw("rim_level", facts).marks
        if isinstance(m, Circle) and m.role is Role.MEASURE_DOT and m.r == 3.5
    ]


def test_a_rim_unrolls_to_the_right_as_one_faces_the_handle():
    facts = facts_of("sound")["rim_level"]
    texts = {text.words: text.x for text in draw("rim_level", facts).texts()}
    assert texts["left"] < texts["handle"] < texts["right"]
    dots = rim_dots(facts)
    assert len(dots) == len(facts["stations"]) == 8
    # Readings at 45, 90 and 135 degrees are the high ones of the sound cup: all at the right.
    highest = sorted(dots, key=lambda dot: dot.y)[:3]
    assert all(dot.x > texts["handle"] for dot in highest)


def test_the_same_rise_is_drawn_alike_on_every_page():
    heights = []
    for kind in KINDS:
        facts = facts_of(kind)["rim_level"]
        dots = rim_dots(facts)
        drawn = max(dot.y for dot in dots) - min(dot.y for dot in dots)
        heights.append(drawn / facts["rise_mm"])
    assert heights == pytest.approx([heights[0]] * 3)


def test_no_clay_is_to_come_off_a_rim_within_its_limits_or_meant_so():
    def roles(facts):
        return {mark.role for mark in draw("rim_level", facts).marks}

    warm = {Role.TAKE_OFF, Role.ASK, Role.CLAY_DARK, Role.CLAY_TEXT}
    sound, poor = (facts_of(kind)["rim_level"] for kind in ("sound", "poor"))
    assert not roles(sound) & warm
    assert Role.TAKE_OFF in roles(poor)
    assert not roles(poor | {"rim_meant": "drawn"}) & warm


def test_a_wall_marks_only_what_is_outside():
    def marked(kind):
        scene = draw("wall_evenness", facts_of(kind)["wall_evenness"])
        return [text.words for text in scene.texts() if text.role is Role.CLAY_TEXT]

    assert marked("sound") == marked("middling") == []
    facts = facts_of("poor")["wall_evenness"]
    values = [each["value_mm"] for each in facts["stations"]]
    over = [value for value in values if value > facts["ceiling_mm"]]
    assert sorted(marked("poor")) == sorted(f"{value:.1f}" for value in {min(values), *over})


@pytest.mark.parametrize("kind", KINDS)
def test_the_water_stands_at_the_brim_that_is_said(kind):
    facts = facts_of(kind)["capacity"]
    scene = draw("capacity", facts)
    (water,) = (m for m in scene.marks if m.role is Role.MEASURE_WASH)
    clay = max((m for m in scene.marks if m.role is Role.CLAY), key=lambda m: len(m.points))
    assert min(y for _, y in water.points) == pytest.approx(min(y for _, y in clay.points), abs=20)
    planned = next(m for m in scene.marks if isinstance(m, Line) and m.role is Role.PLAN)
    above = planned.y1 < min(y for _, y in water.points)
    assert above == (facts["planned_ml"] > facts["fired_ml"])


@pytest.mark.parametrize(
    ("value", "u", "limit", "verdict", "word"),
    [
        (1.0, 0.2, 2.0, WITHIN, "within"),
        (1.9, 0.2, 2.0, TOO_CLOSE, "too close to call"),
        (3.0, 0.2, 2.0, OUTSIDE, "outside"),
    ],
)
def test_the_interval_is_drawn_inside_across_or_beyond_its_limit(value, u, limit, verdict, word):
    judged = {"figure": "spread_mm", "value": value, "u": u, "limit": limit, "verdict": verdict}
    scene = bar(figure_of("rim_level.rise_mm"), judged, 300)
    (band,) = (m for m in scene.marks if isinstance(m, Rect) and m.height == 12)
    edge = band.x + band.width
    interval = max(
        (m for m in scene.marks if isinstance(m, Line) and m.role is Role.MEASURE),
        key=lambda m: m.x2 - m.x1,
    )
    assert word in [text.words for text in scene.texts()]
    assert (interval.x2 <= edge) == (verdict == WITHIN)
    assert (interval.x1 > edge) == (verdict == OUTSIDE)
    # To scale: U is to the band as 2u to the limit.
    assert (interval.x2 - interval.x1) / band.width == pytest.approx(4 * u / limit)


def test_a_signed_figure_has_a_limit_on_either_side():
    judged = {"figure": "lean_deg", "value": -9.0, "u": 0.5, "limit": 7.0, "verdict": OUTSIDE}
    scene = bar(figure_of("handle_alignment.lean_deg"), judged, 300)
    limits = [m.x1 for m in scene.marks if isinstance(m, Line) and m.role is Role.LIMIT][:2]
    assert sum(limits) == pytest.approx(300)
    dot = next(m for m in scene.marks if isinstance(m, Circle))
    assert dot.x < min(limits)
    assert "limit ±7°" in [text.words for text in scene.texts()]


def test_a_through_crack_is_named_and_dark():
    scene = draw("seam_join", facts_of("poor")["seam_join"])
    assert "through 9.0" in [text.words for text in scene.texts()]
    assert Role.CRACK in {mark.role for mark in scene.marks}
    assert Role.CRACK not in {
        mark.role for mark in draw("seam_join", facts_of("middling")["seam_join"]).marks
    }


def test_the_ladder_has_a_rung_for_every_stage_read():
    words = [t.words for t in draw("shrinkage", facts_of("sound")["shrinkage"]).texts()]
    assert {"wet", "leather-hard", "bone dry", "glazed"} <= set(words)


def test_a_refused_check_draws_an_empty_place():
    facts = as_facts(Refused("rim_level", "wet", "Three heights are needed."))
    assert facts == {"check": "rim_level", "stage": "wet", "refused": "Three heights are needed."}
    scene = draw("rim_level", facts)
    assert [t.words for t in scene.texts()] == ["nothing to draw yet"]
    assert glance("rim_level", facts).texts() == ()


def test_facts_are_plain_json():
    for kind in KINDS:
        for facts in facts_of(kind).values():
            assert json.loads(json.dumps(facts, allow_nan=False)) == facts


def test_too_narrow_or_unknown_is_said():
    facts = facts_of("sound")["rim_level"]
    with pytest.raises(ValueError, match="take a glance"):
        draw("rim_level", facts, width=100)
    with pytest.raises(ValueError, match="Nothing is known"):
        draw("roundness", facts)


@pytest.mark.parametrize("height", [80.0, 90.0, 150.0])
@pytest.mark.parametrize("percent", range(0, 101, 3))
def test_no_line_of_the_scale_strikes_a_percent(percent, height):
    steps = [
        ProgressPoint("Pinch pot", "70"),
        ProgressPoint("Cup", str(percent)),
        ProgressPoint("Jug", "93"),
    ]
    scene = progress(steps, width=260.0, height=height)
    scale = [each.y1 for each in scene.marks if isinstance(each, Line)]
    figures = [each for each in scene.texts() if "%" in each.words and each.anchor != "end"]
    assert len(figures) == len(steps)
    for figure in figures:
        _, top, _, bottom = text_box(figure)
        assert not any(top < y < bottom for y in scale), figure
    boxes = [text_box(each) for each in scene.texts()]
    assert not any(overlap(one, other) for k, one in enumerate(boxes) for other in boxes[:k])
