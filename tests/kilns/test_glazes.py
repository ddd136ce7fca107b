"""Which glaze a piece wears, and what came of every glaze."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from scipy.stats import binomtest

from studio.kilns.glaze_outcomes import by_glaze
from studio.models import GlazeCoat, Load, Outcome, Piece
from tests.factories import make_firing, make_piece, make_student

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_teacher(client, school):
    client.force_login(school.teacher)
    return client


def text(answer):
    return answer.content.decode()


def coat_data(**over):
    return {
        "glaze": "Celadon",
        "part": "outside",
        "way": "brushed",
        "coats": "2",
        "thickness_mm": "0.8",
        "note": "",
        **over,
    }


def test_a_glaze_is_noted_changed_and_taken_away(as_teacher, school):
    piece = school.piece
    path = f"/pieces/{piece.pk}/glaze/"
    assert as_teacher.post(path, coat_data()).url == f"/pieces/{piece.pk}/"
    coat = piece.glazes.get()
    assert (coat.glaze, coat.coats, coat.thickness_mm) == ("Celadon", 2, 0.8)
    assert coat.noted_by == school.teacher
    page = " ".join(text(as_teacher.get(f"/pieces/{piece.pk}/")).split())
    assert "<strong>Celadon</strong> · outside, brushed, 2 coats, 0.80 mm dry" in page
    as_teacher.post(f"/glazes/{coat.pk}/", coat_data(coats="3"))
    coat.refresh_from_db()
    assert coat.coats == 3
    as_teacher.post(f"/glazes/{coat.pk}/", {"remove": "1"})
    assert not piece.glazes.exists()


def test_a_student_notes_the_own_glaze_and_nobody_elses(client, school):
    client.force_login(school.student)
    own = Piece.objects.get(student__login=school.student)
    other = Piece.objects.exclude(pk=own.pk).first()
    client.post(f"/pieces/{own.pk}/glaze/", coat_data())
    assert own.glazes.get().noted_by == school.student
    assert client.post(f"/pieces/{other.pk}/glaze/", coat_data()).status_code == 404
    assert client.get("/glazes/").status_code == 403
    foreign = GlazeCoat.objects.create(piece=other, glaze="Tenmoku")
    assert client.post(f"/glazes/{foreign.pk}/", {"remove": "1"}).status_code == 404


def test_one_spelling_a_glaze_in_a_section(as_teacher, school):
    GlazeCoat.objects.create(piece=school.other_piece, glaze="Floating Blue")
    as_teacher.post(f"/pieces/{school.piece.pk}/glaze/", coat_data(glaze=" floating  BLUE "))
    assert school.piece.glazes.get().glaze == "Floating Blue"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"glaze": ""}, "This field is required."),
        ({"coats": "0"}, "One to 12 coats; empty if nobody counted."),
        ({"coats": "40"}, "One to 12 coats"),
        ({"thickness_mm": "9"}, "cannot be meant here"),
        ({"thickness_mm": "thick"}, "thick"),
    ],
)
def test_what_cannot_be_is_a_sentence_and_nothing_is_lost(as_teacher, school, change, said):
    answer = as_teacher.post(f"/pieces/{school.piece.pk}/glaze/", coat_data(note="Ran", **change))
    assert answer.status_code == 422
    assert said in text(answer)
    assert 'value="Ran"' in text(answer)
    assert not GlazeCoat.objects.exists()


def test_the_same_glaze_twice_in_one_place_is_asked_about(as_teacher, school):
    path = f"/pieces/{school.piece.pk}/glaze/"
    as_teacher.post(path, coat_data())
    assert "is noted there already" in text(as_teacher.post(path, coat_data(coats="1")))
    as_teacher.post(path, coat_data(part="inside"))
    assert school.piece.glazes.count() == 2


@pytest.fixture
def glazed(school):
    """Twelve with Celadon: 4 of 2 coats whole, 8 of 3 of which 5 ran; two wait for the fire."""
    for number in range(14):
        student = make_student(school.section, f"Student {number}")
        stage = "glazed" if number < 12 else "bisque"
        piece = make_piece(school.project, student, f"G-{number:02}", stage=stage)
        coats = 2 if number < 4 else 3
        GlazeCoat.objects.create(
            piece=piece, glaze="Celadon" if number % 2 else "celadon", coats=coats,
            thickness_mm=0.5 + number / 10,
        )  # fmt: skip
        if 4 <= number < 9:
            Outcome.objects.create(piece=piece, stage="glazed", kind="glaze run")
            Outcome.objects.create(piece=piece, stage="glazed", kind="seam crack")
        elif number < 12:
            Outcome.objects.create(piece=piece, stage="glazed", kind="sound")
    return school


def test_outcomes_are_counted_by_glaze_with_their_interval(glazed):
    (row,) = by_glaze(Piece.objects.all())
    assert (row.out, row.waiting) == (12, 2)
    expected = binomtest(5, 12).proportion_ci(0.95, method="wilson")
    assert (row.flawed.count, row.flawed.total) == (5, 12)
    assert (row.flawed.low, row.flawed.high) == pytest.approx((expected.low, expected.high))
    assert [(kind, share.count) for kind, share in row.kinds] == [("glaze run", 5)]
    assert [(each.coats, each.flawed.count, each.flawed.total) for each in row.coats] == [
        ("2", 0, 4),
        ("3", 5, 8),
    ]
    assert row.thickness_mm == pytest.approx((0.5, 1.8))


def test_the_page_tells_them_and_claims_nothing_about_food(client, glazed):
    client.force_login(glazed.teacher)
    page = " ".join(text(client.get("/glazes/")).split())
    assert "With a fault of the glaze: 5 of 12." in page
    assert "says nothing about what may be eaten or drunk from it" in page


def test_a_colleague_sees_nothing_of_it(client, glazed):
    client.force_login(glazed.colleague)
    page = text(client.get("/glazes/"))
    assert "Celadon" not in page
    assert "No glaze is noted yet." in page


def test_more_pieces_ask_no_more_queries(client, glazed, count_queries):
    client.force_login(glazed.teacher)
    before = count_queries(client, "/glazes/")
    for number in range(20, 40):
        student = make_student(glazed.section, f"Student {number}")
        piece = make_piece(glazed.project, student, f"G-{number}", stage="glazed")
        GlazeCoat.objects.create(piece=piece, glaze=f"Glaze {number}")
    assert count_queries(client, "/glazes/") == before


@pytest.fixture
def glaze_fire(school):
    Piece.objects.update(stage="bisque")
    return make_firing(
        school.teacher, school.piece, school.other_piece, kind="glazed", planned_cone="6"
    )


def many(firing, **over):
    """What the pages of a firing send for the glaze of every piece in it."""
    coat = {f"coat-{name}": value for name, value in coat_data().items()}
    ticks = [str(load.pk) for load in firing.loads.all()]
    return {**coat, "glaze": "1", "loads": ticks, **over}


@pytest.mark.parametrize("page", ["load", "unload"])
def test_a_glaze_is_noted_of_many_pieces_at_once(as_teacher, school, glaze_fire, page):
    path = f"/firings/{glaze_fire.pk}/{page}/"
    assert "Which glaze the ticked wear" in text(as_teacher.get(path))
    told = text(as_teacher.post(path, many(glaze_fire), follow=True))
    assert "Celadon is noted of 2 pieces." in told
    found = GlazeCoat.objects.values_list("glaze", "part", "way", "coats", "thickness_mm")
    assert list(found) == [("Celadon", "outside", "brushed", 2, 0.8)] * 2
    assert {coat.noted_by for coat in GlazeCoat.objects.all()} == {school.teacher}
    assert {coat.piece for coat in GlazeCoat.objects.all()} == {school.piece, school.other_piece}


def test_what_a_student_noted_before_stays_and_is_named(as_teacher, school, glaze_fire):
    own = GlazeCoat.objects.create(piece=school.piece, glaze="Celadon", part="outside", coats=5)
    path = f"/firings/{glaze_fire.pk}/unload/"
    told = text(as_teacher.post(path, many(glaze_fire, **{"coat-glaze": "CELADON"}), follow=True))
    own.refresh_from_db()
    assert own.coats == 5
    assert school.other_piece.glazes.get().glaze == "Celadon"
    assert f"left as it was: {school.piece.code}." in told


@pytest.mark.parametrize("page", ["load", "unload"])
@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"loads": []}, "Tick the pieces that wear this glaze."),
        ({"coat-coats": "40"}, "One to 12 coats"),
        ({"coat-thickness_mm": "9"}, "cannot be meant here"),
        ({"coat-glaze": ""}, "This field is required."),
    ],
)
def test_a_slip_in_the_glaze_of_many_loses_nothing(
    as_teacher, school, glaze_fire, page, change, said
):
    sent = many(glaze_fire, **{"coat-note": "Ran", **change})
    answer = as_teacher.post(f"/firings/{glaze_fire.pk}/{page}/", sent)
    assert answer.status_code == 422
    assert said in text(answer)
    assert 'value="Ran"' in text(answer)
    for load in glaze_fire.loads.all():
        assert text(answer).count(f'value="{load.pk}"') >= 1
    assert text(answer).count("data-tick checked") == len(sent["loads"])
    assert not GlazeCoat.objects.exists()


def test_a_glaze_that_was_typed_is_noted_whatever_button_sends_it(as_teacher, school, glaze_fire):
    sent = many(glaze_fire, shelf="1")
    del sent["glaze"]
    before = list(glaze_fire.loads.values_list("shelf", flat=True))
    told = text(as_teacher.post(f"/firings/{glaze_fire.pk}/load/", sent, follow=True))
    assert "The shelves are as they were" in told
    assert list(glaze_fire.loads.values_list("shelf", flat=True)) == before
    assert GlazeCoat.objects.count() == 2
    both = many(glaze_fire, **{"coat-glaze": "Tenmoku", "kind": "glaze run", "severity": "1"})
    del both["glaze"]
    as_teacher.post(f"/firings/{glaze_fire.pk}/unload/", both)
    assert GlazeCoat.objects.filter(glaze="Tenmoku").count() == 2
    assert Outcome.objects.filter(kind="glaze run").count() == 2


def test_a_finding_beside_the_glaze_stays_filled_in(as_teacher, school, glaze_fire):
    sent = many(glaze_fire, kind="glaze run", severity="1", note="By the foot")
    page = text(as_teacher.post(f"/firings/{glaze_fire.pk}/unload/", sent))
    assert GlazeCoat.objects.count() == 2
    assert not Outcome.objects.exists()
    assert 'value="By the foot"' in page


def test_nothing_is_glazed_in_a_bisque_firing(as_teacher, school):
    Piece.objects.update(stage="bone dry")
    fire = make_firing(school.teacher, school.piece, kind="bisque", planned_cone="06")
    path = f"/firings/{fire.pk}/load/"
    assert "Which glaze the ticked wear" not in text(as_teacher.get(path))
    told = text(as_teacher.post(path, many(fire), follow=True))
    assert "note it in the glaze firing" in told
    assert not GlazeCoat.objects.exists()


def test_a_colleagues_piece_is_not_glazed_from_here(client, school, glaze_fire):
    client.force_login(school.colleague)
    client.post(f"/firings/{glaze_fire.pk}/unload/", many(glaze_fire))
    assert not GlazeCoat.objects.exists()


@pytest.mark.parametrize("page", ["load", "unload"])
def test_the_glaze_of_more_pieces_asks_no_more_queries(as_teacher, school, glaze_fire, page):
    def asked(**over):
        with CaptureQueriesContext(connection) as seen:
            as_teacher.post(f"/firings/{glaze_fire.pk}/{page}/", many(glaze_fire, **over))
        return len(seen)

    few = asked()
    for number in range(12):
        student = make_student(school.section, f"Student {number}")
        piece = make_piece(school.project, student, f"G-{number:02}", stage="bisque")
        Load.objects.create(firing=glaze_fire, piece=piece)
    assert asked(**{"coat-glaze": "Tenmoku"}) == few
    assert GlazeCoat.objects.filter(glaze="Tenmoku").count() == 14
