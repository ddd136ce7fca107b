"""Readers who go by Tab, force their own colours, print, or run no scripts."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from studio.models import Reading
from tests.browser.conftest import DESK, PHONE, SIZES
from tests.browser.test_every_page import SETTLED

SEEN = """() => {
  const at = document.activeElement, box = at.getBoundingClientRect();
  const name = `${at.tagName} ${at.id || at.name || at.textContent}`.trim().slice(0, 40);
  if (at === document.body) return { end: true };
  if (box.width < 2 || box.height < 2) return { name, seen: true };
  let seen = false;
  for (const down of [0.15, 0.5, 0.85]) for (const along of [0.1, 0.5, 0.9]) {
    const top = document.elementFromPoint(
      box.left + along * box.width, box.top + down * box.height);
    seen ||= Boolean(top) && (at.contains(top) || top.contains(at)
      || [...(at.labels ?? [])].some(label => label.contains(top)));
  }
  return { name, seen };
}"""
"""Whether some of what has the focus is drawn in the window with nothing over it (WCAG 2.4.11)."""
MOST_STOPS = 160


def hidden_stops(page):
    """The Tab stops of a page that cannot be seen when they have the focus."""
    hidden = []
    for _ in range(MOST_STOPS):
        page.keyboard.press("Tab")
        found = page.evaluate(SEEN)
        if found.get("end"):
            break
        if not found["seen"]:
            hidden.append(found["name"])
    return hidden


@pytest.mark.parametrize("size", SIZES)
def test_what_has_the_focus_is_seen(open_page, judged, size):
    project, piece = judged.project.pk, judged.piece.pk
    for path in (
        reverse("judge_piece", args=[piece]),
        reverse("shelf", args=[project, judged.c["B"].pk]),
        reverse("making_board", args=[project]),
        reverse("measure", args=[project]),
        reverse("look_over", args=[project]),
    ):
        page = open_page(path, judged.teacher, size)
        page.wait_for_function(SETTLED)
        assert (path, hidden_stops(page)) == (path, [])


def test_the_first_value_is_four_keys_away(open_page, judged):
    page = open_page(reverse("measure", args=[judged.project.pk]), judged.teacher)
    for key in ("Tab", "Tab", "Enter", "Tab"):
        page.keyboard.press(key)
    if page.evaluate("document.activeElement.tagName") != "INPUT":
        page.keyboard.press("Tab")  # the piece's own link stands before its values
    assert page.evaluate("document.activeElement.closest('tbody tr').rowIndex") == 1
    assert page.evaluate("document.activeElement.tagName") == "INPUT"


def test_a_form_that_came_back_says_so_first(open_page, judged):
    page = open_page(reverse("section_new"), judged.teacher)
    page.get_by_role("textbox").first.fill("")
    page.locator("main form button").first.click()
    wrong = page.locator("main .notice.bad[role=alert]")
    expect(wrong).to_be_focused()
    assert page.title().startswith("Not saved: ")


def test_forced_colours_keep_what_is_chosen_and_what_is_drawn(open_page, judged):
    page = open_page(
        reverse("judge_piece", args=[judged.piece.pk]), judged.teacher, forced_colors="active"
    )
    page.keyboard.press("3")
    chosen = page.locator("[data-pick][aria-pressed=true]").first
    other = page.locator("[data-pick][aria-pressed=false]").first
    styles = "each => getComputedStyle(each).outlineStyle"
    expect(chosen).to_be_visible()
    assert (chosen.evaluate(styles), other.evaluate(styles)) == ("solid", "none")
    kept = "each => getComputedStyle(each).forcedColorAdjust"
    for what in (".drawing", ".verdict"):
        for each in page.locator(what).all():
            pseudo = what == ".verdict"
            adjust = "each => getComputedStyle(each, '::before').forcedColorAdjust"
            assert each.evaluate(adjust if pseudo else kept) == "none"


@pytest.mark.parametrize("name", ["plan_edit", "piece", "look_over"])
def test_paper_shows_what_was_found_and_no_buttons(open_page, judged, name):
    of = judged.piece.pk if name == "piece" else judged.project.pk
    page = open_page(reverse(name, args=[of]), judged.teacher)
    page.emulate_media(media="print")
    for what in (".topbar", ".crumbs", ".foot", "button", "a.button"):
        for each in page.locator(what).all():
            assert not each.is_visible(), what
    assert page.locator("h1").is_visible()
    page.set_viewport_size({"width": 720, "height": 1000})  # a sheet of A4 or Letter
    assert page.evaluate("document.documentElement.scrollWidth") <= 720


def test_without_scripts_the_page_says_what_is_missing_and_its_button_saves(open_page, judged):
    path = f"/projects/{judged.project.pk}/measure/?stage=bisque&set=wall-4"
    page = open_page(path, judged.teacher, java_script_enabled=False)
    assert "What is typed saves only with the button" in page.locator("noscript").inner_text()
    page.locator("#cells input:visible").first.fill("6.3")
    page.get_by_role("button", name="Save the sheet").click()
    assert Reading.objects.current().filter(stage="bisque", value=6.3).count() == 1


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_in_the_dark_a_drawing_keeps_its_light_ground(open_page, judged, size):
    page = open_page(
        reverse("judge_piece", args=[judged.piece.pk]), judged.teacher, size, color_scheme="dark"
    )
    ground = "each => getComputedStyle(each).backgroundColor"
    assert page.locator("body").evaluate(ground) != "rgb(247, 243, 236)"
    for each in page.locator("svg.drawing").all():
        assert each.evaluate(ground) == "rgb(255, 253, 249)"
