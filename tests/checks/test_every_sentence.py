"""Every sentence is whole, in every language; ``--sentences FILE`` writes them out to be read:

pytest -n 0 tests/checks/test_every_sentence.py --sentences sentences.txt
"""

import re

import pytest

from rubrics.families.languages import language
from rubrics.reports.language import ENGLISH, speaking
from tests.checks import every_sentence

SPOKEN = {"en": ENGLISH, "es": language("es")}

# Phrases that were read aloud and taken out: bookkeeping, riddles and raw names.
GONE = re.compile(
    r"mm from the making|mm from the clay|0[.,]0\u00a0?% from|joins is open|jaws|"
    r"\bless\b (?:thin|low|short)|light: the limit|dart\d|whose doing is|strongest part|"
    r"does not count against|came out sound|both tilted and wavy|_",
    re.IGNORECASE,
)
WHOLE = ("found", "praise", "do, while soft", "do, while dry", "do, once fired")


def told():
    for name, what, facts in every_sentence.cases():
        for place, words in every_sentence.of_a_check(name, facts):
            yield f"{name}, {what}: {place}", place in WHOLE, words
    for say in (every_sentence.of_outcomes, every_sentence.of_steps):
        for what, words in say():
            yield what, True, words


@pytest.mark.parametrize("code", SPOKEN)
def test_every_sentence_is_whole_and_readable(code):
    with speaking(SPOKEN[code]):
        for what, is_whole, words in told():
            assert not GONE.search(words), (what, words)
            assert "  " not in words, (what, words)
            assert "{" not in words, (what, words)
            if words and is_whole:
                assert words[0].isupper() or words[0] in "¡¿«", (what, words)
                assert words.endswith((".", "!", "?", "»")), (what, words)


def test_nothing_is_said_twice_in_one_breath():
    with speaking(ENGLISH):
        for what, is_whole, words in told():
            sentences = [each.strip() for each in re.split(r"(?<=[.!?]) ", words) if is_whole]
            assert len(sentences) == len(set(sentences)), (what, words)
            numbers = re.findall(r"\d+\.\d\u00a0mm", words)
            assert all(numbers.count(each) <= 2 for each in numbers), (what, words)


def test_they_are_written_out_on_request(pytestconfig):
    text = every_sentence.written_out()
    assert text.count("      en  ") == text.count("      es  ") > 200
    if path := pytestconfig.getoption("--sentences"):
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
