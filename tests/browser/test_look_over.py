"""The look-over in a real browser: reasons typed in place, and nothing sent past unsaved words."""

import pytest
from playwright.sync_api import expect

from rubrics.judging.marking import set_level
from rubrics.models import Assessment, Mark
from tests.browser.conftest import SIZES

SETTLE_MS = 15_000


@pytest.fixture
def nearly(judged):
    """K3-01 is ready; K3-02 lacks a reason for its wall."""
    for piece in (judged.piece, judged.other_piece):
        for letter in "ACDEFGHI":
            set_level(piece, judged.c[letter], 3, judged.teacher, expected_version=99)
    set_level(judged.piece, judged.c["B"], 4, judged.teacher, expected_version=99)
    set_level(judged.other_piece, judged.c["B"], 2, judged.teacher, expected_version=99)
    return judged


def look(open_page, judged, **facts):
    return open_page(f"/projects/{judged.project.pk}/look-over/", judged.teacher, **facts)


def row(page, piece):
    return page.locator(f"#look-{piece.pk}")


def test_a_missing_reason_is_typed_in_place_by_keyboard(open_page, nearly):
    page = look(open_page, nearly)
    expect(page.locator("[data-publish-count]")).to_have_text("1")
    field = row(page, nearly.other_piece).get_by_placeholder("In a few words")
    field.focus()
    page.keyboard.type("3 lumps inside; keep an eye on it.")
    page.keyboard.press("Enter")
    expect(row(page, nearly.other_piece).locator(".look-said")).to_have_text("Saved.")
    expect(page.locator("[data-publish-count]")).to_have_text("2")
    mark = Mark.objects.get(assessment__piece=nearly.other_piece, criterion=nearly.c["B"])
    assert (mark.level.number, mark.reason_text) == (2, "3 lumps inside; keep an eye on it.")
    page.get_by_role("button", name="Publish the chosen pieces").click()
    page.get_by_text("2 pieces sent.").wait_for(timeout=SETTLE_MS)
    assert Assessment.objects.published().count() == 2
    assert page.trouble == []


def test_nothing_is_sent_past_words_that_are_not_saved(open_page, nearly):
    page = look(open_page, nearly)
    mine = row(page, nearly.piece)
    mine.locator("summary").click()
    mine.get_by_label("One next step").fill("Draw it twice.")
    page.get_by_role("button", name="Publish the chosen pieces").click()
    expect(page.locator("[data-publish-words]")).to_contain_text("K3-01 is not saved yet")
    assert not Assessment.objects.published().exists()
    mine.get_by_role("button", name="Save").click()
    expect(mine.locator(".look-said")).to_have_text("Saved.")
    expect(mine.locator(".look-sentences")).to_contain_text("Draw it twice.")
    page.get_by_role("button", name="Publish the chosen pieces").click()
    page.get_by_text("1 piece sent.").wait_for(timeout=SETTLE_MS)
    assert Assessment.objects.get(piece=nearly.piece).shown["next_steps"] == ["Draw it twice."]


def test_a_fault_on_the_way_leaves_the_words_in_their_field(open_page, nearly):
    page = look(open_page, nearly)
    page.route("**/last-look/", lambda route: route.abort())
    mine = row(page, nearly.piece)
    mine.locator("summary").click()
    mine.get_by_label("Your words").fill("A calm cup.")
    mine.get_by_role("button", name="Save").click()
    expect(mine.locator(".look-said")).to_contain_text("not saved")
    expect(mine.get_by_label("Your words")).to_have_value("A calm cup.")
    page.unroute("**/last-look/")
    mine.get_by_role("button", name="Save").click()
    expect(mine.locator(".look-said")).to_have_text("Saved.")
    assert Assessment.objects.get(piece=nearly.piece).words == "A calm cup."


@pytest.mark.parametrize("size", SIZES)
def test_publish_is_always_in_view(open_page, nearly, size):
    page = look(open_page, nearly, size=size)
    button = page.get_by_role("button", name="Publish the chosen pieces")
    for share in (0, 0.3, 0.6, 0.9):
        page.evaluate(f"scrollTo(0, {share} * document.querySelector('.last-looks').offsetHeight)")
        box = button.bounding_box()
        assert 0 <= box["y"] <= size["height"] - box["height"]
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
