"""Every sentence of the report in every language; the file that is edited and the one that is read
agree."""

import io
import string
from datetime import date
from pathlib import Path

import pytest
from babel.messages.extract import extract_from_file
from babel.messages.mofile import read_mo
from babel.messages.pofile import read_po

import rubrics
from rubrics.families.languages import language, languages
from rubrics.reports.language import ENGLISH, as_written, speaking
from rubrics.reports.outcomes import KINDS, lesson_of
from rubrics.reports.sentences import next_step, phrase, sentence, strengths
from rubrics.reports.step_choice import CRITERION, StepSource, step_said
from rubrics.reports.wording import number, quantity
from rubrics.rubric.starter_rubric import STARTER_CRITERIA, STARTER_LEVELS
from studio.ware.outcomes import DEFECTS, SOUND
from tests.reports.examples import facts_of

ROOT = Path(rubrics.__file__).parent
KEYWORDS = {"said": None, "marked": None, "counted": (1, 2)}
OTHERS = [code for code, _ in languages() if code != "en"]


def spoken_files() -> list[Path]:
    """The modules whose sentences are said in the reader's language."""
    return sorted(file for room in ("checks", "reports") for file in (ROOT / room).rglob("*.py"))


def messages(files=None) -> set:
    """All sentences in the code of these modules; those of checks and reports if none are named."""
    return {
        message
        for file in (spoken_files() if files is None else files)
        for _line, message, _comments, _context in extract_from_file(
            "python", str(file), keywords=KEYWORDS
        )
    }


def starter_texts() -> set[str]:
    texts = {name for _number, name, _points in STARTER_LEVELS}
    for criterion in STARTER_CRITERIA:
        texts |= {criterion.name, *(level.descriptor for level in criterion.levels)}
    return texts


def catalogue(code: str):
    folder = ROOT / "locale" / code / "LC_MESSAGES"
    return (
        read_po(io.BytesIO((folder / "django.po").read_bytes())),
        read_mo(io.BytesIO((folder / "django.mo").read_bytes())),
    )


def places(words: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(words) if name}


def test_spanish_is_on_offer():
    assert OTHERS[:1] == ["es"]


@pytest.mark.parametrize("code", OTHERS)
def test_nothing_is_left_untranslated(code):
    written, _ = catalogue(code)
    told = {message.id for message in written if message.id and all(_strings(message))}
    lessons = {lesson for kind in KINDS if (lesson := lesson_of(kind))}
    assert messages() | starter_texts() | lessons <= told


def _strings(message) -> tuple[str, ...]:
    told = message.string
    return tuple(told) if isinstance(told, (tuple, list)) else (told,)


def _source(message) -> str:
    return message.id if isinstance(message.id, str) else message.id[0]


@pytest.mark.parametrize("code", OTHERS)
def test_the_compiled_file_says_what_the_edited_one_says(code):
    written, compiled = catalogue(code)

    def said(messages):
        return {(_source(each), *_strings(each)) for each in messages if each.id}

    assert said(compiled) == said(written)


@pytest.mark.parametrize("code", OTHERS)
def test_places_for_numbers_stay(code):
    written, _ = catalogue(code)
    for message in written:
        sources = message.id if isinstance(message.id, tuple) else (message.id,)
        if message.id:
            wanted = set().union(*map(places, sources))
            assert all(places(each) == wanted for each in _strings(message)), message.id


def test_every_outcome_has_its_words():
    assert {*KINDS, SOUND} == set(DEFECTS)


def test_numbers_and_days_follow_the_language():
    # Django's formats for Spanish: a decimal comma, and the day as the academy writes it.
    spanish = language("es")
    with speaking(spanish):
        assert number(2.5, 1) == "2,5"
        assert quantity("linear_shrinkage", 0.118) == "11,8\u00a0%"
    assert spanish.day(date(2026, 3, 14)) == "14 de marzo de 2026"
    assert number(2.5, 1) == "2.5"
    assert ENGLISH.day(date(2026, 3, 14)) == "14 March 2026"


@pytest.mark.parametrize("kind", ["sound", "middling", "poor"])
def test_checks_are_said_in_spanish_throughout(kind):
    for check, facts in facts_of(kind).items():
        english = {sentence(check, facts), phrase(check, facts), next_step(check, facts)}
        with speaking(language("es")):
            told = (sentence(check, facts, reader="student"), phrase(check, facts))
            step = next_step(check, facts)
        assert not {*told, step} & (english - {None})
        for words in (*told, step or ""):
            assert not {"the", "is", "of", "your"} & set(words.lower().split())


def test_what_somebody_wrote_stands_between_marks_where_the_page_is_translated():
    assert as_written("A calm cup.") == "A calm cup."
    with speaking(language("es")):
        assert as_written("A calm cup.") == "«A calm cup.»"
        assert as_written("Wall") == "Pared"


def test_a_descriptor_nobody_translated_is_quoted_in_what_is_strong_and_what_is_next():
    own = {
        "letter": "A", "name": "Wall", "level": 3, "level_name": "Capable", "points": "85",
        "weight": "20", "excused": False, "checks": [], "descriptor": "Two sketches with sizes.",
        "above": "Several sketches.",
    }  # fmt: skip
    shown = {"criteria": [own], "checks": {}}
    step = StepSource(CRITERION, "A")
    assert strengths([own], {}) == ["Wall: Two sketches with sizes."]
    with speaking(language("es")):
        assert strengths([own], {}) == ["Pared: «Two sketches with sizes.»"]
        assert step_said(shown, step).endswith("«Several sketches.»")


def test_a_language_that_is_gone_reads_english():
    assert language("tlh") is ENGLISH
