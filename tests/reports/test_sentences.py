"""Sentences: they say the numbers they were given, kindly, in words of one's twelfth year."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from rubrics.checks.advice import advice_on
from rubrics.checks.register import check_named, checks
from rubrics.checks.saying import limit_sentence, telling_size
from rubrics.craft.results import OUTSIDE, TOO_CLOSE, WITHIN, Refused
from rubrics.reports.result_json import as_facts
from rubrics.reports.sentences import describe, next_step, phrase, sentence, strengths, strong_point
from rubrics.reports.wording import (
    decisive,
    limit_words,
    number,
    quantity,
    where,
    with_doubt,
)

from .examples import criterion, facts_of
from .strategies import facts as any_facts

KINDS = ("sound", "middling", "poor")
READERS = ("teacher", "student")
LONGEST_PHRASE = 48
HARD = "\N{NO-BREAK SPACE}"

UNIT = re.compile(rf"\d(?:{HARD}mm|{HARD}ml|°|%)")


def texts():
    for kind in KINDS:
        for check, facts in facts_of(kind).items():
            for reader in READERS:
                yield sentence(check, facts, reader=reader)


def grade_level(text):
    """Flesch-Kincaid grade: 0.39 words/sentence + 11.8 syllables/word - 15.59.

    Kincaid et al., Research Branch Report 8-75 (1975), formula from memory. Syllables are counted
    as groups of vowels, a silent e left out; a number with its unit counts as one short word.
    """
    plain = re.sub(rf"[−+]?\d+(?:\.\d+)?(?:{HARD}(?:mm|ml)|°|%)?", "one", text)
    sentences = [s for s in re.split(r"[.!?;:]+(?:\s|$)", plain) if s.strip()]
    words = re.findall(r"[A-Za-z'-]+", plain)
    syllables = sum(
        max(1, len(re.findall(r"[aeiouy]+", re.sub(r"(?<!l)e$", "", word.lower()))))
        for word in words
    )
    return 0.39 * len(words) / len(sentences) + 11.8 * syllables / len(words) - 15.59


def test_the_formula_of_the_grade():
    # By hand: 6 words, 1 sentence, 6 syllables: 2.34 + 11.8 - 15.59 = -1.45.
    assert grade_level("The cat sat on the mat.") == pytest.approx(-1.45)


def test_a_twelve_year_old_can_read_them():
    levels = [grade_level(text) for text in texts()]
    assert len(levels) == len(KINDS) * len(tuple(checks())) * len(READERS)
    assert sum(levels) / len(levels) <= 7
    assert max(levels) <= 8


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("check", tuple(checks()))
def test_the_verdict_is_said_with_its_number_and_its_limit(check, kind):
    facts = facts_of(kind)[check]
    judged = decisive(facts)
    text = sentence(check, facts)
    if not judged["value"] or facts.get("through"):
        return
    if judged["figure"] not in ("difference", "difference_fraction"):  # said by its two parts
        assert quantity(judged["figure"], abs(judged["value"])) in text
    assert limit_words(judged["figure"], judged["limit"]) in text


def test_too_close_says_the_doubt_and_that_it_does_not_count():
    facts = facts_of("middling")["rim_level"]
    assert facts["verdict"] == TOO_CLOSE
    assert f"It may be 0.7{HARD}mm more or less; the limit is 4{HARD}mm." in sentence(
        "rim_level", facts
    )
    for reader in READERS:
        assert "That is too close to call." in sentence("rim_level", facts, reader=reader)


def test_the_student_is_told_what_to_do_and_the_teacher_is_not_told_twice():
    for kind in KINDS:
        for check, facts in facts_of(kind).items():
            step = next_step(check, facts)
            if step is not None:
                assert sentence(check, facts, reader="student").endswith(step)
                assert step not in sentence(check, facts, reader="teacher")


@pytest.mark.parametrize("check", tuple(checks()))
def test_what_is_outside_has_a_next_step(check):
    facts = facts_of("poor")[check]
    assert facts["verdict"] != WITHIN
    assert next_step(check, facts).endswith(".")


@pytest.mark.parametrize("check", ["wall_evenness", "rim_level", "seam_join", "handle_alignment"])
def test_what_is_within_needs_no_next_step(check):
    assert next_step(check, facts_of("sound")[check]) is None


def test_what_is_kept_for_a_student_is_for_next_time():
    for kind in ("middling", "poor"):
        for check, facts in facts_of(kind).items():
            step = next_step(check, facts)
            assert step is None or step.startswith("Next time"), check


def test_a_cracked_fired_cup_is_not_for_drinking():
    facts = facts_of("poor")["seam_join"]
    assert facts["through"]
    assert "Do not drink from it." in sentence("seam_join", facts | {"clay": "fired"})
    assert "drink" not in sentence("seam_join", facts)


def test_the_rim_says_tilt_or_waviness_and_where_to_take_clay_off():
    tilted, wavy = facts_of("middling")["rim_level"], facts_of("poor")["rim_level"]
    assert (tilted["cause"], wavy["cause"]) == ("tilt", "waviness")
    over = {"figure": "rise_mm", "value": 3.5, "u": 0.1, "limit": 3.0, "verdict": OUTSIDE}
    tilted = tilted | {"judged": [over]}
    assert "The rim tilts" in sentence("rim_level", tilted)
    assert "The rim waves" in sentence("rim_level", wavy)
    off = f"Shave off up to {quantity('_mm', tilted['tilt_rise_mm'])} just right of the handle"
    assert off in advice_on("rim_level", tilted)


def test_the_handle_says_its_side_as_one_faces_it():
    facts = facts_of("poor")["handle_alignment"]
    # Counter-clockwise from above is to the right for who faces the handle.
    assert facts["lean_deg"] > 0
    assert "leans 17.5° to the right" in sentence("handle_alignment", facts)
    other = facts | {"lean_deg": -facts["lean_deg"]}
    assert "leans 17.5° to the left" in sentence("handle_alignment", other)


def test_making_and_clay_are_said_as_parts_that_sum():
    facts = facts_of("poor")["shrinkage"]
    text = sentence("shrinkage", facts)
    worst = max(facts["dimensions"], key=lambda d: abs(d["miss_mm"]))
    assert worst["making_mm"] + worst["clay_mm"] == pytest.approx(worst["miss_mm"])
    assert f"{quantity('_mm', worst['miss_mm'])} larger than planned" in text
    made = quantity("_mm", worst["making_mm"])
    assert f"It was made {made} too large; the clay added the rest." in text


@pytest.mark.parametrize(
    ("making", "clay", "said"),
    [
        (6.1, 0.0, "It was made so; the clay shrank much as planned."),
        (0.3, 2.0, "It was made to size; the clay shrank less than planned."),
        (-0.3, -2.0, "It was made to size; the clay shrank more than planned."),
        (4.0, -2.0, f"It was made 4.0{HARD}mm too large; the clay made up for some of it."),
        (-2.0, 4.0, f"made 2.0{HARD}mm too small, but the clay shrank much less than planned."),
        (2.0, -4.0, f"made 2.0{HARD}mm too large, but the clay shrank much more than planned."),
    ],
)
def test_who_missed_a_size_is_said_without_a_sum(making, clay, said):
    facts = facts_of("poor")["shrinkage"]
    missed = {"name": "height", "making_mm": making, "clay_mm": clay, "miss_mm": making + clay}
    assert said in sentence("shrinkage", facts | {"dimensions": [missed], "stands_out": None})


def test_joins_that_nobody_looked_at_are_not_called_closed():
    facts = facts_of("sound")["seam_join"] | {"open_mm": None, "judged": [], "verdict": None}
    assert "closed" not in sentence("seam_join", facts)
    assert "closed" not in phrase("seam_join", facts)


def test_phrases_are_short():
    for kind in KINDS:
        for check, facts in facts_of(kind).items():
            assert 0 < len(phrase(check, facts)) <= LONGEST_PHRASE


def test_a_refusal_is_said_as_it_stands():
    facts = as_facts(Refused("rim_level", "wet", "Three heights are needed."))
    assert sentence("rim_level", facts) == "Three heights are needed."
    assert describe("rim_level", facts) == "Three heights are needed."
    assert next_step("rim_level", facts) is None
    assert phrase("rim_level", facts) == "too early to tell"


def test_a_description_lists_every_reading():
    facts = facts_of("middling")["wall_evenness"]
    told = describe("wall_evenness", facts)
    assert told.endswith(
        "Readings in mm: " + ", ".join(f"{s['value_mm']:.1f}" for s in facts["stations"]) + "."
    )


@pytest.mark.parametrize("check", tuple(checks()))
@settings(max_examples=150, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_whatever_was_read_is_said_in_whole_sentences(check, data):
    facts = data.draw(any_facts(check))
    assume(facts is not None and not facts.get("refused"))
    for reader in READERS:
        text = sentence(check, facts, reader=reader)
        assert text[0].isupper()
        assert text[-1] in ".!"
        assert not re.search(r"nan|inf\b|None|[{}]|  |\.\.|−0(?:\.0+)?(?![.\d])", text)
        # A number is never bare: its unit follows, or it counts fingers, darts or a range.
        for found in re.finditer(r"\d+(?:\.\d+)?", text):
            before, after = text[: found.start()], text[found.end() :]
            assert re.match(rf"{HARD}mm|{HARD}ml|°|%| fingers| to \d", after) or before.endswith(
                ("dart ", "Dart ")
            ), text
    assert "  " not in phrase(check, facts)


@pytest.mark.parametrize(
    ("azimuth", "seam", "words"),
    [
        (0, None, "by the handle"),
        (359, 180, "by the handle"),
        (45, None, "just right of the handle"),
        (90, None, "on the right"),
        (180, None, "opposite the handle"),
        (180, 180, "by the seam"),
        (200, 180, "by the seam"),
        (225, 180, "at the back left"),
        (270, None, "on the left"),
        (5, 0, "by the handle"),
    ],
)
def test_places_round_the_cup(azimuth, seam, words):
    assert where(azimuth, seam) == words


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (number(-0.04, 1), "0.0"),
        (number(-1.25, 1), "−1.2"),
        (quantity("rise_mm", 2.06), f"2.1{HARD}mm"),
        (quantity("lean_deg", -3.0), "−3.0°"),
        (quantity("open_fraction", 0.0523), "5.2%"),
        (quantity("capacity_ml", 288.6), f"289{HARD}ml"),
        (limit_words("spread_mm", 2.0), f"2{HARD}mm"),
        (limit_words("rock_mm", 0.25), f"0.25{HARD}mm"),
        (limit_words("difference", 0.015), "1.5%"),
        (with_doubt("rise_mm", 2.0, 0.2), f"2.0 ± 0.4{HARD}mm"),
        (with_doubt("rise_mm", 2.0, 0.01), f"2.0 ± 0.02{HARD}mm"),
        (with_doubt("rise_mm", 2.0, 0.0), f"2.0{HARD}mm"),
        (telling_size("rise_mm", 2.04, 2.0), f"2.04{HARD}mm"),
        (telling_size("rise_mm", 2.0, 2.0), f"2.0{HARD}mm"),
    ],
)
def test_numbers_and_units(said, words):
    assert said == words


def test_a_figure_just_over_its_limit_does_not_read_as_equal():
    judged = {"figure": "rise_mm", "value": 2.04, "u": 0.001, "limit": 2.0, "verdict": OUTSIDE}
    rim = check_named("rim_level")
    assert limit_sentence(rim, judged) == f"That is over the limit of 2{HARD}mm."
    sides = check_named("squared_foot")
    judged |= {"figure": "side_spread_mm"}
    assert f"by 2.04{HARD}mm; the limit is 2{HARD}mm." in limit_sentence(sides, judged)


def test_strengths_name_what_was_seen_the_highest_level_first():
    sound, poor = (
        {name: {"facts": facts} for name, facts in facts_of(k).items()} for k in KINDS[::2]
    )
    wall = criterion("B", "Wall", "15", level=4, checks=["wall_evenness"])
    plan = criterion("A", "Plan", "10", level=4, descriptor="Three sketches with sizes")
    rim = criterion("D", "Rim", "30", level=3, checks=["rim_level"])
    assert strengths([plan, rim, wall], sound) == [
        f"The wall stays between 5.9 and 6.4{HARD}mm all the way round.",
        "Plan: Three sketches with sizes.",
        f"The rim stays level within 0.5{HARD}mm all the way round.",
    ]
    # A level that the teacher gave all the same is not praised against what was measured.
    assert strengths([wall, rim], poor) == []
    assert strong_point([plan], poor) == "Plan: Three sketches with sizes."
    assert strong_point([criterion("A", "Plan", "10", level=2)], {}) == ""
    assert strong_point([], {}) == ""
