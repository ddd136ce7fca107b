"""Rubrics as CASE: field names as published, every rubric comes back exactly as it went.

Source of the field names, the stars and the pattern: 1EdTech CASE information model, CFRubric,
CFRubricCriterion, CFRubricCriterionLevel (sections 7.1.26 to 7.1.29); written out here a second
time and not taken from the code.
"""

import datetime as dt
import json
import re
import string
import uuid
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubrics.checks.register import judgeable
from rubrics.exports import case
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import CriterionContent, LevelContent, LimitContent, content_of

PATTERN = r"[0-9a-f]{8}-[0-9a-f]{4}-[1-5]{1}[0-9a-f]{3}-[8-9a-b]{1}[0-9a-f]{3}-[0-9a-f]{12}"
RUBRIC = {"identifier", "uri", "title", "lastChangeDateTime", "CFRubricCriteria"}
CRITERION = {
    *("identifier", "uri", "category", "description", "weight", "position", "rubricId"),
    *("lastChangeDateTime", "CFRubricCriterionLevels", "extensions"),
}
LEVEL = {
    *("identifier", "uri", "description", "quality", "score", "position", "rubricCriterionId"),
    *("lastChangeDateTime", "extensions"),
}
UID = uuid.UUID("0f8fad5b-d9cb-469f-a165-70867728950e")
AT = dt.datetime(2026, 3, 14, 9, 26, 53, tzinfo=dt.timezone(dt.timedelta(hours=-5)))

words = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=30)
cents = st.integers(0, 10_000).map(lambda n: Decimal(n) / 100)
thousandths = st.integers(0, 9_999_999).map(lambda n: Decimal(n) / 1000)


@st.composite
def criteria(draw):
    letters = draw(
        st.lists(st.sampled_from(string.ascii_uppercase), min_size=1, max_size=8, unique=True)
    )
    return [draw(criterion(letter)) for letter in letters]


@st.composite
def criterion(draw, letter):
    points = sorted(draw(st.lists(cents, min_size=4, max_size=4)), reverse=True)
    figures = draw(st.lists(st.sampled_from(sorted(judgeable())), max_size=4, unique=True))
    return CriterionContent(
        letter=letter,
        name=draw(words),
        weight=draw(st.integers(1, 99_999).map(lambda n: Decimal(n) / 100)),
        group=draw(st.sampled_from(["craft", "design", "habits"])),
        description=draw(st.text(st.characters(exclude_categories=("C",)), max_size=60)),
        levels=[
            LevelContent(number, draw(words), max(score, Decimal(number == 4)), draw(words))
            for number, score in zip((4, 3, 2, 1), points, strict=True)
        ],
        limits=[
            LimitContent(figure, *sorted(draw(st.tuples(*[thousandths] * 3)))) for figure in figures
        ],
    )


def out(name="Slab cup", rows=()):
    uri = "https://school.example/rubrics/3/"
    return case.document(name, rows, uid=UID, uri=uri, at=AT)


def back(document):
    return case.read(json.dumps(document).encode())


@given(name=words, rows=criteria())
def test_what_went_out_comes_back_exactly(name, rows):
    came = back(out(name, rows))
    assert came.problems == came.notes == ()
    assert (came.name, list(came.criteria)) == (name, rows)


@given(rows=criteria())
def test_the_fields_are_those_published(rows):
    (rubric,) = out(rows=rows)["CFRubrics"]
    assert set(rubric) == RUBRIC
    parts = [rubric]
    for place, each in enumerate(rubric["CFRubricCriteria"], 1):
        assert set(each) == CRITERION
        assert (each["position"], each["rubricId"]) == (place, rubric["identifier"])
        parts.append(each)
        for level in each["CFRubricCriterionLevels"]:
            assert set(level) == LEVEL
            assert level["rubricCriterionId"] == each["identifier"]
            parts.append(level)
    names = [part["identifier"] for part in parts]
    assert all(re.fullmatch(PATTERN, name) for name in names)
    assert len(set(names)) == len(names)
    assert {part["lastChangeDateTime"] for part in parts} == {"2026-03-14T14:26:53Z"}


@pytest.mark.django_db
def test_the_starter_rubric_goes_out_and_comes_back():
    starter = ensure_starter_rubric()
    came = back(out(starter.name, content_of(starter)))
    assert list(came.criteria) == content_of(starter)
    assert [len(each.limits) for each in came.criteria] == [
        len(each.limits) for each in content_of(starter)
    ]
    assert sum(len(each.limits) for each in came.criteria) > 0


def foreign(**criterion_fields):
    """A rubric as another system writes it: plain standard, nothing of ours."""
    levels = [
        {"quality": name, "score": score, "description": f"It is {name}."}
        for name, score in (("low", 1), ("fair", 2), ("good", 3.5), ("best", 4))
    ]
    row = {"category": "Rim", "weight": 2, "position": 1, "CFRubricCriterionLevels": levels}
    return {"CFRubrics": [{"title": "Bowl", "CFRubricCriteria": [row | criterion_fields]}]}


def test_a_rubric_from_elsewhere_is_ordered_by_its_scores():
    came = back(foreign())
    assert came.problems == ()
    (row,) = came.criteria
    assert (row.letter, row.name, row.weight, row.group) == ("A", "Rim", 2, "design")
    assert [(lv.number, lv.name, lv.points) for lv in row.levels] == [
        (4, "best", 4),
        (3, "good", Decimal("3.5")),
        (2, "fair", 2),
        (1, "low", 1),
    ]


def test_what_is_not_of_the_standard_is_passed_over_with_a_word():
    came = back(foreign(colour="red", CFItemURI={"title": "x"}))
    assert came.problems == ()
    assert came.notes == (
        "Criterion 1: the link to a standard is passed over.",
        "Fields that are not of the standard are passed over: colour.",
    )


LEVELS = foreign()["CFRubrics"][0]["CFRubricCriteria"][0]["CFRubricCriterionLevels"]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"CFRubricCriterionLevels": LEVELS[:3]}, "has 3 levels. Here every criterion has four"),
        ({"CFRubricCriterionLevels": LEVELS + LEVELS[:1]}, "has 5 levels"),
        ({"weight": 0}, "the weight has to be above 0"),
        ({"weight": True}, "the weight has to be above 0"),
        ({"weight": "1e999"}, "the weight has to be above 0"),
        ({"weight": 1.005}, "more than two decimal places"),
        ({"category": "x" * 81}, "category has more than 80 signs"),
        ({"category": 7}, "category has to be a text"),
        ({"category": "a\x00"}, "a sign that cannot be kept"),
        # Half of a sign, as JSON can spell it (RFC 8259, section 8.2).
        ({"category": "a\ud800"}, "a sign that cannot be kept"),
        ({"category": None}, "neither a category nor a description"),
        (
            {"CFRubricCriterionLevels": [each | {"score": 101} for each in LEVELS]},
            "a score from 0 to 100",
        ),
        (
            {"CFRubricCriterionLevels": [each | {"score": 0} for each in LEVELS]},
            "the scores have to rise",
        ),
        (
            {"CFRubricCriterionLevels": [each | {"description": ""} for each in LEVELS]},
            "a level has no description",
        ),
        (
            {"extensions": {"rimAndReason": {"limits": [{"figure": "taste", "a": "1"}]}}},
            "a limit is of no figure",
        ),
        (
            {
                "extensions": {
                    "rimAndReason": {
                        "limits": [
                            {"figure": next(iter(judgeable())), "a": "3", "b": "2", "c": "9"}
                        ]
                    }
                }
            },
            "limits rise from level 4 to level 2",
        ),
    ],
)
def test_what_cannot_be_taken_is_told(fields, said):
    problems = back(foreign(**fields)).problems
    assert any(said in each for each in problems), problems


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{",
        b"[]",
        b"7",
        b"\xff\xfe\x00",
        b'{"CFRubrics": []}',
        b'{"CFRubrics": [3]}',
        b'{"CFRubrics": [{"CFRubricCriteria": [], "title": NaN}]}',
        b"[" * 100_000,
        b" " * (case.MOST_BYTES + 1),
    ],
)
def test_what_is_no_rubric_is_refused_with_a_sentence(data):
    with pytest.raises(case.CaseError, match=r"\.$"):
        case.read(data)


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(sorted(CRITERION | LEVEL | RUBRIC | {"rimAndReason", "limits", "a"})),
            inner,
            max_size=6,
        )
    ),
    max_leaves=30,
)


@given(json_values)
def test_no_file_of_any_shape_makes_a_fault(said):
    came = back({"CFRubrics": [{"title": "x", "CFRubricCriteria": [said, {"category": said}]}]})
    assert came.problems
