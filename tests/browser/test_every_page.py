"""Every page as a person meets it: nothing wrong in the console, nothing off the edge, no barrier.

The pages are those of the table of doors that the teacher or the student may read; files and
fragments are left out.
"""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse

from tests.browser.conftest import PHONE, SIZES
from tests.web.test_doors import ARGUMENTS, DOORS, IN, ROLES
from tests.world import make_world

RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}
NARROWEST = {"width": 320, "height": 740}
"""WCAG 2.2, 1.4.10: no scrolling in two directions at 320 CSS pixels."""
SPACED = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
    word-spacing: 0.16em !important } p { margin-block-end: 2em !important }`);
  document.adoptedStyleSheets = [sheet];
}"""
"""WCAG 2.2, 1.4.12: the spacing of text that a reader may set."""
SETTLED = """() => new Promise(done => requestAnimationFrame(() => done(
  document.readyState === 'complete' && !document.querySelector('.htmx-request'))))"""
"""The page and the parts that it asks for have come."""


def pages_for(world, role):
    """Addresses of the whole pages that a role may read."""
    client = Client()
    client.force_login(world.people[role])
    for name, kind in DOORS["GET"].items():
        if kind[ROLES.index(role)] != IN:
            continue
        path = reverse(name, kwargs={key: world.ids[key] for key in ARGUMENTS[name]})
        answer = client.get(path, follow=True)
        is_page = answer.headers["Content-Type"].startswith("text/html")
        if is_page and b"<html" in answer.content:
            yield path
    if role == "student":
        # The piece of the table is told already; this one its maker may still judge.
        yield reverse("judge_own", args=[world.untold.pk])


def barriers(page):
    """What axe-core finds: the rule and the first place."""
    found = Axe().run(page, options=RULES).response["violations"]
    return [(one["id"], one["nodes"][0]["html"][:120]) for one in found]


def faults_of(page, path, size):
    """What is wrong with a page: for a program that reads it aloud, in its script, at its edge."""
    page.trouble.clear()
    page.goto(path)
    page.wait_for_function(SETTLED)
    found = barriers(page) + list(page.trouble)
    if page.evaluate("document.documentElement.scrollWidth") > size["width"]:
        found.append("runs off the edge")
    if size is PHONE:
        page.set_viewport_size(NARROWEST)
        page.evaluate(SPACED)
        if page.evaluate("document.documentElement.scrollWidth") > NARROWEST["width"]:
            found.append("runs off the edge of 320 px with its text spaced")
        page.set_viewport_size(size)
    return found


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("role", ["teacher", "student"])
def test_no_page_has_a_barrier_or_runs_off_the_edge(open_page, size, role):
    world = make_world()
    # A phone in the evening, a desk by day: each page is read in one of the two schemes.
    scheme = "dark" if size is PHONE else "light"
    page = open_page("/", user=world.people[role], size=size, color_scheme=scheme)
    found = {path: faults_of(page, path, size) for path in pages_for(world, role)}
    assert {path: faults for path, faults in found.items() if faults} == {}


@pytest.mark.parametrize("size", SIZES)
def test_the_pages_of_a_second_look_have_no_barrier(open_page, size):
    world = make_world()
    page = open_page("/", user=world.people["colleague"], size=size)
    look = world.ids["second_look_id"]
    for path in (reverse("second_look", args=[look]), reverse("second_look_piece", args=[look, 1])):
        assert (path, faults_of(page, path, size)) == (path, [])


@pytest.mark.parametrize("size", SIZES)
def test_signing_in_has_no_barrier(open_page, size):
    page = open_page(reverse("sign_in"), size=size)
    assert (barriers(page), page.trouble) == ([], [])
