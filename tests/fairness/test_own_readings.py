"""Students' own readings beside the teacher's, on the page of the measuring."""

import pytest
from statsmodels.stats.weightstats import DescrStatsW

from rubrics.fairness.own_readings import read_by_both
from studio.models import Reading
from tests.factories import make_piece, make_student
from tests.pages import page_text

STAGE = "leather"
# Walls [mm] that students and teacher read at the first place of sixteen cups; invented.
OWN = (6.2, 5.9, 7.0, 6.6, 5.4, 6.1, 6.8, 7.2, 5.0, 6.4, 6.3, 5.8, 7.1, 6.0, 5.6, 6.5)
AGAIN = (6.0, 5.8, 6.6, 6.5, 5.2, 6.0, 6.4, 7.0, 4.9, 6.1, 6.3, 5.5, 6.8, 5.7, 5.5, 6.2)


def read(piece, value, source, station="0"):
    return Reading.objects.create(
        piece=piece, stage=STAGE, quantity="wall_thickness", station=station, value=value,
        source=source,
    )  # fmt: skip


@pytest.fixture
def measured(school):
    for number, (own, again) in enumerate(zip(OWN, AGAIN, strict=True), start=10):
        maker = make_student(school.section, f"Maker {number}")
        piece = make_piece(school.project, maker, f"K3-{number}")
        read(piece, own, "student")
        read(piece, again, "hand")
        # A second place of the same cup adds no cup.
        read(piece, own + 3, "student", "180")
        read(piece, again, "hand", "180")
    return school


def test_the_figures_are_those_of_bland_and_altman(measured):
    # Reference: statsmodels' interval of the mean difference (Bland and Altman 1986, its mean).
    (wall,) = read_by_both(measured.teacher)
    reference = DescrStatsW([own - again for own, again in zip(OWN, AGAIN, strict=True)])
    low, high = reference.tconfint_mean()
    assert wall.pieces == 16
    assert wall.told.mean.value == pytest.approx(reference.mean)
    assert (wall.told.mean.low, wall.told.mean.high) == pytest.approx((low, high), abs=0.01)


def test_the_page_says_it_in_words_with_one_query(client, measured, django_assert_num_queries):
    with django_assert_num_queries(1):
        read_by_both(measured.teacher)
    client.force_login(measured.teacher)
    page = page_text(client.get("/measuring/studies/"))
    assert "Over 16 pieces students read 0.2 mm more than you on the average" in page


def test_few_pieces_tell_nothing_yet(school):
    read(school.piece, 6.0, "student")
    read(school.piece, 6.1, "hand")
    read(school.other_piece, 6.1, "hand")
    (wall,) = read_by_both(school.teacher)
    assert wall.told is None
    assert wall.said == "Read by both: 1 of the 15 pieces that it takes."


def test_nobody_elses_sections_count(measured):
    assert read_by_both(measured.colleague) == []
    assert read_by_both(measured.head) == []
