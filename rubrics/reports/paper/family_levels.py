"""How it went, by criterion: a short bar, a word, a phrase."""

from __future__ import annotations

from ..drawings.levels import WIDTH as BOXES_WIDTH
from ..drawings.levels import level_boxes
from ..family import FamilyPage
from ..language import as_written, own_words, said
from ..palette import EDGE
from ..print_drawing import POINTS_PER_UNIT, to_reportlab
from ..shown import ShownCriterion
from ..wording import decimal_said
from . import styles
from .blocks import Flowable, Gap, Row, Rule, Stack
from .family_size import Cuts, PageSizes

NAME_SHARE, WORD_SHARE = 0.24, 0.18
MOST = 12
"""So many criteria have a row; a rubric with more says how many are left to the screen."""
GAP = 9.0


def levels(page: FamilyPage, size: PageSizes, cuts: Cuts, width: float) -> Flowable | None:
    """One row a criterion of the latest piece."""
    criteria = page.pieces[0].shown["criteria"]
    if not criteria:
        return None
    before = _before(page)
    parts: list[Flowable] = [
        styles.label(said("How it went, by what was looked at"), size.text),
        Gap(2.0),
    ]
    for place, criterion in enumerate(criteria[:MOST]):
        if place:
            parts.append(Rule(0.5, EDGE))
        parts += [Gap(size.row), _row(criterion, before, size, cuts, width), Gap(size.row)]
    if len(criteria) > MOST:
        more = said("And {more} more, on the screen.", more=len(criteria) - MOST)
        parts.append(styles.soft(more, size.text))
    return Stack(parts)


def _before(page: FamilyPage) -> dict[str, int]:
    """Levels of the piece before, by the criterion's name."""
    if len(page.pieces) < 2:
        return {}
    earlier = page.pieces[1].shown["criteria"]
    return {each["name"]: each["level"] for each in earlier if each["level"] is not None}


def _row(
    criterion: ShownCriterion, before: dict[str, int], size: PageSizes, cuts: Cuts, width: float
) -> Flowable:
    name = as_written(criterion["name"])
    weight = decimal_said(criterion["weight"])
    told = said("{name} ({weight})", name=name, weight=weight)
    named = styles.strong(told, size.text, most_lines=2)
    boxes = BOXES_WIDTH * POINTS_PER_UNIT
    phrase = styles.plain(_phrase(criterion), size.text - 0.5, most_lines=size.phrase)
    word = styles.plain(_word(criterion, before), size.text, most_lines=2)
    return Row(
        [
            cuts.watch(named, "the name of a criterion"),
            Stack([Gap(1.5), to_reportlab(level_boxes(criterion["level"]))]),
            cuts.watch(word, "the word for a level"),
            cuts.watch(phrase, "what a level means"),
        ],
        [width * NAME_SHARE, boxes, width * WORD_SHARE, None],
        GAP,
    )


def _word(criterion: ShownCriterion, before: dict[str, int]) -> str:
    level = criterion["level"]
    if criterion["excused"]:
        return said("Excused")
    if level is None:
        return said("Not looked at")
    word = f"{level} {own_words(criterion['level_name'])}".rstrip()
    last = before.get(criterion["name"])
    if last is None or last == level:
        return word
    return said("{word} (before: {level})", word=word, level=last)


def _phrase(criterion: ShownCriterion) -> str:
    if criterion["excused"]:
        return said("Left out of the grade.")
    return as_written(criterion["descriptor"]) if criterion["descriptor"] else ""
