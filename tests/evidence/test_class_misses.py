"""What a whole class misses, as its summary tells it."""

import io

import pypdf
import pytest

from rubrics.evidence.class_misses import class_misses
from rubrics.evidence.collect import evidence
from rubrics.families.class_summary import overviews
from rubrics.reports.overview import overview_pdf
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from tests.factories import make_piece, make_project, make_section, make_student, read_rim

pytestmark = pytest.mark.django_db

LEVEL = (98, 98, 98.4, 98, 98, 98.2, 98, 98)
TILTED = (98, 100, 104, 108, 110, 108, 104, 100)


def text_of_pdf(document: bytes) -> str:
    reader = pypdf.PdfReader(io.BytesIO(document))
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.fixture
def project():
    made = make_project(make_section())
    choose_rubric(made, ensure_starter_rubric())
    return made


def cups(project, count, heights, start=0):
    for number in range(start, start + count):
        piece = make_piece(project, make_student(project.section, f"Maker {number}"), f"C-{number}")
        read_rim(piece, *heights)


def rise(project):
    return next(each for each in class_misses(evidence(project)) if "rise" in each.name.lower())


def test_pieces_outside_are_counted_among_those_that_can_be_told(project):
    cups(project, 3, LEVEL)
    cups(project, 2, TILTED, start=3)
    assert (rise(project).told, rise(project).low + rise(project).high) == (5, 2)


def test_a_class_that_mostly_misses_is_taught_again_and_a_few_are_not(project):
    cups(project, 8, TILTED)
    (found,) = overviews(project.section)
    again = {each.name: each for each in found.again}
    assert again
    # Clopper and Pearson's exact interval of 8 in 8, two-sided 95 %: from 0.025^(1/8) to 1.
    miss = next(iter(again.values()))
    assert (miss.missed, miss.told) == (8, 8)
    assert (miss.low, miss.high) == (pytest.approx(0.025 ** (1 / 8), abs=1e-3), 1.0)
    cups(project, 8, LEVEL, start=8)
    (found,) = overviews(project.section)
    assert found.again == ()


def test_never_more_than_three_things_are_to_be_taught_again(project):
    cups(project, 12, TILTED)
    (found,) = overviews(project.section)
    assert len(found.again) <= 3


def test_a_project_that_never_saw_a_kiln_is_not_called_sound(project):
    cups(project, 1, LEVEL)
    printed = text_of_pdf(overview_pdf(overviews(project.section)))
    assert "Nothing was fired yet." in printed
    project.pieces.update(stage="bisque")
    printed = text_of_pdf(overview_pdf(overviews(project.section)))
    assert "Nothing was noted." in printed
