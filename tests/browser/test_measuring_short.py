"""Short hand on the measuring sheet: fewer keys, and nothing answered or lost out of sight."""

from playwright.sync_api import expect

from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.models import Reading
from tests.browser.conftest import PHONE
from tests.browser.test_measuring import cell, focused, settled, typed
from tests.factories import make_photo, make_piece, read, read_wall


def where(page, piece, column):
    return page.locator(f'td:has(input[data-cell="{column}"]) input[name^="w.{piece.pk}."]')


def values(**wanted):
    return list(
        Reading.objects.current()
        .filter(**wanted)
        .order_by("pk")
        .values_list("name", "value", "azimuth_deg")
    )


def press(page, keys):
    """Keys as a hand presses them: a letter each, ⏎ for Enter."""
    for key in keys:
        page.keyboard.press("Enter" if key == "⏎" else key)


def test_a_point_left_out_is_put_in_with_a_mark_and_one_key_takes_it_out(open_sheet, school):
    page = open_sheet()
    cell(page, school.piece, "z50-0").click()
    press(page, "64⏎")
    settled(page, school.piece, "z50-0", "taken")
    box = cell(page, school.piece, "z50-0")
    expect(box).to_have_value("6.4")
    expect(box).to_have_attribute("title", "64 taken as 6.4. N puts it back.")
    page.reload()
    settled(page, school.piece, "z50-0", "taken")
    box.click()
    page.keyboard.press("n")
    settled(page, school.piece, "z50-0", "asked")
    expect(page.locator("tr.say")).to_contain_text("64? Did you mean 6.4?")
    assert typed() == ["64 mm"]
    assert page.trouble == []


def test_the_ends_of_a_wall_in_three_keys_each(open_sheet, school):
    page = open_sheet("wall-ends")
    cell(page, school.piece, "thinnest").click()
    press(page, "58b71h")
    assert focused(page) == "K3-02, Thinnest"
    settled(page, school.piece, "thickest", "taken")
    assert values(quantity="wall_end") == [("thinnest", 5.8, 180), ("thickest", 7.1, 0)]
    expect(page.locator(f"#check-{school.piece.pk}")).to_contain_text("5.8")
    assert page.trouble == []


def test_a_calliper_that_types_value_unit_and_enter(open_sheet, school):
    page = open_sheet("wall-ends")
    cell(page, school.piece, "thinnest").click()
    page.keyboard.type("5.81 mm\n")
    page.keyboard.press("l")
    page.keyboard.type("+007.12mm\n")
    page.keyboard.press("r")
    settled(page, school.piece, "thickest")
    assert values(quantity="wall_end") == [("thinnest", 5.81, 270), ("thickest", 7.12, 90)]
    assert page.trouble == []


def test_a_rim_by_what_it_is_more_or_less_than_its_first_place(open_sheet, school):
    page = open_sheet("rim-4")
    cell(page, school.piece, "az0").click()
    press(page, "95+1-.5=")
    assert focused(page) == "K3-02, Handle, 0°"
    settled(page, school.piece, "az270")
    assert [value for _, value, _ in values(piece=school.piece)] == [95, 96, 94.5, 95]
    # A sign that a calliper writes before the whole size is no difference.
    page.keyboard.type("94\n+95.5\n")
    settled(page, school.other_piece, "az90")
    assert [value for _, value, _ in values(piece=school.other_piece)] == [94, 95.5]
    assert page.trouble == []


def test_one_key_notes_a_seam_closed_and_goes_to_the_next_cup(open_sheet, school):
    choose_rubric(school.project, ensure_starter_rubric())
    page = open_sheet("seam")
    cell(page, school.piece, "seam-open1").click()
    page.keyboard.press("c")
    assert focused(page) == "K3-02, Open 1, length"
    settled(page, school.piece, "seam-step")
    assert {name for name, *_ in values(piece=school.piece)} == {"seam"}
    assert [value for _, value, _ in values(piece=school.piece)] == [0, 0]
    # What follows from "closed" is passed over by Enter: the other open part, the crack, places.
    press(page, "0⏎")
    assert focused(page) == "K3-02, Step, largest"
    assert page.trouble == []


def test_one_key_notes_all_rows_that_nobody_read_and_one_takes_it_back(open_sheet, school):
    choose_rubric(school.project, ensure_starter_rubric())
    lost = make_piece(school.project, school.amara, "K3-03", state="lost")
    read(school.piece, "seam_open", 6, name="seam")
    page = open_sheet("seam")
    cell(page, school.other_piece, "seam-open1").click()
    page.keyboard.press("Shift+C")
    settled(page, school.other_piece, "seam-step")
    expect(page.locator("[data-status]")).to_contain_text("1 row noted so")
    assert values(piece=school.piece) == [("seam", 6, None)]
    assert values(piece=lost) == []
    page.keyboard.press("u")
    expect(cell(page, school.other_piece, "seam-step")).to_have_value("")
    settled(page, school.other_piece, "seam-step")
    assert values(piece=school.other_piece) == []
    expect(page.locator("tr.say")).to_have_count(0)
    assert page.trouble == []


def test_only_what_the_rubric_leans_on_is_asked_and_the_rest_is_one_key_away(open_sheet, school):
    choose_rubric(school.project, ensure_starter_rubric())
    page = open_sheet("seam")
    heads = page.locator("thead [data-head]")
    expect(heads).to_have_count(4)
    expect(page.locator(".pills .more-sets")).to_contain_text("Water")
    cell(page, school.piece, "seam-open1").click()
    page.keyboard.press("m")
    expect(heads).to_have_count(7)
    expect(page.get_by_role("link", name="Only what the rubric")).to_be_visible()


def test_what_a_photo_gave_is_shown_and_passed_over(open_sheet, school):
    photo = make_photo(school.piece)
    photo.confirmed_at = photo.taken_at = "2026-01-01T00:00Z"
    photo.save()
    given = {"source": "photo", "photo": photo, "own_u": 0.3}
    read(school.piece, "dimension", 101.2, name="rim_diameter", **given)
    page = open_sheet("sizes")
    expect(cell(page, school.piece, "rim_diameter")).to_have_attribute("placeholder", "photo 101.2")
    cell(page, school.piece, "height").click()
    press(page, "108⏎")
    assert focused(page) == "K3-01, Foot side"
    # An arrow goes there all the same.
    page.keyboard.press("ArrowLeft")
    assert focused(page) == "K3-01, Rim diameter"


def test_what_could_not_be_taken_stays_after_a_reload_until_it_is_mended(open_sheet, school):
    page = open_sheet()
    cell(page, school.piece, "z50-90").click()
    page.keyboard.type("abc\n")
    settled(page, school.piece, "z50-90", "refused")
    page.reload()
    settled(page, school.piece, "z50-90", "refused")
    box = cell(page, school.piece, "z50-90")
    expect(box).to_have_value("abc")
    expect(page.locator("tr.say")).to_contain_text("Right, 50 up: “abc” is not a size.")
    expect(page.locator("[data-open]")).to_contain_text("1 open question")
    box.fill("6.1")
    box.press("Enter")
    settled(page, school.piece, "z50-90")
    page.reload()
    expect(box).to_have_value("6.1")
    expect(page.locator("tr.say")).to_have_count(0)
    expect(page.locator("[data-open]")).to_be_hidden()


def test_a_refused_cell_that_is_emptied_asks_no_more(open_sheet, school):
    page = open_sheet()
    cell(page, school.piece, "z50-90").click()
    page.keyboard.type("abc\n")
    settled(page, school.piece, "z50-90", "refused")
    box = cell(page, school.piece, "z50-90")
    box.click()
    box.press("Escape")
    expect(page.locator("tr.say")).to_have_count(0)
    page.reload()
    expect(box).to_have_value("")
    expect(page.locator("tr.say")).to_have_count(0)


def test_the_count_of_open_questions_leads_from_one_to_the_next(open_sheet, school):
    last = None
    for number in range(3, 30):
        last = make_piece(school.project, school.amara, f"K3-{number:02}")
    for piece in (school.piece, last):
        read_wall(piece, 6.4, 6.2, 6.0)
        read(piece, "wall_thickness", 0.62, height_mm=45, azimuth_deg=270, doubt="0.62? 6.2?")
    page = open_sheet()
    button = page.locator("[data-open]")
    expect(button).to_contain_text("2 open questions")
    button.click()
    assert focused(page) == "K3-01, Left, 45 up"
    page.keyboard.press("o")
    assert focused(page) == "K3-29, Left, 45 up"
    page.keyboard.press("o")
    assert focused(page) == "K3-01, Left, 45 up"


def test_a_question_out_of_sight_is_gone_to_and_not_answered(open_sheet, school):
    for number in range(3, 40):
        make_piece(school.project, school.amara, f"K3-{number:02}")
    read_wall(school.piece, 6.4, 6.2, 6.0)
    asked = read(
        school.piece, "wall_thickness", 0.62, height_mm=45, azimuth_deg=270, doubt="0.62? 6.2?"
    )
    page = open_sheet(size=PHONE)
    page.locator("tr[data-piece]").last.locator("input").first.click()
    page.keyboard.press("n")
    assert focused(page) == "K3-01, Left, 45 up"
    asked.refresh_from_db()
    assert asked.doubt
    page.keyboard.press("n")
    settled(page, school.piece, "z45-270")
    asked.refresh_from_db()
    assert asked.doubt == ""


PASTE = """text => {
  const data = new DataTransfer();
  data.setData("text/plain", text);
  document.activeElement.dispatchEvent(
    new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
}"""


def test_a_block_from_a_spreadsheet_fills_the_cells_it_covers(open_sheet, school):
    page = open_sheet()
    cell(page, school.piece, "z50-90").click()
    page.evaluate(PASTE, "6.1\t6,2\n7.1\tabc\t7.3\t7.4\r\n")
    settled(page, school.other_piece, "z50-180", "refused")
    settled(page, school.other_piece, "z50-270")
    assert typed() == ["6.1 mm", "6.2 mm", "7.1 mm", "7.3 mm"]
    status = page.locator("[data-status]")
    expect(status).to_contain_text("5 cells filled. 1 value found no cell and stayed outside.")
