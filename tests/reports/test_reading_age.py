"""The reading age of generated sentences, by a general library."""

import re

import textstat

from rubrics.reports.sentences import next_step, sentence
from tests.reports.examples import facts_of

FIGURE = re.compile(r"[−+]?\d+(?:\.\d+)?(?:\s?(?:mm|ml|%|°))?")
"""Read as one short word: the point of a decimal would count as the end of a sentence."""

HIGHEST_GRADE = 7.0
"""Flesch-Kincaid grade that the sentences of a whole class may reach on the mean."""


def test_a_twelve_year_old_reads_what_is_generated():
    said = []
    for kind in ("sound", "middling", "poor"):
        for check, facts in facts_of(kind).items():
            said += [sentence(check, facts, reader="student"), next_step(check, facts) or ""]
    grade = textstat.flesch_kincaid_grade(FIGURE.sub("two", " ".join(said)))
    assert grade <= HIGHEST_GRADE
