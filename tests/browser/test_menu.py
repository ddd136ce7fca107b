"""The bar at the top: low on a phone, whole on a wide screen, by keyboard on both."""

from playwright.sync_api import expect

from tests.browser.conftest import DESK, PHONE
from tests.browser.test_every_page import barriers
from tests.world import make_world

LARGEST_BAR_PX = 64
"""More takes a phone's first screen away from the work."""


def test_on_a_phone_the_links_wait_behind_one_button(open_page):
    world = make_world()
    page = open_page("/", user=world.people["teacher"], size=PHONE)
    assert page.locator(".topbar").bounding_box()["height"] < LARGEST_BAR_PX
    button, links = page.get_by_role("button", name="Menu"), page.get_by_role("navigation").first
    expect(links.get_by_role("link", name="Kilns")).to_be_hidden()
    button.focus()
    page.keyboard.press("Enter")
    expect(links.get_by_role("link", name="Kilns")).to_be_visible()
    assert barriers(page) == []
    page.keyboard.press("Tab")
    expect(links.get_by_role("link", name="Today")).to_be_focused()
    page.keyboard.press("Escape")
    expect(links.get_by_role("link", name="Kilns")).to_be_hidden()
    expect(button).to_be_focused()


def test_on_a_wide_screen_every_link_stands_in_the_bar(open_page):
    world = make_world()
    page = open_page("/", user=world.people["teacher"], size=DESK)
    expect(page.get_by_role("button", name="Menu")).to_be_hidden()
    for name in ("Today", "Rubrics", "Kilns", "Clays"):
        expect(page.get_by_role("navigation").get_by_role("link", name=name).first).to_be_visible()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def test_a_slash_takes_the_cursor_to_the_field_that_finds_from_anywhere(open_page):
    world = make_world()
    page = open_page("/", user=world.people["teacher"], size=DESK)
    field = page.get_by_role("searchbox", name="Find a student, piece or project")
    page.keyboard.press("/")
    expect(field).to_be_focused()
    page.keyboard.type("k3/")  # where a field has the cursor, the key is a letter
    expect(field).to_have_value("k3/")
    field.fill("K3-02")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="K3-02")).to_be_visible()
    assert barriers(page) == []


def test_on_a_phone_the_slash_opens_the_menu_where_the_field_stands(open_page):
    world = make_world()
    page = open_page("/", user=world.people["teacher"], size=PHONE)
    page.keyboard.press("/")
    expect(page.get_by_role("searchbox", name="Find a student, piece or project")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.get_by_role("button", name="Menu")).to_be_visible()
