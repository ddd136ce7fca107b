"""Printing a section for a conference: the bar, the document, the way to stop."""

import pytest
from playwright.sync_api import expect

from tests.world import make_world


@pytest.fixture
def opened(open_page):
    world = make_world()
    page = open_page(f"/sections/{world.ids['section_id']}/reports/", world.people["teacher"])
    return world, page


def test_a_section_becomes_one_document(opened):
    _, page = opened
    page.get_by_role("button", name="Make one PDF of all").press("Enter")
    link = page.get_by_role("link", name="Open the PDF")
    expect(link).to_be_focused()
    expect(page.get_by_role("status")).to_have_text("All 1 students")
    answer = page.request.get(link.get_attribute("href"))
    assert answer.body().startswith(b"%PDF")
    assert page.trouble == []


def test_cancel_stops_and_keeps_nothing(opened):
    _, page = opened
    page.route("**/print/*/0/", lambda _route: None)
    page.get_by_role("button", name="Make one PDF of all").click()
    page.get_by_role("button", name="Cancel").click()
    expect(page.get_by_role("status")).to_have_text("Stopped; nothing was kept.")
    expect(page.get_by_role("button", name="Make one PDF of all")).to_be_enabled()


def test_a_lost_connection_is_told(opened):
    _, page = opened
    page.route("**/print/*/0/", lambda route: route.abort())
    page.get_by_role("button", name="Make one PDF of all").click()
    expect(page.get_by_role("status")).to_contain_text("cannot be reached")
