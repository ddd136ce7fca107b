"""A critique in a real browser: a thumb on a phone, a keyboard, two windows, no connection."""

import io

import pytest
from django.urls import reverse
from PIL import Image

from rubrics.critique import gate, opening, wording, writing
from rubrics.models import Critique, Look, Remark
from studio.photos import storing
from tests.browser.conftest import PHONE, SIZES
from tests.browser.test_every_page import barriers
from tests.factories import make_piece, make_student, make_user

# Pointing and beginning a remark are over in so many taps.
MOST_TAPS = 4
"""Half a minute at seven seconds a tap: a slow thumb looks, reaches and taps (common practice,
no source)."""
KEPT = "Kept. Nobody reads it until you send it."


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (640, 480), "tan").save(out, "JPEG")
    return out.getvalue()


@pytest.fixture
def look(school):
    """What the first student has to read: a piece with a photo and an intent."""
    camila = make_student(school.section, "Camila R.", login=make_user("camila"))
    piece = make_piece(school.project, camila, "K3-03")
    piece.intent, piece.intent_accent = "A calm cup for tea.", "rim"
    piece.save()
    storing.store(school.section, piece, storing.take_in(picture(), "a.jpg"), school.teacher)
    critique = opening.open_critique(
        Critique(project=school.project, readers=2),
        school.teacher,
        [school.piece, school.other_piece, piece],
        seed=1,
    )
    found = Look.objects.get(shown__critique=critique, shown__piece=piece, reader=school.amara)
    found.critique, found.school = critique, school
    return found


@pytest.fixture
def open_look(open_page, look):
    def open_it(size=PHONE):
        return open_page(reverse("look", args=[look.pk]), look.school.student, size)

    return open_it


def said(page, words=KEPT):
    page.locator("[data-status]", has_text=words).wait_for()


def listen(page):
    """Keep every sentence of the status line from now on, however short it stands there."""
    page.evaluate(
        """() => {
          const line = document.querySelector("[data-status]");
          window.heard = [];
          new MutationObserver(() => window.heard.push(line.textContent))
            .observe(line, { childList: true });
        }"""
    )


def tap(page, locator, at=(0.5, 0.5)):
    """A finger on a thing, at a share of its width and height."""
    locator.scroll_into_view_if_needed()
    box = locator.bounding_box()
    page.mouse.click(box["x"] + at[0] * box["width"], box["y"] + at[1] * box["height"])


def test_a_remark_with_a_pin_takes_few_taps(open_look, look):
    page = open_look()
    taps = 0
    tap(page, page.locator("[data-board] svg"), (0.25, 0.75))
    taps += 1
    # The words go with the pin: the cursor stands in the box, which is in sight.
    page.locator("#see-text:focus").wait_for()
    bottom = page.locator("#see-text").bounding_box()
    assert bottom["y"] + bottom["height"] <= PHONE["height"]
    tap(page, page.get_by_role("button", name="You wanted the eye at the rim"))
    taps += 1
    # The first gap is marked, to be typed over.
    page.keyboard.type("the foot")
    tap(page, page.get_by_role("button", name="Next"))
    taps += 1
    said(page)
    remark = look.remarks.get()
    assert remark.text == "You wanted the eye at the rim; mine goes to the foot because …"
    assert remark.pin == pytest.approx((0.25, 0.75), abs=0.01)
    assert taps <= MOST_TAPS
    assert page.trouble == []


def test_by_keyboard_alone_a_pin_is_set_moved_and_taken_away(open_look, look):
    page = open_look()
    listen(page)
    board = page.locator("[data-board]")
    board.focus()
    page.keyboard.press("ArrowRight")
    said(page)
    assert look.remarks.get().pin == (0.5, 0.5)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowUp")
    said(page)
    assert any("Pin 1 set: 52 across, 50 down" in words for words in page.evaluate("heard"))
    assert look.remarks.get().pin == pytest.approx((0.52, 0.496))
    page.keyboard.press("Delete")
    said(page)
    assert look.remarks.get().pin is None
    # Or by the list; then the pin gives way.
    page.get_by_label("Points at").first.select_option("handle")
    said(page)
    assert look.remarks.get().place == "handle"
    assert page.trouble == []


def test_all_five_are_sent_and_wait_for_the_teacher(open_look, look):
    page = open_look()
    for number, box in enumerate(Remark.Box.values, start=1):
        page.locator(f'[data-step="{box}"]').click()
        page.locator(f"#{box}-text:focus").wait_for()
        page.keyboard.type(f"The rim tips, because of {number}.")
    page.get_by_role("button", name="Send to the teacher").click()
    page.get_by_text("Sent to your teacher").wait_for()
    rows = list(look.remarks.order_by("pk").values_list("text", "state"))
    assert rows == [(f"The rim tips, because of {n}.", "waiting") for n in range(1, 6)]
    assert page.trouble == []


def test_two_windows_choose_which_words_stand(open_look, look):
    page = open_look()
    writing.save_box(look, Remark.Box.SEE, writing.Written("From the other window."), version=0)
    page.locator("#see-text").fill("From this one.")
    page.get_by_text("Another window wrote here: “From the other window.”").wait_for()
    assert look.remarks.get().text == "From the other window."
    page.get_by_role("button", name="Keep what stands above").click()
    said(page)
    assert look.remarks.get().text == "From this one."


def test_words_written_without_a_connection_come_later(open_look, look):
    page = open_look()
    page.context.set_offline(True)
    page.locator("#see-text").fill("A level rim.")
    said(page, "cannot be reached")
    assert not look.remarks.exists()
    # The page is closed; another visit finds them in the browser's store, and sends them.
    context, there = page.context, page.url
    page.close()
    context.set_offline(False)
    again = context.new_page()
    again.goto(there)
    said(again)
    assert look.remarks.get().text == "A level rim."
    assert again.locator("#see-text").input_value() == "A level rim."


SENTENCES = (
    "",
    "The rim tips left because the slab was thin.",
    "A brim on a sofa",
    "RIM! So it’s level",
    "El borde दीवार 壁",
    "It isn't calm   at all,\nsince the FOOT rocks.",
    "word " * 41,
)


def test_the_page_reads_words_as_the_site_does(open_look):
    page = open_look()
    for text in SENTENCES:
        page.locator("#see-text").fill(text)
        ours = wording.read(text)
        box = page.locator('[data-box="see"]')
        shown = (
            int(box.locator("[data-count]").inner_text().split()[0]),
            box.locator("[data-names-place]").get_attribute("data-on") == "yes",
            box.locator("[data-gives-reason]").get_attribute("data-on") == "yes",
        )
        assert shown == (ours.words, ours.names_place, ours.gives_reason), text


def test_the_turns_of_the_large_screen_run_by_keys(open_page, look):
    page = open_page(reverse("critique_day", args=[look.critique.pk]), look.school.teacher)
    turns = page.locator("[data-turn]")
    assert turns.nth(0).locator("[data-time]").inner_text() == "1:00"
    page.keyboard.press(" ")
    page.get_by_role("button", name="Stop").wait_for()
    page.locator("[data-time]", has_text="0:58").wait_for()
    page.keyboard.press("n")
    page.locator("[data-turn].is-now", has_text="The group speaks").wait_for()
    page.keyboard.press(" ")
    left = turns.nth(1).locator("[data-time]").inner_text()
    page.reload()
    # A reload loses no time.
    assert page.locator(".is-now [data-time]").inner_text() == left
    page.keyboard.press("ArrowRight")
    page.get_by_text("2 of 3").wait_for()
    assert page.trouble == []


def test_words_come_to_the_large_screen_as_they_pass_the_gate(open_page, look):
    school = look.school
    there = reverse("critique_day", args=[look.critique.pk])
    page = open_page(f"{there}?piece={look.shown.piece_id}", school.teacher)
    page.get_by_text("Words stand here").wait_for()
    photo = look.shown.piece.photos.get()
    written = writing.Written("Try a thinner lip.", photo=photo.pk, x=0.5, y=0.2)
    writing.save_box(look, Remark.Box.TRY, written, version=0)
    writing.send(look)
    remark = look.remarks.get()
    gate.let_through(look.critique, [(remark.pk, remark.version)], school.teacher)
    page.get_by_text("Try a thinner lip.").wait_for()
    page.locator("#day-picture .pin").wait_for(state="attached")
    assert page.trouble == []


@pytest.mark.parametrize("size", SIZES)
def test_reading_and_answering_have_no_barrier(open_page, look, size):
    school = look.school
    photo = look.shown.piece.photos.get()
    for box, y in ((Remark.Box.SEE, 0.3), (Remark.Box.TRY, 0.32)):
        words = writing.Written("A long word: " + "x" * 80, photo=photo.pk, x=0.5, y=y)
        writing.save_box(look, box, words, version=0)
    faults = {}

    def look_at(page):
        found = barriers(page) + list(page.trouble)
        if page.evaluate("document.documentElement.scrollWidth") > size["width"]:
            found.append("runs off the edge")
        if found:
            faults[page.url] = found

    look_at(open_page(reverse("look", args=[look.pk]), school.student, size))
    writing.send(look)
    look_at(open_page(reverse("gate", args=[look.critique.pk]), school.teacher, size))
    rows = [(row.remark.pk, row.remark.version) for row in gate.at_the_gate(look.critique)]
    gate.let_through(look.critique, rows, school.teacher)
    camila = look.shown.piece.student.login
    page = open_page(reverse("remarks", args=[look.shown.piece_id]), camila, size)
    page.locator("summary").first.click()
    look_at(page)
    assert faults == {}
