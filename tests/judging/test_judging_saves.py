"""What a key on a judging page saves: marks, reasons, undo, two windows, forms without a script."""

import pytest
from django.test import Client

from rubrics.judging.marking import keep_rest, set_level
from rubrics.models import Mark, MarkChange
from rubrics.publishing.publish import publish
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.models import Reading
from tests.factories import make_piece, read, read_wall

SCRIPT = {"headers": {"accept": "application/json"}}


@pytest.fixture
def judged(school):
    """The school, judged by the starter rubric; both pieces measure level 4 on the wall."""
    school.rubric = ensure_starter_rubric()
    choose_rubric(school.project, school.rubric)
    school.c = {each.letter: each for each in school.rubric.criteria.all()}
    for piece in (school.piece, school.other_piece):
        read_wall(piece, 6.0, 6.1, 6.0, 6.1)
    return school


@pytest.fixture
def key(client, judged):
    """Return ``key(**fields)``: one key on K3-01's wall, as the page's script sends it."""
    client.force_login(judged.teacher)

    def press(piece=None, letter="B", **fields):
        piece = piece or judged.piece
        decision = fields.get("level") or (fields.get("excused") and "excused")
        decision = decision or (fields.get("clear") and "none")
        if decision:
            fields = {"chosen": decision} | fields
        return client.post(
            f"/pieces/{piece.pk}/marks/{judged.c[letter].pk}/", {"version": 0} | fields, **SCRIPT
        )

    return press


def the_mark(judged, letter="B", piece=None):
    return Mark.objects.get(assessment__piece=piece or judged.piece, criterion=judged.c[letter])


# -- one key ---------------------------------------------------------------------------------------


def test_a_digit_saves_and_answers_what_the_page_needs(key, judged):
    answer = key(level=4).json()
    assert answer == {
        "state": "saved",
        "mark": {
            "piece": judged.piece.pk,
            "criterion": judged.c["B"].pk,
            "code": "K3-01",
            "version": 1,
            "sent": False,
            "excused": False,
            "state": "kept",
            "words": "kept",
            "level": 4,
            "place": "4",
            "wants_reason": False,
            "was_suggested": 4,
            "reason": "",
            "reason_text": "",
            "reason_words": "",
            "note": "",
        },
        "done": 1,
        "of": 2,
        "said": "K3-01: 4 Assured, kept.",
    }
    assert the_mark(judged).level.number == 4


def test_a_level_that_leaves_the_suggestion_is_saved_and_asks_why(key, judged):
    answer = key(level=2).json()
    mark = answer["mark"]
    assert (mark["state"], mark["words"], mark["wants_reason"]) == ("down", "down from 4", True)
    again = key(version=mark["version"], reason="seen", reason_text="A lump by the seam").json()
    assert again["mark"]["wants_reason"] is False
    stored = the_mark(judged)
    assert (stored.level.number, stored.reason, stored.reason_text) == (
        2,
        "seen",
        "A lump by the seam",
    )


@pytest.mark.parametrize(
    "fields",
    [
        {"level": 4, "chosen": ""},
        {"level": 4, "chosen": 2},
        {"level": 4, "chosen": "excused"},
        {"level": 4, "chosen": "none"},
        {"excused": "1", "chosen": 3},
        {"clear": "1", "chosen": 4},
    ],
)
def test_nothing_is_saved_that_the_page_did_not_show_as_chosen(key, judged, fields):
    key(level=3, note="Even.", version=0)
    answer = key(version=1, **fields)
    assert answer.status_code == 400
    assert "while the page showed" in answer.json()["sentence"]
    assert (the_mark(judged).level.number, the_mark(judged).note) == (3, "Even.")


def test_a_level_without_what_the_page_showed_is_refused(client, judged):
    client.force_login(judged.teacher)
    url = f"/pieces/{judged.piece.pk}/marks/{judged.c['B'].pk}/"
    for extra in (SCRIPT, {}):
        assert client.post(url, {"version": 0, "level": 4}, **extra).status_code == 400
    assert not Mark.objects.exists()


@pytest.mark.parametrize(
    ("chosen", "stored"), [("2", (2, False)), ("excused", (None, True)), ("none", (None, False))]
)
def test_a_plain_form_sends_what_is_checked(client, judged, chosen, stored):
    client.force_login(judged.teacher)
    set_level(judged.piece, judged.c["B"], 4, judged.teacher, expected_version=0)
    url = f"/pieces/{judged.piece.pk}/marks/{judged.c['B'].pk}/"
    assert client.post(url, {"version": 1, "chosen": chosen}).status_code == 302
    mark = the_mark(judged)
    assert (mark.level.number if mark.level else None, mark.excused) == stored


def test_excusing_asks_why_and_leaves_no_level(key, judged):
    mark = key(excused="1").json()["mark"]
    assert (mark["state"], mark["place"], mark["wants_reason"]) == ("excused", "aside", True)
    assert the_mark(judged).level is None


def test_clearing_puts_the_piece_back_where_it_is_suggested(key, judged):
    version = key(level=2).json()["mark"]["version"]
    answer = key(version=version, clear="1").json()
    mark = answer["mark"]
    assert (mark["state"], mark["place"], answer["done"]) == ("suggested", "4", 0)


def test_a_note_is_kept_apart_from_the_level(key, judged):
    version = key(level=4).json()["mark"]["version"]
    key(version=version, note="Even all round.")
    mark = the_mark(judged)
    assert (mark.level.number, mark.note) == (4, "Even all round.")


@pytest.mark.parametrize(
    "fields",
    [
        {"level": "5"},
        {"level": "four"},
        {"version": "-1", "level": "4"},
        {"version": "", "level": "4"},
        {},
        {"level": "4", "excused": "1"},
        {"reason": "because"},
        {"level": "4", "why": "x" * 400},
    ],
)
def test_nonsense_is_refused_in_a_sentence_and_nothing_is_saved(key, judged, fields):
    answer = key(**fields)
    assert answer.status_code == 400
    assert answer.json()["sentence"].strip().endswith((".", "choices.", ")"))
    assert not judged.piece.assessments.exists()


def test_the_count_leaves_out_lost_pieces(key, judged):
    gone = make_piece(judged.project, judged.amara, "K3-09", state="lost")
    set_level(gone, judged.c["B"], 1, judged.teacher, expected_version=0)
    answer = key(level=4).json()
    assert (answer["done"], answer["of"]) == (1, 2)


# -- two windows -----------------------------------------------------------------------------------


def test_two_windows_never_overwrite_each_other_silently(judged):
    windows = [Client(), Client()]
    for window in windows:
        window.force_login(judged.teacher)
    url = f"/pieces/{judged.piece.pk}/marks/{judged.c['B'].pk}/"
    first = windows[0].post(url, {"version": 0, "level": 3, "chosen": 3}, **SCRIPT)
    second = windows[1].post(url, {"version": 0, "level": 1, "chosen": 1}, **SCRIPT)
    assert first.status_code == 200
    assert second.status_code == 409
    answer = second.json()
    assert (answer["state"], answer["version"]) == ("conflict", 1)
    assert (answer["theirs"], answer["mine"]) == ("level 3", "level 1")
    assert answer["who"] == "Thea Teach"
    assert answer["mark"]["level"] == 3
    assert the_mark(judged).level.number == 3
    # Having seen both, the second window may still have its way.
    settled = windows[1].post(
        url, {"version": answer["version"], "level": 1, "chosen": 1}, **SCRIPT
    )
    assert settled.status_code == 200
    assert the_mark(judged).level.number == 1


def test_the_same_key_sent_twice_is_no_quarrel(key, judged):
    assert key(level=3).status_code == 200
    assert key(level=3).status_code == 200
    assert MarkChange.objects.count() == 1


def test_two_windows_on_two_criteria_do_not_disturb_each_other(key, judged):
    assert key(level=4).status_code == 200
    assert key(letter="A", level=3).status_code == 200
    assert [the_mark(judged, letter).level.number for letter in "AB"] == [3, 4]


def test_without_a_script_the_second_window_sees_both_and_chooses(client, judged):
    client.force_login(judged.teacher)
    set_level(judged.piece, judged.c["B"], 3, judged.teacher, expected_version=0)
    url = f"/pieces/{judged.piece.pk}/marks/{judged.c['B'].pk}/"
    page = client.post(url, {"version": 0, "chosen": 1})
    assert page.status_code == 409
    body = page.content.decode()
    assert "level 3" in body
    assert "level 1" in body
    fields = {each["name"]: each["value"] for each in page.context["fields"]}
    assert fields == {"version": 1, "chosen": "1"}
    assert client.post(url, fields).status_code == 302
    assert the_mark(judged).level.number == 1


# -- many at once ----------------------------------------------------------------------------------


def keep(client, judged, seen, **extra):
    url = f"/projects/{judged.project.pk}/judge/{judged.c['B'].pk}/keep/"
    return client.post(url, {"seen": seen}, **extra)


def test_one_key_keeps_all_the_rest_and_one_key_takes_it_back(client, judged, key):
    key(level=2)
    third = make_piece(judged.project, judged.amara, "K3-03")
    read_wall(third, 5.0, 9.0, 6.0, 6.0)
    seen = f"{judged.other_piece.pk}:4,{third.pk}:1"
    answer = keep(client, judged, seen, **SCRIPT).json()
    assert {mark["code"]: (mark["level"], mark["state"]) for mark in answer["marks"]} == {
        "K3-02": (4, "kept"),
        "K3-03": (1, "kept"),
    }
    assert (answer["done"], answer["of"]) == (3, 3)
    assert answer["said"] == "2 pieces kept as suggested."
    seen = f"{judged.other_piece.pk},{third.pk}"
    sight = {"criterion": judged.c["B"].pk, "here": seen, "seen": seen}
    back = client.post(f"/projects/{judged.project.pk}/judge/undo/", sight, **SCRIPT).json()
    assert sorted(mark["code"] for mark in back["marks"]) == ["K3-02", "K3-03"]
    assert {mark["state"] for mark in back["marks"]} == {"suggested"}
    assert (back["criterion"], back["done"]) == (judged.c["B"].pk, 1)
    assert the_mark(judged).level.number == 2


def undo(client, judged, **fields):
    return client.post(f"/projects/{judged.project.pk}/judge/undo/", fields, **SCRIPT).json()


def test_undo_asks_first_where_it_touches_more_than_can_be_seen(client, judged):
    client.force_login(judged.teacher)
    here = f"{judged.piece.pk},{judged.other_piece.pk}"
    keep(client, judged, f"{judged.piece.pk}:4,{judged.other_piece.pk}:4", **SCRIPT)
    sight = {"criterion": judged.c["B"].pk, "here": here, "seen": judged.piece.pk}
    asked = undo(client, judged, **sight)
    assert asked["state"] == "sure?"
    assert asked["words"] == "Take back 2 levels that were kept together?"
    assert "K3-01, K3-02" in asked["detail"]
    assert Mark.objects.decided().count() == 2
    done = undo(client, judged, sure=asked["latest"])
    assert done["said"] == "B Wall: 2 kept levels taken back."
    assert Mark.objects.decided().count() == 0


def test_undo_asks_first_where_the_change_is_of_another_page(client, judged, key):
    key(level=3, letter="A")
    of_wall = {"criterion": judged.c["B"].pk, "here": judged.piece.pk, "seen": judged.piece.pk}
    assert undo(client, judged, **of_wall)["state"] == "sure?"
    of_piece = {"here": judged.other_piece.pk, "seen": judged.other_piece.pk}
    assert undo(client, judged, **of_piece)["state"] == "sure?"
    assert the_mark(judged, "A").level.number == 3
    undo(client, judged, here=judged.piece.pk, seen=judged.piece.pk)
    assert the_mark(judged, "A").level is None


def test_undo_takes_back_only_the_change_that_was_asked_about(client, judged, key):
    version = key(level=3, letter="A").json()["mark"]["version"]
    asked = undo(client, judged, criterion=judged.c["B"].pk)
    key(level=2, letter="A", version=version)
    again = undo(client, judged, sure=asked["latest"])
    assert again["state"] == "sure?"
    assert the_mark(judged, "A").level.number == 2


@pytest.mark.parametrize("fields", [{"sure": "x"}, {"criterion": "B"}, {"here": "1,,2"}])
def test_a_page_that_cannot_say_what_it_showed_undoes_nothing(client, judged, key, fields):
    key(level=3)
    assert undo(client, judged, **fields)["state"] == "problem"
    assert the_mark(judged).level.number == 3


def test_nobody_keeps_a_suggestion_that_nobody_saw(client, judged):
    client.force_login(judged.teacher)
    seen = f"{judged.piece.pk}:4,{judged.other_piece.pk}:4"
    read(judged.piece, "wall_thickness", 12.0, height_mm=80, azimuth_deg=45)
    answer = keep(client, judged, seen, **SCRIPT).json()
    assert [mark["code"] for mark in answer["marks"]] == ["K3-02"]
    assert "K3-01" in answer["said"]
    assert not judged.piece.assessments.exists()


def test_a_reading_in_question_is_left_for_the_teacher(client, judged):
    client.force_login(judged.teacher)
    Reading.objects.filter(piece=judged.piece).update(doubt="64? Did you mean 6.4?")
    page = client.get(f"/projects/{judged.project.pk}/judge/{judged.c['B'].pk}/")
    assert page.context["to_keep"] == 1
    answer = keep(client, judged, page.context["seen"], **SCRIPT).json()
    assert [mark["code"] for mark in answer["marks"]] == ["K3-02"]
    assert "a reading is in question: K3-01" in answer["said"]


@pytest.mark.parametrize("seen", ["nonsense", "1:2:3", ":", "1:x"])
def test_a_page_that_cannot_say_what_it_showed_keeps_nothing(client, judged, seen):
    client.force_login(judged.teacher)
    assert keep(client, judged, seen, **SCRIPT).status_code == 409
    assert keep(client, judged, seen).status_code == 302
    assert not Mark.objects.exists()


def test_keeping_and_undoing_work_as_plain_forms(client, judged):
    client.force_login(judged.teacher)
    page = client.get(f"/projects/{judged.project.pk}/judge/{judged.c['B'].pk}/")
    response = keep(client, judged, page.context["seen"])
    assert response.url == f"/projects/{judged.project.pk}/judge/{judged.c['B'].pk}/"
    assert Mark.objects.decided().count() == 2
    undo = f"/projects/{judged.project.pk}/judge/undo/"
    assert client.post(undo, {"back": response.url}).url == response.url
    assert Mark.objects.decided().count() == 0
    away = client.post(undo, {"back": "https://elsewhere.example/"})
    assert away.url == f"/projects/{judged.project.pk}/judge/"


def test_undo_with_nothing_to_take_back_says_so(client, judged):
    client.force_login(judged.teacher)
    answer = client.post(f"/projects/{judged.project.pk}/judge/undo/", **SCRIPT).json()
    assert answer == {"marks": [], "said": "There is nothing of yours left to take back here."}


# -- forms without a script ------------------------------------------------------------------------


def test_a_plain_form_saves_and_comes_back_to_its_criterion(client, judged):
    client.force_login(judged.teacher)
    url = f"/pieces/{judged.piece.pk}/marks/{judged.c['B'].pk}/"
    response = client.post(url, {"version": 0, "chosen": 3}, follow=True)
    assert response.redirect_chain == [
        (f"/pieces/{judged.piece.pk}/judge/#c{judged.c['B'].pk}", 302)
    ]
    assert "K3-01: 3 Capable, down from 4." in response.content.decode()


def test_words_are_saved_and_two_windows_see_both(client, judged):
    client.force_login(judged.teacher)
    url = f"/pieces/{judged.piece.pk}/words/"
    first = {
        "words": "A calm cup.",
        "next_step": "Draw twice.",
        "seen_words": "",
        "seen_next_step": "",
    }
    assert client.post(url, first).status_code == 302
    second = client.post(url, first | {"words": "A lively cup."})
    assert second.status_code == 409
    body = second.content.decode()
    assert "A calm cup." in body
    assert "A lively cup." in body
    fields = {each["name"]: each["value"] for each in second.context["fields"]}
    assert client.post(url, fields).status_code == 302
    page = client.get(f"/pieces/{judged.piece.pk}/judge/")
    assert (page.context["words"], page.context["next_step"]) == ("A lively cup.", "Draw twice.")


# -- after publishing ------------------------------------------------------------------------------


@pytest.fixture
def sent(judged):
    keep_rest(judged.project, judged.c["B"], judged.teacher)
    for letter in "ACDEFGHI":
        set_level(judged.piece, judged.c[letter], 3, judged.teacher, expected_version=99)
    publish(judged.project, judged.teacher, [judged.piece])
    return judged


def test_a_sent_piece_says_so_on_the_shelves(client, sent):
    client.force_login(sent.teacher)
    page = client.get(f"/projects/{sent.project.pk}/judge/{sent.c['B'].pk}/")
    states = {made.piece.code: made.state for row in page.context["shelves"] for made in row.tiles}
    assert (states["K3-01"].sent, states["K3-01"].words) == (True, "kept, sent")
    lifted = client.get(f"/pieces/{sent.piece.pk}/lift/{sent.c['B'].pk}/").content.decode()
    assert "A change is saved together with its reason." in lifted


def test_a_change_after_publishing_asks_why_and_loses_nothing(client, sent):
    client.force_login(sent.teacher)
    url = f"/pieces/{sent.piece.pk}/marks/{sent.c['A'].pk}/"
    version = sent.piece.assessments.get().version
    page = client.post(url, {"version": version, "chosen": 4, "note": "Three sketches"})
    assert page.status_code == 409
    assert the_mark(sent, "A").level.number == 3
    fields = {each["name"]: each["value"] for each in page.context["fields"]}
    assert fields == {"version": str(version), "chosen": "4", "note": "Three sketches", "why": ""}
    done = client.post(url, fields | {"why": "The third sketch was in her book."})
    assert done.status_code == 302
    assert the_mark(sent, "A").level.number == 4
    change = MarkChange.objects.get(after_publishing=True)
    assert (change.before["level"], change.after["level"], change.why, change.who) == (
        3,
        4,
        "The third sketch was in her book.",
        sent.teacher,
    )


def test_a_late_level_that_leaves_the_suggestion_asks_for_its_reason_too(client, sent):
    client.force_login(sent.teacher)
    url = f"/pieces/{sent.piece.pk}/marks/{sent.c['B'].pk}/"
    version = sent.piece.assessments.get().version
    page = client.post(url, {"version": version, "chosen": 2, "why": "A second look."})
    assert page.status_code == 409
    fields = {each["name"]: each["value"] for each in page.context["fields"]}
    assert "reason_text" in fields
    done = client.post(url, fields | {"reason_text": "A lump inside"})
    assert done.status_code == 302
    assert (the_mark(sent).level.number, the_mark(sent).reason_text) == (2, "A lump inside")
