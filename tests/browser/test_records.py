"""The records in a real browser: what only it shows."""

import pytest

from studio.models import Piece
from studio.projects.starter_clays import ensure_starter_clays
from tests.browser.conftest import PHONE, SIZES
from tests.factories import make_piece, make_project, make_section, make_student, make_user

NAMES = "Amara O.\nBao N.\nCamila R., 20403\n"


def fits(page) -> bool:
    """Whether nothing stands out to the right of the screen."""
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.mark.parametrize("size", SIZES)
def test_from_the_first_sign_in_to_pieces_with_codes(open_page, size):
    ensure_starter_clays()
    make_user("thea", is_staff=True)
    page = open_page("/", size=size)
    page.get_by_label("User name").fill("thea")
    page.get_by_label("Password").fill("thea")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Open your first section").click()
    page.get_by_label("Name").fill("Bell 4")
    page.get_by_role("button", name="Open it").click()
    page.get_by_label("Class list").fill(NAMES)
    page.get_by_role("button", name="Look them over").click()
    page.get_by_role("button", name="Add them").click()
    assert fits(page)
    page.get_by_role("link", name="Bell 4").click()
    page.get_by_role("link", name="Start a project").click()
    page.get_by_label("Lidless slab cup with a squared foot").check()
    page.get_by_label("Clay (optional)").select_option(label="Mid-fire stoneware")
    page.get_by_role("button", name="Start it").click()
    assert fits(page)
    page.get_by_role("button", name="Keep the plan").click()
    page.get_by_role("link", name="Begin the pieces").last.click()
    page.get_by_role("button", name="Begin them").click()
    page.get_by_role("heading", name="Pieces: 3").wait_for()
    assert fits(page)
    codes = Piece.objects.order_by("code").values_list("code", "student__name")
    assert list(codes) == [("A1-01", "Amara O."), ("A1-02", "Bao N."), ("A1-03", "Camila R.")]
    assert page.trouble == []


def test_a_table_of_fields_grows_by_a_row_that_counts(open_page):
    teacher = make_user("thea", is_staff=True)
    project = make_project(make_section(teacher))
    page = open_page(f"/projects/{project.pk}/plan/", teacher)
    page.get_by_role("button", name="Add a row").click()
    rows = page.locator("table.rows tbody tr")
    assert rows.count() == 5  # three sizes, the spare row and the new one
    new = rows.last
    assert new.get_by_label("What").evaluate("field => field === document.activeElement")
    new.get_by_label("What").select_option("depth")
    new.get_by_label("Fired size").fill("8.9 cm")
    page.get_by_role("button", name="Keep the plan").click()
    page.get_by_role("heading", name=project.title).wait_for()
    assert project.plan.sizes.get(name="depth").fired_mm == 89
    assert page.trouble == []


def test_one_box_ticks_all(open_page):
    teacher = make_user("thea", is_staff=True)
    section = make_section(teacher)
    project, amara = make_project(section), make_student(section)
    for n in range(3):
        make_piece(project, amara, f"K3-0{n}")
    page = open_page(f"/projects/{project.pk}/board/", teacher, PHONE)
    page.get_by_label("All").check()
    page.get_by_label("K3-01", exact=True).uncheck()
    assert page.get_by_label("All").evaluate("box => box.indeterminate")
    page.get_by_label("Ticked pieces are now").select_option("leather-hard")
    page.get_by_role("button", name="Move them on").click()
    page.get_by_text("2 pieces are now leather-hard.").wait_for()
    stages = dict(project.pieces.values_list("code", "stage"))
    assert stages == {"K3-00": "leather-hard", "K3-01": "wet", "K3-02": "leather-hard"}
    assert page.trouble == []


def test_judging_and_telling_arrive_in_their_steps(open_page):
    teacher = make_user("thea", is_staff=True)
    section = make_section(teacher)
    project = make_project(section)
    make_piece(project, make_student(section), "K3-01")
    page = open_page(f"/projects/{project.pk}/", teacher)
    page.locator(".steps .judge").get_by_text("No rubric yet.").wait_for()
    page.locator(".steps .tell").get_by_text("Not yet").wait_for()
    assert page.trouble == []


def test_nothing_is_asked_of_another_host(open_page):
    teacher = make_user("thea", is_staff=True)
    section = make_section(teacher)
    asked = []
    page = open_page("/", teacher)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"/sections/{section.pk}/")
    here = page.evaluate("location.origin")
    assert asked
    assert [url for url in asked if not url.startswith(here)] == []
