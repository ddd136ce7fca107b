"""A plan as it is typed: what follows is there before anything is kept."""

from tests.browser.conftest import PHONE


def test_what_follows_is_there_while_typing_and_stays_open(open_page, school):
    page = open_page(f"/projects/{school.project.pk}/plan/", user=school.teacher)
    line = page.locator("details", has_text="Pattern length")
    line.locator("summary").click()
    # π (90 − 5.588) / 0.88 + 6.35 = 307.70 for a rim of 90 mm and a wall of 6.35 × 0.88.
    page.fill("#id_sizes-1-fired_mm", "90")
    line.get_by_text("307.7 mm").wait_for()
    assert line.get_attribute("open") is not None
    page.select_option("#id_follows", "height_mm")
    page.locator(".plan-held", has_text="It follows: height").wait_for()
    assert page.evaluate("document.activeElement.id") in ("id_follows", "id_sizes-1-fired_mm")
    page.fill("#id_sizes-2-fired_mm", "95")
    page.get_by_text("darts only take in").wait_for()
    assert page.locator("svg[aria-label*='cut through']").count() == 0
    assert page.trouble == []
    school.project.plan.refresh_from_db()
    assert [s.fired_mm for s in school.project.plan.sizes.all()] == [95, 85, 58]


def test_what_the_batches_taught_comes_by_itself_on_a_phone(open_page, school):
    clay = school.project.plan.clay
    page = open_page(f"/clays/{clay.pk}/tests/", user=school.teacher, size=PHONE)
    page.get_by_text("too early to tell").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    assert page.trouble == []
