"""The evidence behind a questioned grade: whole, in order, and without what is private."""

import io

import pytest
from pypdf import PdfReader

from rubrics.judging.marking import excuse, set_level
from rubrics.models import Mark
from rubrics.publishing.publish import publish
from studio.measuring.readings import take_back
from studio.models import Outcome, Reading
from tests.factories import read_rim, read_wall

PRIVATE = "extra time for a broken wrist"


@pytest.fixture
def questioned(judged):
    """A published piece: measured, one level moved with a reason, one excused in private."""
    read_rim(judged.piece, 95, 95.5, 96, 96.9, 96.5, 96, 95.5, 95.2, made_by=judged.teacher)
    read_wall(judged.piece, 6.0, 7.5, 6.0, 6.0, made_by=judged.student)
    judged.piece.outcomes.create(
        stage="glazed", kind="crawling", doing="craft", noted_by=judged.teacher
    )
    give = {"by": judged.teacher, "expected_version": 99}
    letters = list(judged.c)
    for letter in letters[:-1]:
        set_level(judged.piece, judged.c[letter], 2, reason="seen", reason_text="Seen.", **give)
    excuse(
        judged.piece, judged.c[letters[-1]], reason=Mark.Reason.ACCESS, reason_text=PRIVATE, **give
    )
    publish(judged.project, judged.teacher)
    return judged


def text_of(client, user, piece) -> str:
    client.force_login(user)
    answer = client.get(f"/pieces/{piece.pk}/evidence.pdf")
    assert answer["Content-Type"] == "application/pdf"
    pages = PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_it_holds_readings_marks_outcomes_and_who_did_them(client, questioned):
    text = text_of(client, questioned.teacher, questioned.piece)
    for said in (
        "What the grade of K3-01 stands on",
        "12 readings count, 0 were corrected",
        "read 8 values, leather-hard, by hand",
        "Thea Teach",
        "noted what came of it: crawling",
        "published the marks",
        "no level to level 2",
        "Rim",
    ):
        assert said in text


def test_what_was_done_stands_in_the_order_of_time(client, questioned):
    reading = Reading.objects.filter(quantity="rim_height").first()
    take_back(questioned.piece, reading.stage, reading.pk, by=questioned.teacher)
    text = text_of(client, questioned.teacher, questioned.piece)
    events = text[text.index("in the order of time") :]
    assert events.index("read 8 values") < events.index("published the marks")
    assert events.index("published the marks") < events.index("took a reading back")
    assert "1 were corrected" in text


@pytest.mark.parametrize("reader", ["teacher", "head"])
def test_a_private_reason_is_in_nobodys_file(client, questioned, reader):
    text = text_of(client, getattr(questioned, reader), questioned.piece)
    assert "a reason kept between teacher and student" in text
    assert PRIVATE not in text
    assert "accommodation" not in text.lower()


def test_students_and_outsiders_get_none(client, questioned):
    for reader in (questioned.student, questioned.outsider, questioned.colleague):
        client.force_login(reader)
        assert client.get(f"/pieces/{questioned.piece.pk}/evidence.pdf").status_code == 404


def test_a_piece_nobody_touched_has_a_file_that_says_so(client, judged):
    text = text_of(client, judged.teacher, judged.other_piece)
    assert "No grade stands yet." in text
    assert "Nothing was measured." in text


def test_it_costs_the_same_for_many_readings(client, questioned, count_queries):
    client.force_login(questioned.teacher)
    address = f"/pieces/{questioned.piece.pk}/evidence.pdf"
    few = count_queries(client, address)
    for place in range(12):
        Outcome.objects.create(piece=questioned.piece, stage="wet", kind=f"kind {place}")
    read_wall(questioned.piece, *[6.0] * 16, stage="bisque", made_by=questioned.student)
    assert count_queries(client, address) == few
