"""A real browser against a live server; skipped with a word where none is installed."""

import os
import shutil

import pytest
from playwright.sync_api import expect, sync_playwright

# Playwright's loop runs in the test's own thread; the ORM calls beside it are ordinary ones.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

PHONE, DESK = {"width": 360, "height": 740}, {"width": 1440, "height": 900}
SIZES = [pytest.param(PHONE, id="phone"), pytest.param(DESK, id="desk")]
# A page that shows nothing new for so long is broken, even on a busy machine.
PATIENCE_MS = 15_000
expect.set_options(timeout=PATIENCE_MS)
LEFT_BEHIND = ("htmx:sendAbort", "htmx:xhr:abort", "htmx:afterRequest")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


def pytest_collection_modifyitems(items):
    here = os.path.dirname(__file__)
    for item in items:
        if str(item.path).startswith(here):
            item.add_marker(pytest.mark.browser)
            # A whole machine is between a test and its page; what fails twice is the site's.
            item.add_marker(pytest.mark.flaky(reruns=1))


@pytest.fixture(scope="session")
def browser():
    """Debian's Chromium, headless."""
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if not path:
        word = "no Chromium here; install Debian's package chromium to run the browser tests"
        if os.environ.get("RIM_AND_REASON_NEEDS_BROWSER"):
            pytest.fail(word)
        pytest.skip(word)
    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=path, args=FLAGS)
        yield chromium
        chromium.close()


def note_trouble(page, message):
    """Keep what a page complains of; a request left behind when the page is left is no fault."""
    if message.type == "error" and not message.text.startswith(LEFT_BEHIND):
        page.trouble.append(message.text)


@pytest.fixture
def open_page(browser, live_server, transactional_db):
    """Return ``open_page(path, user=None, size=DESK, **how)``: a page signed in as that user.

    ``how`` goes to the browser: ``color_scheme="dark"``, ``forced_colors="active"``, ...
    """
    from django.test import Client

    contexts = []

    def open_it(path, user=None, size=DESK, **how):
        context = browser.new_context(viewport=size, base_url=live_server.url, **how)
        contexts.append(context)
        if user is not None:
            client = Client()
            client.force_login(user)
            cookie = client.cookies["sessionid"]
            context.add_cookies(
                [{"name": "sessionid", "value": cookie.value, "url": live_server.url}]
            )
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.trouble = []
        page.on("pageerror", lambda error: page.trouble.append(str(error)))
        page.on("console", lambda message: note_trouble(page, message))
        page.goto(path)
        return page

    yield open_it
    for context in contexts:
        context.close()


@pytest.fixture
def open_sheet(open_page, school):
    """Return ``open_sheet(set)``: the measuring sheet of the school's project, leather-hard."""

    # After a transactional test the rows that ship with the site are gone; none is needed here.
    def open_it(key="wall-4", **facts):
        path = f"/projects/{school.project.pk}/measure/?stage=leather-hard&set={key}"
        return open_page(path, school.teacher, **facts)

    return open_it


@pytest.fixture
def judged(school):
    """Six pieces on the wall: four suggest 4, one 3, one 1; criteria by letter as ``c``."""
    # Models can be imported only once Django is set up, which this file comes before.
    from rubrics.rubric.starter_rubric import ensure_starter_rubric
    from rubrics.rubric.versions import choose_rubric
    from tests.factories import make_piece, read_wall

    school.rubric = ensure_starter_rubric()
    choose_rubric(school.project, school.rubric)
    school.c = {each.letter: each for each in school.rubric.criteria.all()}
    read_wall(school.piece, 6.0, 6.1, 6.0, 6.1)
    read_wall(school.other_piece, 6.0, 6.2, 6.0, 6.1)
    for code, thickest in (("K3-03", 6.3), ("K3-04", 6.4), ("K3-05", 7.5), ("K3-06", 12.0)):
        piece = make_piece(school.project, school.amara, code)
        read_wall(piece, 6.0, thickest, 6.0, 6.1)
    return school
