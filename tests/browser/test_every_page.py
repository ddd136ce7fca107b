"""Every page as a person meets it: nothing wrong in the console, nothing off the edge, no barrier.

The pages are those of the table of doors that the teacher or the student may read; files and
fragments are left out.
"""

import pytest
from axe_core_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse

from tests.browser.conftest import SIZES
from tests.web.test_doors import ARGUMENTS, DOORS, IN, ROLES
from tests.world import make_world

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


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
    found = Axe().run(page, options=RULES)["violations"]
    return [(one["id"], one["nodes"][0]["html"][:120]) for one in found]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("role", ["teacher", "student"])
def test_no_page_has_a_barrier_or_runs_off_the_edge(open_page, size, role):
    world = make_world()
    page = open_page("/", user=world.people[role], size=size)
    faults = {}
    for path in pages_for(world, role):
        page.trouble.clear()
        page.goto(path, wait_until="networkidle")
        found = barriers(page) + list(page.trouble)
        if page.evaluate("document.documentElement.scrollWidth") > size["width"]:
            found.append("runs off the edge")
        if found:
            faults[path] = found
    assert faults == {}


@pytest.mark.parametrize("size", SIZES)
def test_the_pages_of_a_second_look_have_no_barrier(open_page, size):
    world = make_world()
    page = open_page("/", user=world.people["colleague"], size=size)
    look = world.ids["second_look_id"]
    for path in (reverse("second_look", args=[look]), reverse("second_look_piece", args=[look, 1])):
        page.trouble.clear()
        page.goto(path, wait_until="networkidle")
        assert (path, barriers(page), page.trouble) == (path, [], [])
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


@pytest.mark.parametrize("size", SIZES)
def test_signing_in_has_no_barrier(open_page, size):
    page = open_page(reverse("sign_in"), size=size)
    assert (barriers(page), page.trouble) == ([], [])
