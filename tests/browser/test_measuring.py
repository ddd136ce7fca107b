"""The measuring sheet under real hands: keys, questions, a broken connection, two windows."""

from playwright.sync_api import expect

from studio.models import Reading
from tests.browser.conftest import PHONE
from tests.factories import make_piece, read

WAIT_MS = 8000


def cell(page, piece, column):
    return page.locator(f'tr[data-piece="{piece.pk}"] input[data-cell="{column}"]')


def focused(page):
    return page.evaluate("document.activeElement.getAttribute('aria-label')")


def settled(page, piece, column, word="done"):
    box = page.locator(f'tr[data-piece="{piece.pk}"] td:has(input[data-cell="{column}"])')
    expect(box).to_have_class(word, timeout=WAIT_MS)


def typed():
    return sorted(Reading.objects.current().values_list("typed", flat=True))


def test_type_enter_type_enter(open_sheet, school):
    page = open_sheet()
    cell(page, school.piece, "z50-0").click()
    for value in ("6.4", "6,2", "1/4 in", "6.0", "6.1"):
        page.keyboard.type(value)
        page.keyboard.press("Enter")
    assert focused(page) == "K3-02, Right, 50 up"
    settled(page, school.other_piece, "z50-0")
    expect(cell(page, school.piece, "z50-90")).to_have_value("6.2")
    assert typed() == ["1/4 in", "6.0 mm", "6.1 mm", "6.2 mm", "6.4 mm"]
    expect(page.locator(f"#check-{school.piece.pk}")).to_contain_text("mm", timeout=WAIT_MS)
    assert page.trouble == []


def test_arrows_move_and_the_drawing_lights_up(open_sheet, school):
    page = open_sheet()
    cell(page, school.piece, "z50-0").click()
    assert page.locator(".mark.lit").get_attribute("data-mark") == "z50-0"
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    assert focused(page) == "K3-02, Right, 50 up"
    assert page.locator(".mark.lit").get_attribute("data-mark") == "z50-90"
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowUp")
    assert focused(page) == "K3-01, Handle, 50 up"
    page.keyboard.type("7")
    page.keyboard.press("Escape")
    expect(cell(page, school.piece, "z50-0")).to_have_value("")
    assert typed() == []


def type_slip(page, school):
    cell(page, school.piece, "z50-0").click()
    for value in ("6.4", "6.2", "6.0", "0.64"):
        page.keyboard.type(value)
        page.keyboard.press("Enter")
    settled(page, school.piece, "z50-270", "asked")
    expect(page.locator("tr.say")).to_contain_text("Left, 50 up: 0.64? Did you mean 6.4?")


def test_one_key_takes_the_suggestion(open_sheet, school):
    page = open_sheet()
    type_slip(page, school)
    assert Reading.objects.current().get(value=0.64).doubt == "0.64? Did you mean 6.4?"
    page.keyboard.press("y")
    settled(page, school.piece, "z50-270")
    expect(page.locator("tr.say")).to_have_count(0)
    expect(cell(page, school.piece, "z50-270")).to_have_value("6.4")
    assert typed() == ["6.0 mm", "6.2 mm", "6.4 mm", "6.4 mm"]


def test_one_key_lets_it_stand_also_after_a_reload(open_sheet, school):
    page = open_sheet()
    type_slip(page, school)
    page.reload()
    expect(page.locator("tr.say")).to_contain_text("0.64? Did you mean 6.4?")
    cell(page, school.piece, "z50-270").click()
    page.keyboard.press("n")
    expect(page.locator("tr.say")).to_have_count(0)
    settled(page, school.piece, "z50-270")
    assert Reading.objects.current().get(value=0.64).doubt == ""


def test_no_size_is_told_and_stays(open_sheet, school):
    page = open_sheet()
    cell(page, school.piece, "z50-0").click()
    page.keyboard.type("6 fingers")
    page.keyboard.press("Enter")
    expect(page.locator("tr.say")).to_contain_text("is not a unit used here")
    box = cell(page, school.piece, "z50-0")
    expect(box).to_have_value("6 fingers")
    assert box.get_attribute("aria-invalid") == "true"
    assert page.locator(f"#{box.get_attribute('aria-describedby')}").count() == 1
    box.fill("6")
    page.keyboard.press("Enter")
    settled(page, school.piece, "z50-0")
    expect(page.locator("tr.say")).to_have_count(0)


def test_what_was_typed_waits_for_the_connection_and_is_sent(open_sheet, school):
    page = open_sheet()
    page.context.set_offline(True)
    cell(page, school.piece, "z50-0").click()
    for value in ("6.4", "6.2", "6.0"):
        page.keyboard.type(value)
        page.keyboard.press("Enter")
    status = page.locator("[data-status]")
    expect(status).to_contain_text("3 values wait for the connection", timeout=WAIT_MS)
    assert typed() == []
    page.context.set_offline(False)
    settled(page, school.piece, "z50-180")
    expect(status).to_contain_text("A bare number is in mm")
    assert typed() == ["6.0 mm", "6.2 mm", "6.4 mm"]


def test_what_waited_is_still_there_after_the_page_was_closed(open_sheet, school):
    page = open_sheet()
    page.route("**/measure/save/", lambda route: route.abort())
    cell(page, school.piece, "z50-0").click()
    page.keyboard.type("6.4")
    page.keyboard.press("Enter")
    expect(page.locator("[data-status]")).to_contain_text("1 value waits", timeout=WAIT_MS)
    page.unroute("**/measure/save/")
    page.reload()
    settled(page, school.piece, "z50-0")
    expect(cell(page, school.piece, "z50-0")).to_have_value("6.4")
    assert typed() == ["6.4 mm"]


def test_signed_out_meanwhile_loses_nothing(open_sheet, school):
    page = open_sheet()
    cookies = page.context.cookies()
    page.context.clear_cookies()
    cell(page, school.piece, "z50-0").click()
    page.keyboard.type("6.4")
    page.keyboard.press("Enter")
    expect(page.locator("[data-status]")).to_contain_text("signed out", timeout=WAIT_MS)
    page.context.add_cookies(cookies)
    settled(page, school.piece, "z50-0")
    assert typed() == ["6.4 mm"]


def test_two_windows_and_one_key_puts_mine_in(open_sheet, school):
    page = open_sheet()
    read(school.piece, "wall_thickness", 6.9, height_mm=50, azimuth_deg=0)
    cell(page, school.piece, "z50-0").click()
    page.keyboard.type("6.4")
    page.keyboard.press("Enter")
    expect(page.locator("tr.say")).to_contain_text("Another window wrote 6.9 here. Yours is 6.4.")
    expect(cell(page, school.piece, "z50-0")).to_have_value("6.4")
    assert typed() == ["6.9"]
    page.keyboard.press("y")
    settled(page, school.piece, "z50-0")
    assert typed() == ["6.4 mm"]
    read(school.piece, "wall_thickness", 5.5, height_mm=50, azimuth_deg=90)
    page.keyboard.type("6.1")
    page.keyboard.press("Enter")
    expect(page.locator("tr.say")).to_contain_text("Another window wrote 5.5")
    page.keyboard.press("n")
    expect(cell(page, school.piece, "z50-90")).to_have_value("5.5")
    assert typed() == ["5.5", "6.4 mm"]


def test_an_emptied_cell_can_be_put_back(open_sheet, school):
    page = open_sheet()
    cell(page, school.piece, "z50-0").click()
    page.keyboard.type("6.4")
    page.keyboard.press("Enter")
    settled(page, school.piece, "z50-0")
    cell(page, school.piece, "z50-0").click()
    page.keyboard.press("Delete")
    page.keyboard.press("Enter")
    expect(page.locator("tr.say")).to_contain_text("6.4 was taken back")
    assert typed() == []
    page.keyboard.press("y")
    settled(page, school.piece, "z50-0")
    assert typed() == ["6.4 mm"]


def test_a_value_and_its_side_are_saved_as_one(open_sheet, school):
    page = open_sheet("handle")
    cell(page, school.piece, "top").click()
    page.keyboard.type("70")
    page.keyboard.press("Enter")
    assert focused(page) == "K3-01, Top, height, side, °"
    page.keyboard.type("358")
    page.keyboard.press("Enter")
    settled(page, school.piece, "top")
    one = Reading.objects.get()
    assert (one.value, one.azimuth_deg) == (70, 358)
    assert page.trouble == []


def test_the_sheet_fits_a_phone(open_sheet, school):
    for number in range(20):
        make_piece(school.project, school.bao, f"B-{number}")
    page = open_sheet("wall-12", size=PHONE)
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width <= PHONE["width"]
    box = cell(page, school.piece, "z20-270")
    box.click()
    piece = page.locator(f'tr[data-piece="{school.piece.pk}"] th')
    assert piece.bounding_box()["x"] >= 0
    assert box.bounding_box()["x"] >= piece.bounding_box()["x"] + piece.bounding_box()["width"] - 1


def test_without_scripts_the_sheet_is_a_plain_form(browser, live_server, school, client):
    client.force_login(school.teacher)
    context = browser.new_context(java_script_enabled=False, base_url=live_server.url)
    cookie = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
    page = context.new_page()
    page.goto(f"/projects/{school.project.pk}/measure/?stage=wet&set=rim-4")
    cell(page, school.piece, "az0").fill("95")
    cell(page, school.piece, "az90").fill("tall")
    page.get_by_role("button", name="Save the sheet").click()
    expect(page.locator(".notices .notice")).to_contain_text("1 reading saved. 1 cell still open")
    expect(cell(page, school.piece, "az90")).to_have_value("tall")
    expect(page.locator("tr.say")).to_contain_text("“tall” is not a size")
    cell(page, school.piece, "az90").fill("94.5")
    page.get_by_role("button", name="Save the sheet").click()
    assert typed() == ["94.5 mm", "95 mm"]
    context.close()
