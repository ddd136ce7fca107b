"""Photographs in a real browser: dropped in, looked over with the keyboard, a seam drawn."""

import json

import pytest
from playwright.sync_api import expect

from studio.models import Photo, Reading
from studio.photos import filing
from studio.photos import reading as photo_reading
from tests.browser.conftest import DESK, PHONE, SIZES
from tests.browser.test_every_page import barriers
from tests.photos.photo_files import LEATHER, NO_SLIP, PHOTOS, SIDE, TOP, rendered

TRUTH = {r["file"]: r for r in json.loads((PHOTOS / "truth.json").read_text())}
# Waiting for a picture to be decoded and looked at, on a busy machine. [ms]
LOOKED_AT_MS, MEASURED_MS = 60_000, 120_000


@pytest.fixture
def people(transactional_db, school):
    return school


def taken(school, file, stage="glazed") -> Photo:
    data = rendered(file).read()
    photo = filing.take_and_file(school.section, data, file, school.teacher).photo
    photo.stage = stage
    photo.save()
    return photo


def no_sideways_scroll(page) -> bool:
    return page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_files_go_in_one_by_one_and_a_bad_one_stops_nothing(people, open_page, tmp_path):
    bad = tmp_path / "notes.jpg"
    bad.write_text("no picture")
    named = tmp_path / "IMG_1.jpg"
    named.write_bytes((PHOTOS / NO_SLIP).read_bytes())
    page = open_page(f"/projects/{people.project.pk}/photos/", people.teacher)
    sent = []
    page.on("request", lambda r: sent.append(r.url) if r.method == "POST" else None)
    page.set_input_files("#id_files", [str(bad), str(PHOTOS / SIDE), str(named)])
    files = page.locator("[data-files] li")
    expect(page.locator("[data-files] li[data-state='in']")).to_have_count(2, timeout=LOOKED_AT_MS)
    assert files.count() == 3
    assert files.nth(0).get_attribute("data-state") == "refused"
    assert "notes.jpg is not a picture" in files.nth(0).inner_text()
    assert "Filed with K3-01 by its slip" in files.nth(1).inner_text()
    assert "In the tray" in files.nth(2).inner_text()
    page.wait_for_selector(".filed [data-state='to confirm']", timeout=MEASURED_MS)
    # One request a file, and one to measure the piece that a photo was filed with.
    assert [url.rsplit("/", 2)[-2] for url in sent] == ["photos"] * 3 + ["read"]
    assert "2 of 3 in, 1 not taken." in page.inner_text("[data-tally]")
    assert page.locator(".tray .photo-tile").count() == 1
    assert page.trouble == []


def test_a_lost_connection_is_told_and_the_photo_sent_again(people, open_page):
    page = open_page(f"/projects/{people.project.pk}/photos/", people.teacher)
    lost = []

    def lose_first(route):
        if route.request.method == "POST" and not lost:
            lost.append(route.request.url)
            route.abort()
        else:
            route.continue_()

    page.route("**/photos/", lose_first)
    page.set_input_files("#id_files", str(PHOTOS / SIDE))
    page.wait_for_selector("[data-files] li[data-state='in']", timeout=LOOKED_AT_MS)
    assert len(lost) == 1
    assert Photo.objects.count() == 1


def test_without_a_script_the_form_does_the_same(people, browser, live_server):
    from django.test import Client

    client = Client()
    client.force_login(people.teacher)
    context = browser.new_context(base_url=live_server.url, java_script_enabled=False)
    cookie = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
    page = context.new_page()
    page.goto(f"/projects/{people.project.pk}/photos/")
    page.set_input_files("#id_files", [str(PHOTOS / SIDE), str(PHOTOS / NO_SLIP)])
    page.click("text=Take them in")
    assert "2 photos taken in." in page.inner_text("main")
    context.close()


@pytest.mark.parametrize("size", SIZES)
def test_keys_alone_place_points_confirm_and_go_on(people, open_page, size):
    first, second = taken(people, SIDE), taken(people, LEATHER, "leather-hard")
    photo_reading.measure_together(first)
    page = open_page(f"/photos/{first.pk}/confirm/", people.teacher, size)
    assert no_sideways_scroll(page)
    height = page.locator("[data-line='height_mm'] [data-value]")
    shown = height.text_content()
    page.focus("[data-point='rim_far']")
    before = json.loads(page.input_value("[data-points-field]"))["rim_far"]
    for key in ("ArrowUp", "Shift+ArrowUp", "ArrowLeft"):
        page.keyboard.press(key)
    after = json.loads(page.input_value("[data-points-field]"))["rim_far"]
    assert [round(b - a, 2) for a, b in zip(before, after, strict=True)] == [-1.0, -11.0]
    assert page.locator("[data-loupe]").is_visible()
    expect(height).not_to_have_text(shown)  # a lip moved up by eleven pixels is millimetres taller
    page.keyboard.press("Escape")
    assert json.loads(page.input_value("[data-points-field]"))["rim_far"] == before
    expect(height).to_have_text(shown)
    # A point that a hand has placed makes its size sure, whatever the camera thought of it.
    page.keyboard.press("ArrowUp")
    expect(page.locator("[data-line='height_mm'] [data-keep]")).to_be_checked()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.dataset.point") == "rim_right"
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/photos/{second.pk}/confirm/")
    reading = Reading.objects.get(name="height")
    cup = TRUTH[SIDE]["cup"]
    assert abs(reading.value - cup["height_mm"]) <= 3 * reading.own_u
    page.keyboard.press("s")
    page.wait_for_url("**/photos/")
    assert page.trouble == []


@pytest.mark.parametrize("size", SIZES)
def test_a_point_is_dragged_where_it_belongs_and_the_sizes_follow(people, open_page, size):
    photo = taken(people, SIDE)
    page = open_page(f"/photos/{photo.pk}/confirm/", people.teacher, size)
    assert "None yet." in page.inner_text("[data-lines]")
    marks = TRUTH[SIDE]["landmarks"]
    for name in ("foot_left", "foot_right"):
        drag(page, name, marks[name]["px"])
    start = json.loads(page.input_value("[data-points-field]"))["foot_near"]
    drag(page, "foot_near", [start[0], start[1] + 2])
    page.wait_for_selector("[data-line='foot_width_mm']")
    width = float(page.inner_text("[data-line='foot_width_mm'] [data-value]"))
    # Outside: the renderer's record; dragging is as fine as a pixel of the screen.
    fine = 1.5 if size == DESK else 4.0
    assert abs(width - TRUTH[SIDE]["cup"]["foot_width_view_mm"]) <= fine
    assert page.trouble == []


def drag(page, name, to):
    spots = page.evaluate(
        """([name, to]) => {
          const svg = document.querySelector("[data-svg]");
          svg.scrollIntoView({ block: "center" });
          const rect = svg.getBoundingClientRect(), view = svg.viewBox.baseVal;
          const by = rect.width / view.width;
          const from = JSON.parse(document.querySelector("[data-points-field]").value)[name];
          const spot = ([x, y]) => [rect.left + (x - view.x) * by, rect.top + (y - view.y) * by];
          return [from, to].map(spot);
        }""",
        [name, to],
    )  # fmt: skip
    page.mouse.move(*spots[0])
    page.mouse.down()
    page.mouse.move(*spots[1], steps=4)
    page.mouse.up()


def test_a_seam_is_drawn_marked_and_kept(people, open_page):
    photo = taken(people, SIDE)
    page = open_page(f"/photos/{photo.pk}/confirm/", people.teacher, PHONE)
    page.click("summary")
    page.click("button[data-mode='line']")
    page.focus("button[data-mode='line']")
    for key in ("+", "+", "+"):
        page.keyboard.press(key)
    page.fill("#seam-from", "25")
    page.fill("#seam-to", "50")
    page.click("[data-seam-add='open']")
    page.wait_for_selector("[data-seam-parts] li")
    assert "25 % of the seam is marked" in page.inner_text("[data-seam-said]")
    page.click("[data-seam-keep]")
    expect(page.locator("[data-seam-said]")).to_contain_text("Kept.")
    kept = {r.quantity for r in Reading.objects.current()}
    assert kept == {"seam_length", "seam_open"}
    # The tool lives on when a seam is kept: it shows it, and takes more.
    page.reload()
    page.wait_for_selector("[data-seam-layer] polyline.seam-part", state="attached")
    page.wait_for_selector("[data-seam-parts] li")
    page.fill("#seam-from", "75")
    page.fill("#seam-to", "100")
    page.click("[data-seam-add='through']")
    page.locator("[data-seam-parts] li").nth(1).wait_for()
    page.click("[data-seam-keep]")
    expect(page.locator("[data-seam-said]")).to_contain_text("Kept.")
    assert Reading.objects.current().filter(quantity="seam_through").count() == 1
    assert page.trouble == []


@pytest.mark.parametrize("size", SIZES)
def test_the_pages_of_photos_obey_the_accessibility_rules(people, open_page, size):
    photo = taken(people, SIDE)
    taken(people, LEATHER, "leather-hard")
    photo_reading.measure_together(photo)
    for path in (
        f"/projects/{people.project.pk}/photos/",
        f"/projects/{people.project.pk}/paper/",
        f"/photos/{photo.pk}/confirm/",
        f"/pieces/{people.piece.pk}/photos/compare/",
    ):
        page = open_page(path, people.teacher, size)
        assert no_sideways_scroll(page), path
        assert barriers(page) == [], path
        assert page.trouble == [], path


@pytest.mark.parametrize("size", SIZES)
def test_a_shot_is_looked_at_before_it_is_kept(people, open_page, size, tmp_path):
    small = tmp_path / "image.jpg"
    small.write_bytes((PHOTOS / SIDE).read_bytes())
    wrong = tmp_path / "above.jpg"
    wrong.write_bytes((PHOTOS / TOP).read_bytes())
    page = open_page(f"/projects/{people.project.pk}/photos/shoot/", people.teacher, size)
    expect(page.locator("h1")).to_contain_text("K3-01")
    page.set_input_files("[data-shot]", wrong)
    expect(page.locator("[data-advice]")).to_contain_text("one from the side is next")
    expect(page.locator("[data-again]")).to_be_focused()
    assert not Photo.objects.exists()
    page.set_input_files("[data-shot]", small)
    expect(page.locator("[data-said]")).to_contain_text("K3-01, from the side: kept.")
    expect(page.locator("[data-next]")).to_be_focused()
    assert Photo.objects.get().view == "side"
    assert no_sideways_scroll(page)
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("from above")
    assert page.trouble == []
