"""No key marks what it was not meant to: every printable key into every field of the judging pages,
whole sentences into every reason and note, published marks, and a batch of 24 by keyboard alone."""

import string

import pytest

from rubrics.judging.marking import excuse, give_reason, keep_rest, set_level
from rubrics.models import Mark, MarkChange
from rubrics.publishing.publish import publish
from tests.browser.test_judging_keys import (
    SETTLE_MS,
    asked,
    done,
    in_hand,
    settled,
    wall,
)
from tests.factories import make_piece, make_student, read_wall

PRINTABLE = string.printable.strip().replace("\t", "") + " "
SENTENCE = "Keep the 3 lumps, excuse nothing; undo 1 & 2, jot 4 down."
"""Holds every letter and digit that is a command on a judging page."""


def stored() -> list[tuple]:
    """Every mark as the database holds it."""
    return sorted(
        Mark.objects.values_list(
            "assessment__piece__code", "criterion__letter", "level__number", "excused",
            "reason", "reason_text", "note",
        )
    )  # fmt: skip


def piece_path(piece):
    return f"/pieces/{piece.pk}/judge/"


def type_all(page, field):
    """Type every printable key into a field and see all of them arrive there."""
    field.focus()
    before = field.input_value()
    for key in PRINTABLE:
        page.keyboard.type(key)
    assert len(field.input_value()) >= len(before) + len(PRINTABLE)


@pytest.fixture
def sent(judged):
    """K3-01 is published with level 3 on all but the wall, where it has the suggested 4."""
    keep_rest(judged.project, judged.c["B"], judged.teacher)
    for letter in "ACDEFGHI":
        set_level(judged.piece, judged.c[letter], 3, judged.teacher, expected_version=99)
    publish(judged.project, judged.teacher, [judged.piece])
    return judged


# -- every key into every field --------------------------------------------------------------------


def test_no_key_typed_in_a_field_of_the_piece_touches_a_mark(open_page, judged):
    set_level(judged.piece, judged.c["B"], 4, judged.teacher, expected_version=0)
    before = stored()
    page = open_page(piece_path(judged.piece), judged.teacher)
    page.keyboard.press("n")
    texts = "input:not([type=hidden], [type=radio], [type=checkbox]):visible, textarea:visible"
    fields = page.locator("main").locator(texts)
    assert fields.count() >= 3
    for at in range(fields.count()):
        type_all(page, fields.nth(at))
        levels = page.eval_on_selector_all(
            "[data-criterion]", "all => all.map(row => row.dataset.state)"
        )
        assert levels == ["open", "kept", *["open"] * 7]
    # The note is saved when the cursor leaves it; no level is.
    assert [row[:4] for row in stored() if row[2] is not None] == [row[:4] for row in before]


def test_no_key_typed_in_the_question_of_a_shelf_touches_another_mark(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.keyboard.press("2")
    settled(page, "K3-01", "down")
    question = asked(page)
    type_all(page, question.locator("[data-ask-text]"))
    assert [(row[0], row[2]) for row in stored()] == [("K3-01", 2)]
    # Also after a click beside the field no letter is a command while the question is open.
    page.locator("h1").click()
    page.keyboard.type("ke3u")
    assert [(row[0], row[2]) for row in stored()] == [("K3-01", 2)]
    page.keyboard.press("Escape")
    assert [(row[0], row[2], row[5]) for row in stored()] == [("K3-01", 2, "")]


def test_no_key_typed_on_the_look_over_touches_a_mark(open_page, sent):
    set_level(sent.other_piece, sent.c["B"], 2, sent.teacher, expected_version=99)
    before = stored()
    page = open_page(f"/projects/{sent.project.pk}/look-over/", sent.teacher)
    fields = page.locator("main input[type=text]:visible, main textarea:visible")
    assert fields.count() >= 1
    for at in range(fields.count()):
        type_all(page, fields.nth(at))
    assert stored() == before


# -- sentences -------------------------------------------------------------------------------------


def test_a_sentence_typed_as_a_reason_is_a_reason_and_nothing_else(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.keyboard.press("3")
    page.keyboard.type(SENTENCE)
    page.keyboard.press("Enter")
    asked(page, gone=True)
    assert in_hand(page) == "K3-02"
    page.wait_for_selector(
        "[data-tile][data-code='K3-01']:not([data-wants-reason], [data-pending])",
        timeout=SETTLE_MS,
    )
    assert stored() == [("K3-01", "B", 3, False, "other", SENTENCE, "")]


def test_an_excuse_is_explained_on_the_piece_by_a_sentence(open_page, judged):
    page = open_page(piece_path(judged.piece), judged.teacher)
    page.keyboard.press("e")
    page.keyboard.type(SENTENCE)
    page.keyboard.press("Enter")
    asked(page, gone=True)
    done(page, "1 of 9")
    said = page.locator("[data-reason-words]").filter(has_text=SENTENCE)
    said.wait_for(state="attached", timeout=SETTLE_MS)
    assert stored() == [("K3-01", "A", None, True, "other", SENTENCE, "")]


def test_a_note_is_kept_when_the_cursor_leaves_it(open_page, judged):
    page = open_page(piece_path(judged.piece), judged.teacher)
    page.keyboard.press("n")
    page.keyboard.type(SENTENCE)
    page.keyboard.press("Escape")
    page.locator("[data-said]").filter(has_text="saved").wait_for(timeout=SETTLE_MS)
    assert stored() == [("K3-01", "A", None, False, "", "", SENTENCE)]


def test_what_was_typed_and_put_off_comes_back(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.keyboard.press("3")
    page.keyboard.type("Half a sen")
    page.keyboard.press("Escape")
    assert in_hand(page) == "K3-01"
    page.keyboard.press("w")
    page.keyboard.type("tence")
    page.keyboard.press("Enter")
    asked(page, gone=True)
    settled(page, "K3-01", "down")
    page.wait_for_selector(
        "[data-tile][data-code='K3-01']:not([data-wants-reason], [data-pending])",
        timeout=SETTLE_MS,
    )
    assert Mark.objects.get().reason_text == "Half a sentence"


# -- published marks -------------------------------------------------------------------------------


def pressed(page, letter):
    row = page.locator(f"[data-criterion][data-name^='{letter} ']")
    return row.locator("[data-pick][aria-pressed=true]").get_attribute("data-pick")


@pytest.mark.parametrize("digit", ["1", "2", "4"])
def test_a_late_digit_stands_until_its_reason_and_is_what_is_saved(open_page, sent, digit):
    page = open_page(piece_path(sent.piece), sent.teacher)
    assert pressed(page, "A") == "3"
    page.keyboard.press(digit)
    assert pressed(page, "A") == digit
    question = asked(page)
    assert f"You now say level {digit}" in question.inner_text()
    assert Mark.objects.get(assessment__piece=sent.piece, criterion=sent.c["A"]).level.number == 3
    page.keyboard.type(SENTENCE)
    assert pressed(page, "A") == digit
    page.keyboard.press("Enter")
    asked(page, gone=True)
    page.locator("[data-said]").filter(has_text=f": {digit} ").wait_for(timeout=SETTLE_MS)
    late = MarkChange.objects.get(after_publishing=True)
    assert (late.before["level"], late.after["level"], late.why) == (3, int(digit), SENTENCE)
    assert pressed(page, "A") == digit


def test_escape_leaves_what_was_sent(open_page, sent):
    before = stored()
    page = open_page(piece_path(sent.piece), sent.teacher)
    page.keyboard.press("1")
    page.keyboard.type("Never mind")
    page.keyboard.press("Escape")
    asked(page, gone=True)
    assert pressed(page, "A") == "3"
    assert "stays as it was sent" in page.locator("[data-said]").inner_text()
    assert stored() == before


def test_enter_without_a_reason_saves_nothing(open_page, sent):
    before = stored()
    page = open_page(piece_path(sent.piece), sent.teacher)
    page.keyboard.press("2")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    assert "Write in a few words" in asked(page).inner_text()
    assert stored() == before


def test_a_late_level_that_leaves_the_suggestion_carries_its_reason(open_page, sent):
    page = open_page(f"{piece_path(sent.piece)}#c{sent.c['B'].pk}", sent.teacher)
    page.keyboard.press("2")
    page.keyboard.type("A lump inside")
    page.keyboard.press("Enter")
    asked(page, gone=True)
    page.locator("[data-said]").filter(has_text=": 2 ").wait_for(timeout=SETTLE_MS)
    mark = Mark.objects.get(assessment__piece=sent.piece, criterion=sent.c["B"])
    assert (mark.level.number, mark.reason, mark.reason_text) == (2, "other", "A lump inside")


def test_a_late_digit_on_the_shelf_asks_too_and_holds_the_hand(open_page, sent):
    page = open_page(wall(sent), sent.teacher)
    page.locator("[data-tile][data-code='K3-01'] a").click()
    page.keyboard.press("2")
    assert "K3-01 was sent with level 4" in asked(page).inner_text()
    page.locator("[data-tile][data-code='K3-03'] a").click()
    assert page.locator(".tile.in-hand").get_attribute("data-code") == "K3-01"
    page.keyboard.type("Seen in the light")
    page.keyboard.press("Enter")
    settled(page, "K3-01", "down")
    mark = Mark.objects.get(assessment__piece=sent.piece, criterion=sent.c["B"])
    assert (mark.level.number, mark.reason_text) == (2, "Seen in the light")


def test_a_late_note_asks_why_and_keeps_it(open_page, sent):
    page = open_page(piece_path(sent.piece), sent.teacher)
    page.keyboard.press("n")
    page.keyboard.type("Look at 4 of them.")
    page.locator("[data-note-form]:visible button").first.click()
    assert "Why does the note change?" in asked(page).inner_text()
    page.keyboard.type("I forgot it")
    page.keyboard.press("Enter")
    asked(page, gone=True)
    page.locator("[data-said]").filter(has_text="K3-01").wait_for(timeout=SETTLE_MS)
    late = MarkChange.objects.get(after_publishing=True)
    assert (late.after["note"], late.why) == ("Look at 4 of them.", "I forgot it")
    assert late.after["level"] == 3


# -- a batch by keyboard ---------------------------------------------------------------------------


def test_a_batch_of_24_is_judged_by_keyboard_alone(open_page, judged):
    for number in range(7, 25):
        student = make_student(judged.section, f"Student {number}")
        piece = make_piece(judged.project, student, f"K3-{number:02d}")
        read_wall(piece, 6.0, 6.1 + (number % 3) * 1.2, 6.0, 6.1)
    page = open_page(wall(judged), judged.teacher)
    for _ in range(4):
        page.keyboard.press("Enter")
    corrected = in_hand(page)
    page.keyboard.press("1")
    page.keyboard.type("Thin by 2 mm where nobody read.")
    page.keyboard.press("Enter")
    asked(page, gone=True)
    done(page, "5 of 24")
    page.keyboard.press("k")
    # More than can be seen: it asks first, and Enter says yes.
    page.locator("[data-ask^=sure]").wait_for(timeout=SETTLE_MS)
    assert Mark.objects.decided().count() == 5
    page.keyboard.press("Enter")
    done(page, "24 of 24")
    marks = {m.assessment.piece.code: m for m in Mark.objects.decided()}
    assert len(marks) == 24
    assert [code for code, mark in marks.items() if mark.leaves_suggestion] == [corrected]
    assert (marks[corrected].level.number, marks[corrected].suggested) != (1, 1)
    page.keyboard.press("u")
    page.locator("[data-ask^=sure]").wait_for(timeout=SETTLE_MS)
    page.keyboard.press("Enter")
    done(page, "5 of 24")
    assert Mark.objects.decided().count() == 5


def test_a_key_held_down_marks_one_piece(open_page, judged):
    page = open_page(f"/projects/{judged.project.pk}/judge/{judged.c['A'].pk}/", judged.teacher)
    for _ in range(5):
        page.keyboard.down("4")  # the second and later ones are repeats
    page.keyboard.up("4")
    done(page, "1 of 6")
    assert Mark.objects.decided().count() == 1


def test_what_is_out_of_sight_is_shown_before_a_key_changes_it(open_page, judged):
    page = open_page(piece_path(judged.piece), judged.teacher)
    page.evaluate("document.body.style.paddingBottom = '300vh'; scrollTo(0, 9e9)")
    page.keyboard.press("4")
    page.locator("[data-said]").filter(has_text="Press the key again").wait_for(timeout=SETTLE_MS)
    assert not Mark.objects.exists()
    page.keyboard.press("4")
    done(page, "1 of 9")


def test_what_stands_can_be_taken_back_to_not_judged(open_page, judged):
    excuse(judged.piece, judged.c["A"], judged.teacher, expected_version=0, reason="kiln")
    give_reason(judged.piece, judged.c["A"], judged.teacher, expected_version=9, note="Kept.")
    page = open_page(piece_path(judged.piece), judged.teacher)
    row = page.locator(f"#c{judged.c['A'].pk}")
    row.locator("h2").click()
    row.get_by_role("button", name="Not judged").click()
    page.wait_for_selector(f"#c{judged.c['A'].pk}[data-state=open]", timeout=SETTLE_MS)
    done(page, "0 of 9")
    page.locator("[data-said]").filter(has_text="no level").wait_for(timeout=SETTLE_MS)
    assert stored() == [("K3-01", "A", None, False, "", "", "Kept.")]
