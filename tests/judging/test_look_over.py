"""The look-over before publishing, and publishing from it."""

import pytest

from rubrics.judging.marking import excuse, set_level
from rubrics.models import Assessment
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from tests.factories import make_piece, make_project, read, read_wall


@pytest.fixture
def judged(client, school):
    """Three pieces: one ready, one with a reason missing, one unfinished."""
    school.rubric = ensure_starter_rubric()
    choose_rubric(school.project, school.rubric)
    school.c = {each.letter: each for each in school.rubric.criteria.all()}
    school.third = make_piece(school.project, school.amara, "K3-03")
    for piece in (school.piece, school.other_piece):
        read_wall(piece, 6.0, 6.1, 6.0, 6.1)
        for letter in "ACDEFGHI":
            set_level(piece, school.c[letter], 3, school.teacher, expected_version=99)
    set_level(school.piece, school.c["B"], 4, school.teacher, expected_version=99)
    set_level(school.other_piece, school.c["B"], 2, school.teacher, expected_version=99)
    set_level(school.third, school.c["A"], 1, school.teacher, expected_version=0)
    client.force_login(school.teacher)
    return school


def look(client, judged):
    return client.get(f"/projects/{judged.project.pk}/look-over/")


def publish(client, judged, *pieces):
    url = f"/projects/{judged.project.pk}/publish/"
    return client.post(url, {"piece": [piece.pk for piece in pieces]}, follow=True)


def test_the_look_over_tells_what_is_ready_unfinished_and_missing(client, judged):
    page = look(client, judged)
    found = page.context["look"]
    # A, C to I at 85 points and B at 100 of 10 in 100: (90 * 85 + 10 * 100) / 100 = 86.5.
    assert [(row["piece"].code, row["grade"]) for row in page.context["ready"]] == [
        ("K3-01", "87 %, B")
    ]
    assert [(piece.code, len(missing)) for piece, missing in found.unfinished] == [("K3-03", 8)]
    assert [each.piece.code for each in found.reasons_missing] == ["K3-02"]


def test_the_spread_counts_levels_excuses_and_what_is_open(client, judged):
    excuse(judged.third, judged.c["B"], judged.teacher, expected_version=9, reason="kiln")
    page = look(client, judged)
    rows = {row.criterion.letter: row for row in page.context["rows"]}
    assert [cell.count for cell in rows["A"].cells] == [0, 2, 0, 1]
    assert [cell.count for cell in rows["B"].cells] == [1, 0, 1, 0]
    assert (rows["B"].excused, rows["B"].open) == (1, 0)
    assert (rows["C"].excused, rows["C"].open) == (0, 1)
    # Two of three pieces: two thirds of a cell 60 wide, from the right.
    assert (rows["A"].cells[1].x, rows["A"].cells[1].width) == (20.0, 40.0)
    assert {bar["label"]: bar["count"] for bar in page.context["spread"]} == {
        "A": 0,
        "B": 2,
        "C": 0,
        "D": 0,
        "E": 0,
    }


def test_where_eye_and_measure_differ_both_sides_and_the_reason_are_told(client, judged):
    page = look(client, judged)
    (row,) = page.context["differ"]
    assert (row["piece"].code, row["suggested"], row["given"], row["way"]) == (
        "K3-02",
        4,
        2,
        "down",
    )
    assert page.context["differ_words"] == "1 mark leaves its suggestion: 0 up, 1 down."
    assert "no reason yet" in page.content.decode()


def test_a_reading_that_changed_since_is_shown_once_more(client, judged):
    read(judged.piece, "wall_thickness", 12.0, height_mm=80, azimuth_deg=45)
    page = look(client, judged)
    assert [(row["piece"].code, row["was"], row["now"]) for row in page.context["moved"]] == [
        ("K3-01", 4, 1)
    ]


def test_the_chosen_pieces_are_sent_and_the_page_says_so(client, judged):
    page = publish(client, judged, judged.piece)
    assert "1 piece sent." in page.content.decode()
    sent = Assessment.objects.published()
    assert [each.piece.code for each in sent] == ["K3-01"]
    assert sent.get().shown["percent"] == "87"
    assert page.context["ready"] == []


def test_nothing_is_sent_when_one_of_them_is_not_ready(client, judged):
    page = publish(client, judged, judged.piece, judged.third)
    assert "K3-03 lacks" in page.content.decode()
    assert not Assessment.objects.published().exists()


@pytest.mark.parametrize("fields", [{}, {"piece": ["x"]}, {"piece": ["999999"]}])
def test_choosing_nothing_sends_nothing(client, judged, fields):
    url = f"/projects/{judged.project.pk}/publish/"
    page = client.post(url, fields, follow=True)
    assert "nothing was sent" in page.content.decode()
    assert not Assessment.objects.published().exists()


def test_a_piece_of_another_project_is_not_sent_along(client, judged):
    elsewhere = make_project(judged.section, "Coil vase", number=2)
    stranger = make_piece(elsewhere, judged.amara, "Z-1")
    page = publish(client, judged, judged.piece, stranger)
    assert "1 piece sent." in page.content.decode()
    assert not stranger.assessments.exists()


def test_a_grade_of_part_of_the_weight_says_so(client, judged):
    version = judged.piece.assessments.get().version
    excuse(judged.piece, judged.c["C"], judged.teacher, expected_version=version, reason="kiln")
    # Without C's 15 of 100: (75 * 85 + 10 * 100) / 85 = 86.76.
    (row,) = look(client, judged).context["ready"]
    assert row["grade"] == "87 %, B (85 of 100 weight)"
