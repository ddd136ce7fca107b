"""The measuring sheet over real requests."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from studio.models import Instrument, Reading
from studio.ware.stations import TITLES
from tests.factories import make_piece, read, read_wall
from tests.pages import page_text

pytestmark = pytest.mark.django_db

MOST_QUERIES = 15


@pytest.fixture
def teacher(client, school):
    client.force_login(school.teacher)
    return client


def sheet(client, school, **query):
    return client.get(reverse("measure", args=[school.project.pk]), query)


def save(client, school, **sent):
    wanted = {
        "piece": school.piece.pk,
        "stage": "leather-hard",
        "set": "wall-4",
        "column": "z45-0",
        "value": "6.4",
        "where": "",
        "base": "",
        "instrument": "",
    }
    response = client.post(
        reverse("reading_save", args=[school.project.pk]), wanted | sent, secure=False
    )
    return response.status_code, response.json()


def typed():
    return list(Reading.objects.current().order_by("pk").values_list("typed", flat=True))


# -- the page --------------------------------------------------------------------------------


def test_pieces_go_down_and_stations_across_with_what_was_read(teacher, school):
    read_wall(school.piece, 6.4, 6.2, 6.0)
    page = page_text(sheet(teacher, school, stage="leather-hard", set="wall-4"))
    shown = Reading.objects.get(azimuth_deg=120)
    assert f'name="v.{school.piece.pk}.z45-90."' in page
    assert 'aria-label="K3-01, Handle, 45 up"' in page
    assert f'name="v.{school.other_piece.pk}.z45-0."' in page
    assert page.index("K3-01") < page.index("K3-02")
    # A reading at 120° has no column here; it is counted, not hidden.
    assert shown.station == "z45 az120"
    assert "2 more readings of this kind at other stations" in page


@pytest.mark.parametrize("key", TITLES)
@pytest.mark.parametrize("stage", ["wet", "glazed"])
def test_every_sheet_opens(teacher, school, key, stage):
    response = sheet(teacher, school, stage=stage, set=key)
    assert response.context["chosen"].key == key
    assert response.context["stage"] == stage
    assert f"<h1>{TITLES[key]}</h1>" in page_text(response)


def test_a_sheet_nobody_has_is_the_usual_one_at_the_stage_most_pieces_are_at(teacher, school):
    make_piece(school.project, school.bao, "K3-03", stage="bisque")
    make_piece(school.project, school.bao, "K3-04", stage="bisque")
    context = sheet(teacher, school, stage="soggy", set="nonsense").context
    assert (context["chosen"].key, context["stage"]) == ("wall-4", "bisque")


def test_what_was_written_is_shown_exactly_in_a_section_of_inches_too(teacher, school):
    save(teacher, school, value="1/4 in")
    save(teacher, school, column="z45-90", value="6.350")
    lines = sheet(teacher, school, stage="leather-hard").context["lines"]
    texts = [cell.text for cell in lines[0].cells]
    assert texts == ["1/4 in", "6.350", "", ""]
    school.section.unit = "in"
    school.section.save()
    lines = sheet(teacher, school, stage="leather-hard").context["lines"]
    texts = [cell.text for cell in lines[0].cells]
    assert texts == ["1/4", "6.350 mm", "", ""]


def test_an_empty_project_says_what_to_do(teacher, school):
    school.project.pieces.all().delete()
    assert "No pieces yet." in page_text(sheet(teacher, school))


def queries(teacher, school, key):
    with CaptureQueriesContext(connection) as caught:
        assert sheet(teacher, school, stage="leather-hard", set=key).status_code == 200
    return len(caught)


@pytest.mark.parametrize("key", ["wall-12", "sizes", "handle"])
def test_thirty_pieces_take_as_many_queries_as_three(teacher, school, key):
    read_wall(make_piece(school.project, school.bao, "A-0"), 6.4, 6.2, 6.0, 6.1)
    few = queries(teacher, school, key)
    for number in range(27):
        piece = make_piece(school.project, school.bao, f"B-{number}")
        read_wall(piece, 6.4, 6.2, 6.0, 64)
    assert queries(teacher, school, key) == few
    assert few <= MOST_QUERIES


def test_open_questions_take_a_fixed_number_of_queries(teacher, school):
    def ask(code):
        piece = make_piece(school.project, school.bao, code)
        read_wall(piece, 6.4, 6.2, 6.0)
        read(piece, "wall_thickness", 64, height_mm=45, azimuth_deg=270, doubt="64?")

    ask("A-0")
    few = queries(teacher, school, "wall-4")
    for number in range(9):
        ask(f"B-{number}")
    assert queries(teacher, school, "wall-4") == few <= MOST_QUERIES


# -- doors -----------------------------------------------------------------------------------


def test_a_head_reads_the_sheet_and_changes_nothing(client, school):
    client.force_login(school.head)
    read_wall(school.piece, 6.4)
    page = page_text(sheet(client, school, stage="leather-hard"))
    assert '<td class="num">6.4</td>' in page
    assert "data-cell" not in page
    assert "measure.js" not in page
    url = reverse("measure", args=[school.project.pk])
    name = f"v.{school.piece.pk}.z45-0."
    assert client.post(url, {"stage": "wet", "set": "wall-4", name: "6"}).status_code == 403
    assert client.post(reverse("reading_save", args=[school.project.pk])).status_code == 403
    assert typed() == ["6.4"]


@pytest.mark.parametrize("who", ["colleague", "student", "outsider"])
def test_nobody_else_has_a_sheet(client, school, who):
    client.force_login(getattr(school, who))
    assert sheet(client, school).status_code == 404
    assert client.post(reverse("reading_save", args=[school.project.pk])).status_code == 404


def test_a_piece_of_another_project_is_not_on_this_sheet(teacher, school):
    from tests.factories import make_project

    other = make_piece(make_project(school.section, number=4), school.bao, "K4-01")
    url = reverse("reading_save", args=[school.project.pk])
    sent = {"piece": other.pk, "stage": "wet", "set": "wall-4", "column": "z45-0", "value": "6"}
    assert teacher.post(url, sent).status_code == 404
    assert Reading.objects.count() == 0


# -- saving a cell ---------------------------------------------------------------------------


def test_a_cell_saves_and_says_what_it_holds(teacher, school):
    calliper = Instrument.objects.get(name="calliper")
    status, answer = save(teacher, school, value=" 6,4 ", instrument=calliper.pk)
    one = Reading.objects.get()
    assert status == 200
    assert answer == {
        "state": "saved", "shown": "6.4", "where": "", "reading_id": one.pk, "doubt": False,
        "question": "", "suggestion": "", "sentence": "", "field": "", "taken": "",
    }  # fmt: skip
    assert (one.value, one.station, one.instrument, one.made_by) == (
        6.4,
        "z45 az0",
        calliper,
        school.teacher,
    )


def three_walls(teacher, school):
    for column, value in (("z45-0", "6.4"), ("z45-90", "6.2"), ("z45-180", "6.0")):
        save(teacher, school, column=column, value=value)


def test_a_likely_slip_is_saved_and_asked_about(teacher, school):
    three_walls(teacher, school)
    status, answer = save(teacher, school, column="z45-270", value="0.64")
    assert status == 200
    assert (answer["shown"], answer["doubt"]) == ("0.64", True)
    assert (answer["question"], answer["suggestion"]) == ("0.64? Did you mean 6.4?", "6.4")
    assert Reading.objects.exclude(doubt="").get().value == 0.64
    page = page_text(sheet(teacher, school, stage="leather-hard"))
    assert "Left, 45 up: 0.64? Did you mean 6.4?" in page
    assert 'data-suggestion="6.4"' in page


def test_a_point_left_out_is_put_in_and_marked_also_after_a_reload(teacher, school):
    three_walls(teacher, school)
    status, answer = save(teacher, school, column="z45-270", value="64")
    assert (status, answer["shown"], answer["taken"]) == (200, "6.4", "64")
    assert not answer["doubt"]
    one = Reading.objects.get(azimuth_deg=270)
    assert (one.value, one.typed) == (6.4, "64 taken as 6.4 mm")
    page = page_text(sheet(teacher, school, stage="leather-hard"))
    assert 'data-taken="64"' in page
    # Written with its unit it is what the hand insists on, and asked about like any other.
    _, answer = save(teacher, school, column="z45-270", value="64 mm", base=one.pk)
    assert (answer["shown"], answer["taken"]) == ("64", "")
    assert answer["question"] == "64? Did you mean 6.4?"


def test_a_number_that_no_such_size_can_be_may_lack_its_point_too(teacher, school):
    """1045 mm is above every rim that is taken; 104.5 is what the plan expects, nearly."""
    sent = {"set": "rim-4", "column": "az0"}
    assert save(teacher, school, value="1045", **sent)[1]["shown"] == "104.5"
    status, answer = save(teacher, school, value="9999", **sent)
    assert (status, answer["shown"]) == (422, "9999")


def test_it_stands_takes_the_question_off(teacher, school):
    read_wall(school.other_piece, 6, 6, 6)
    _, asked = save(teacher, school, value="64 mm")
    status, answer = save(teacher, school, value="64", base=asked["reading_id"], stand="1")
    assert (status, answer["state"], answer["doubt"]) == (200, "saved", False)
    assert Reading.objects.filter(doubt="").filter(value=64).count() == 1


def rim(teacher, school, azimuth, value, **sent):
    return save(teacher, school, set="rim-4", column=f"az{azimuth}", value=value, **sent)


@pytest.mark.parametrize(
    ("first", "then", "shown"),
    [
        ("95", "+1", "96"),
        ("95", "-.5", "94.5"),
        ("95.5", "−1,5", "94"),
        ("4 in", "+1/16 in", "103.188"),
        # A whole size with its sign, as some callipers type it.
        ("95", "+95.5", "95.5"),
    ],
)
def test_more_or_less_than_the_first_of_the_row(teacher, school, first, then, shown):
    rim(teacher, school, 0, first)
    status, answer = rim(teacher, school, 90, then)
    assert (status, answer["shown"]) == (200, shown)
    assert answer["taken"] == ("" if then == "+95.5" else then)


def test_a_difference_follows_the_first_as_it_was_taken(teacher, school):
    """The first was typed without its point: what counts is what it was taken for."""
    for number, height in ((0, 95.5), (90, 95), (180, 96)):
        read(school.other_piece, "rim_height", height, azimuth_deg=number)
    assert rim(teacher, school, 0, "955")[1]["shown"] == "95.5"
    _, answer = rim(teacher, school, 90, "+1")
    assert (answer["shown"], answer["question"]) == ("96.5", "")
    assert Reading.objects.get(piece=school.piece, azimuth_deg=90).typed == "+1 taken as 96.5 mm"


def test_a_difference_that_lies_far_off_is_asked_about_like_any_other(teacher, school):
    for number, height in ((0, 95.5), (90, 95), (180, 96)):
        read(school.piece, "rim_height", height, azimuth_deg=number)
    assert rim(teacher, school, 270, "+19")[1]["doubt"]


def test_a_difference_without_a_first_says_what_it_counts_from(teacher, school):
    status, answer = rim(teacher, school, 90, "+1")
    assert (status, answer["shown"]) == (422, "+1")
    assert answer["sentence"] == "+1 counts from the first (Handle, 0°); read that one first."
    _, answer = rim(teacher, school, 0, "+1")
    assert answer["sentence"] == "+1: this is the first here; write the whole size."


def test_the_ends_of_a_wall_take_their_side_by_a_letter(teacher, school):
    ends = {"set": "wall-ends"}
    _, thin = save(teacher, school, column="thinnest", value="5.8b", **ends)
    _, thick = save(teacher, school, column="thickest", value="71", where="h", **ends)
    assert (thin["shown"], thin["where"]) == ("5.8", "b")
    assert (thick["shown"], thick["where"]) == ("7.1", "h")
    read = Reading.objects.values_list("quantity", "name", "value", "azimuth_deg")
    assert list(read) == [
        ("wall_end", "thinnest", 5.8, 180),
        ("wall_end", "thickest", 7.1, 0),
    ]
    _, again = save(teacher, school, column="thickest", value="7.1 mm br", base=thick["reading_id"],
                    **ends)  # fmt: skip
    assert (again["shown"], again["where"]) == ("7.1", "br")
    _, angle = save(teacher, school, column="thinnest", value="5.8", where="20",
                    base=thin["reading_id"], **ends)  # fmt: skip
    assert angle["where"] == "20"
    _, nowhere = save(teacher, school, piece=school.other_piece.pk, column="thinnest", value="5",
                      **ends)  # fmt: skip
    assert nowhere["sentence"] == "Write the place too (side): without it nothing is known."


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        ("x", "“x” is not a size. Write a number such as 6.4, 6.4 mm or 1/4 in."),
        ("1/4", "“1/4” is a fraction without a unit. Write 1/4 in, or a decimal number."),
        ("4°", "“4°” is in deg, but this is read in mm, cm, in."),
        ("3 m", "“3 m”: metres are not used here; write mm or cm. Known here: mm, cm, in."),
        ("900", "900 mm cannot be a wall; it lies between 0.1 mm and 200 mm."),
        ("nan", "“nan” is not a size. Write a number such as 6.4, 6.4 mm or 1/4 in."),
    ],
)
def test_what_is_no_size_is_told_and_stays(teacher, school, value, sentence):
    status, answer = save(teacher, school, value=value)
    assert (status, answer["state"], answer["field"]) == (422, "problem", "value")
    assert (answer["sentence"], answer["shown"]) == (sentence, value)
    assert Reading.objects.count() == 0


@pytest.mark.parametrize(
    "sent",
    [{"stage": "soggy"}, {"set": "x"}, {"column": ""}, {"piece": "x"}, {"base": "x"}],
)
def test_a_cell_that_makes_no_sense_gets_a_sentence(teacher, school, sent):
    status, answer = save(teacher, school, **sent)
    assert status == 422
    assert "load the page again" in answer["sentence"]


def test_a_column_that_is_gone_gets_a_sentence(teacher, school):
    status, answer = save(teacher, school, column="z45-33")
    assert (status, answer["shown"]) == (422, "6.4")
    assert answer["sentence"] == "This column is not on the sheet any more; load the page again."


def test_two_windows_conflict_with_both_values_and_one_may_be_put_in(teacher, school):
    _, first = save(teacher, school, value="6.4")
    status, answer = save(teacher, school, value="6.9", base="")
    assert (status, answer["state"]) == (409, "conflict")
    assert answer["sentence"] == "Another window wrote 6.4 here. Yours is 6.9."
    assert (answer["shown"], answer["reading_id"]) == ("6.4", first["reading_id"])
    assert typed() == ["6.4 mm"]
    status, _ = save(teacher, school, value="6.9", base=answer["reading_id"])
    assert (status, typed()) == (200, ["6.9 mm"])


def test_the_same_sent_again_after_a_lost_answer_is_no_conflict(teacher, school):
    _, first = save(teacher, school, value="6.4")
    status, again = save(teacher, school, value="6.4", base="")
    assert (status, again["reading_id"]) == (200, first["reading_id"])


def test_an_emptied_cell_takes_its_reading_back_and_offers_it(teacher, school):
    _, first = save(teacher, school, value="1/4 in")
    status, answer = save(teacher, school, value="", base=first["reading_id"])
    assert (status, answer["state"], answer["suggestion"]) == (200, "taken back", "1/4 in")
    assert answer["sentence"] == "1/4 in was taken back."
    assert typed() == []
    assert Reading.objects.get().taken_back_by == school.teacher


def test_an_attachment_needs_its_side_and_is_one_wherever_it_sits(teacher, school):
    top = {"set": "handle", "column": "top"}
    status, answer = save(teacher, school, value="70", **top)
    assert (status, answer["field"], answer["shown"]) == (422, "azimuth_deg", "70")
    assert answer["sentence"] == "Write the place too (side, °): without it nothing is known."
    _, first = save(teacher, school, value="70", where="-2", **top)
    assert first["where"] == "358"
    save(teacher, school, value="70", where="5", base=first["reading_id"], **top)
    one = Reading.objects.current().get()
    assert (one.value, one.azimuth_deg, one.supersedes_id) == (70, 5, first["reading_id"])


def test_an_instrument_of_another_unit_is_left_out(teacher, school):
    protractor = Instrument.objects.get(name="protractor")
    save(teacher, school, instrument=protractor.pk)
    assert Reading.objects.get().instrument is None


# -- without scripts -------------------------------------------------------------------------


def post_sheet(client, school, cells, **sent):
    data = {"stage": "leather-hard", "set": "wall-4"} | sent
    for (piece, column, base), text in cells.items():
        data[f"v.{piece.pk}.{column}.{base}"] = text
    return client.post(reverse("measure", args=[school.project.pk]), data, follow=True)


def test_the_plain_form_saves_what_was_changed_and_tells_the_rest(teacher, school):
    _, first = save(teacher, school, value="6.4")
    _, second = save(teacher, school, column="z45-90", value="6.2")
    cells = {
        (school.piece, "z45-0", first["reading_id"]): "6.4",
        (school.piece, "z45-90", second["reading_id"]): "6.3",
        (school.piece, "z45-180", ""): "x",
        (school.piece, "z45-270", ""): "",
        (school.other_piece, "z45-0", ""): "7",
    }
    response = post_sheet(teacher, school, cells)
    page = page_text(response)
    assert typed() == ["6.4 mm", "6.3 mm", "7 mm"]
    assert "2 readings saved. 1 cell still open; what you typed stays." in page
    assert "Back, 45 up: “x” is not a size." in page
    assert 'value="x"' in page


def test_the_plain_form_leaves_alone_what_nobody_touched(teacher, school):
    _, first = save(teacher, school, value="6.4")
    save(teacher, school, value="6.9", base=first["reading_id"])
    response = post_sheet(teacher, school, {(school.piece, "z45-0", first["reading_id"]): "6.4"})
    assert "Nothing had changed." in page_text(response)
    assert typed() == ["6.9 mm"]


def test_the_plain_form_conflicts_and_puts_one_s_own_in_when_asked_again(teacher, school):
    _, first = save(teacher, school, value="6.4")
    _, second = save(teacher, school, value="6.9", base=first["reading_id"])
    page = page_text(
        post_sheet(teacher, school, {(school.piece, "z45-0", first["reading_id"]): "7.5"})
    )
    assert "Another window wrote 6.9 here. Yours is 7.5. Save again to put yours in." in page
    assert f'name="v.{school.piece.pk}.z45-0.{second["reading_id"]}" value="7.5"' in page
    post_sheet(teacher, school, {(school.piece, "z45-0", second["reading_id"]): "7.5"})
    assert typed() == ["7.5 mm"]


def test_the_plain_form_answers_a_question(teacher, school):
    read_wall(school.other_piece, 6, 6, 6)
    _, asked = save(teacher, school, value="64 mm")
    base = asked["reading_id"]
    post_sheet(teacher, school, {(school.piece, "z45-0", base): "64"}, stand=str(base))
    assert Reading.objects.get(pk=base).doubt == ""


def test_the_plain_form_keeps_the_columns_it_was_sent(teacher, school):
    """Heights that other readings made usual meanwhile do not drop what was typed."""
    read_wall(school.other_piece, 6, 6, 6, 6)
    post_sheet(teacher, school, {(school.piece, "z30-0", ""): "6.1"})
    assert Reading.objects.get(piece=school.piece).station == "z30 az0"


def test_a_posted_reading_of_another_class_is_not_looked_at(teacher, school):
    from tests.factories import make_project, make_section

    elsewhere = make_project(make_section(name="Elsewhere"), number=9)
    foreign = make_piece(elsewhere, school.bao, "X-1")
    theirs = read(foreign, "wall_thickness", 9, height_mm=45, azimuth_deg=0)
    page = page_text(post_sheet(teacher, school, {(school.piece, "z45-0", theirs.pk): ""}))
    theirs.refresh_from_db()
    assert theirs.superseded_at is None
    assert "Nothing had changed." in page


def test_of_several_heights_read_alike_a_short_sheet_shows_the_middle_one(teacher, school):
    for height in (20, 45, 70):
        for azimuth in (0, 90, 180, 270):
            read(school.piece, "wall_thickness", 6, height_mm=height, azimuth_deg=azimuth)
    chosen = sheet(teacher, school, stage="leather-hard", set="wall-4").context["chosen"]
    assert {column.height_mm for column in chosen.columns} == {45}


def test_what_a_photo_told_stands_in_the_cell_until_a_hand_reads_it(teacher, school):
    read(school.piece, "dimension", 94.237, name="height", source="photo", own_u=0.4)
    page = page_text(sheet(teacher, school, stage="leather-hard", set="sizes"))
    assert 'placeholder="photo 94.2"' in page
    assert "What you type there counts instead." in page
    save(teacher, school, set="sizes", column="height", value="94.5")
    page = page_text(sheet(teacher, school, stage="leather-hard", set="sizes"))
    assert "photo 94.2" not in page
    assert sorted(typed()) == ["94.237", "94.5 mm"]
