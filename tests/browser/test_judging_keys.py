"""Judging by keys, by buttons and by dragging, in a real browser."""

from rubrics.judging.marking import set_level
from rubrics.models import Mark

SETTLE_MS = 15_000
TALL = {"width": 1440, "height": 1300}
"""A window in which all six pieces can be seen, so that nothing has to be asked first."""


def wall(judged):
    return f"/projects/{judged.project.pk}/judge/{judged.c['B'].pk}/"


def states(page) -> dict[str, tuple[str, str]]:
    """Where each tile stands and how, by code."""
    return {
        tile["code"]: (tile["place"], tile["state"])
        for tile in page.eval_on_selector_all(
            "[data-tile]",
            "all => all.map(t => ({code: t.dataset.code, state: t.dataset.state,"
            " place: t.closest('[data-shelf]').dataset.shelf}))",
        )
    }


def in_hand(page) -> str:
    """The code of the tile that has the focus."""
    return page.evaluate("document.activeElement.closest('[data-tile]')?.dataset.code ?? ''")


def settled(page, code, state):
    """Wait until the site has answered for a tile."""
    page.wait_for_selector(
        f"[data-tile][data-code='{code}'][data-state='{state}']", timeout=SETTLE_MS
    )
    word = page.locator(f"[data-tile][data-code='{code}'] [data-mark-state]")
    word.filter(has_not_text="saving").wait_for(timeout=SETTLE_MS)
    all_stored(page)


def all_stored(page):
    """Wait until every value of the page has its answer: a reason goes out after its level."""
    page.wait_for_selector("html:not([data-unsaved])", timeout=SETTLE_MS)


def asked(page, *, gone=False):
    """The question why, once it is there; or wait until it is gone."""
    question = page.locator("form[data-question]")
    question.wait_for(state="detached" if gone else "visible", timeout=SETTLE_MS)
    return question


def done(page, words):
    page.locator("[data-progress]").filter(has_text=words).wait_for(timeout=SETTLE_MS)


def test_one_key_a_piece_and_one_for_all_the_rest(open_page, judged):
    page = open_page(wall(judged), judged.teacher, TALL)
    assert in_hand(page) == "K3-01"
    page.keyboard.press("Enter")
    settled(page, "K3-01", "kept")
    assert in_hand(page) == "K3-02"
    page.keyboard.press("3")
    settled(page, "K3-02", "down")
    # The reason is asked under the piece, which stays in the hand; arrows choose from the list.
    assert page.locator(".tile.in-hand").get_attribute("data-code") == "K3-02"
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    assert in_hand(page) == "K3-03"
    asked(page, gone=True)
    page.keyboard.press("k")
    done(page, "6 of 6")
    assert states(page) == {
        "K3-01": ("4", "kept"),
        "K3-02": ("3", "down"),
        "K3-03": ("4", "kept"),
        "K3-04": ("4", "kept"),
        "K3-05": ("3", "kept"),
        "K3-06": ("1", "kept"),
    }
    moved = Mark.objects.get(assessment__piece__code="K3-02")
    assert (moved.level.number, moved.reason) == (3, "seen")
    page.keyboard.press("u")
    done(page, "2 of 6")
    assert Mark.objects.decided().count() == 2
    assert page.trouble == []


def test_a_row_of_quick_digits_marks_one_piece_each(open_page, judged):
    page = open_page(f"/projects/{judged.project.pk}/judge/{judged.c['A'].pk}/", judged.teacher)
    order = page.eval_on_selector_all("[data-tile]", "all => all.map(t => t.dataset.code)")
    for digit in "123412":
        page.keyboard.press(digit)
    done(page, "6 of 6")
    marks = Mark.objects.filter(criterion=judged.c["A"]).select_related("level")
    given = {mark.assessment.piece.code: mark.level.number for mark in marks}
    assert given == dict(zip(order, (1, 2, 3, 4, 1, 2), strict=True))


def test_undo_waits_for_what_is_on_its_way(open_page, judged):
    page = open_page(
        f"/projects/{judged.project.pk}/judge/{judged.c['A'].pk}/", judged.teacher, TALL
    )
    for key in "123u":
        page.keyboard.press(key)
    page.locator("[data-said]").filter(has_text="taken back").wait_for(timeout=SETTLE_MS)
    done(page, "2 of 6")
    levels = Mark.objects.decided().order_by("pk").values_list("level__number", flat=True)
    assert list(levels) == [1, 2]


def test_arrows_walk_and_with_shift_they_move(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.keyboard.press("ArrowRight")
    assert in_hand(page) == "K3-02"
    page.keyboard.press("ArrowDown")
    assert in_hand(page) == "K3-05"
    page.keyboard.press("Shift+ArrowDown")
    settled(page, "K3-05", "down")
    assert states(page)["K3-05"][0] == "2"
    page.keyboard.press("Escape")
    assert in_hand(page) == "K3-05"
    page.keyboard.press("e")
    settled(page, "K3-05", "excused")
    assert states(page)["K3-05"][0] == "aside"
    page.keyboard.press("Escape")
    page.keyboard.press("0")
    settled(page, "K3-05", "suggested")
    assert states(page)["K3-05"][0] == "3"


def test_other_words_are_typed_where_letters_are_letters(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.keyboard.press("2")
    settled(page, "K3-01", "down")
    page.keyboard.type("Lumps 1 to 4, seen inside")
    page.keyboard.press("Enter")
    asked(page, gone=True)
    page.wait_for_selector(
        "[data-tile][data-code='K3-01']:not([data-wants-reason])", timeout=SETTLE_MS
    )
    mark = Mark.objects.get()
    assert (mark.reason, mark.reason_text) == ("other", "Lumps 1 to 4, seen inside")
    assert in_hand(page) == "K3-02"


def test_two_windows_show_both_answers_and_ask(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    set_level(judged.piece, judged.c["B"], 3, judged.teacher, expected_version=0, reason="seen")
    page.keyboard.press("1")
    ask = page.locator("[data-ask^=stale]")
    ask.wait_for(timeout=SETTLE_MS)
    assert "Thea Teach set level 3" in ask.inner_text()
    assert "You chose level 1" in ask.inner_text()
    assert Mark.objects.get().level.number == 3
    ask.get_by_role("button", name="Keep level 3").click()
    settled(page, "K3-01", "down")
    assert states(page)["K3-01"][0] == "3"


def test_what_could_not_be_saved_says_so_and_is_saved_later(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.context.set_offline(True)
    page.keyboard.press("Enter")
    page.wait_for_selector("[data-tile][data-code='K3-01'][data-unsaved]", timeout=SETTLE_MS)
    assert "not saved yet" in page.locator("[data-tile][data-code='K3-01']").inner_text()
    assert not Mark.objects.exists()
    page.context.set_offline(False)  # which the page notices and tries again by itself
    settled(page, "K3-01", "kept")
    page.locator("[data-ask]").wait_for(state="detached", timeout=SETTLE_MS)
    assert Mark.objects.get().level.number == 4


def test_who_was_signed_out_loses_nothing(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    cookies = page.context.cookies()
    page.context.clear_cookies()
    page.keyboard.press("3")
    ask = page.locator("[data-ask^=unsaved]")
    ask.wait_for(timeout=SETTLE_MS)
    assert "Sign in again in another tab" in ask.inner_text()
    page.context.add_cookies(cookies)
    page.evaluate("document.querySelector('[data-try-again]')?.click()")
    settled(page, "K3-01", "down")
    assert Mark.objects.get().level.number == 3


def test_a_tile_is_dragged_to_another_shelf(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    tile = page.locator("[data-tile][data-code='K3-01']").bounding_box()
    shelf = page.locator("[data-shelf='3'] [data-shelf-tiles]").bounding_box()
    page.mouse.move(tile["x"] + 40, tile["y"] + 40)
    page.mouse.down()
    page.mouse.move(shelf["x"] + 300, shelf["y"] + 30, steps=8)
    page.mouse.up()
    settled(page, "K3-01", "down")
    assert states(page)["K3-01"][0] == "3"
    assert page.url.endswith(wall(judged))


def test_every_act_has_a_button(open_page, judged):
    page = open_page(wall(judged), judged.teacher, TALL)
    page.locator("[data-tile][data-code='K3-05'] a").click()
    page.locator("[data-hand-piece] [data-code='K3-05'] [data-pick='2']").click()
    settled(page, "K3-05", "down")
    page.get_by_role("button", name="Mended since it was measured").click()
    page.get_by_role("button", name="Keep the other").click()
    done(page, "6 of 6")
    page.get_by_role("button", name="Undo").click()
    done(page, "1 of 6")
    page.locator("[data-tile][data-code='K3-05'] a").click()
    page.locator("[data-hand-piece] [data-code='K3-05'] [data-pick='none']").click()
    done(page, "0 of 6")


def test_two_pieces_are_lifted_side_by_side(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.keyboard.press("l")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("l")
    pair = page.locator("[data-lift-pair] [data-lifted]")
    pair.nth(1).wait_for(timeout=SETTLE_MS)
    assert [each.get_attribute("data-code") for each in pair.all()] == ["K3-01", "K3-02"]
    ids = page.eval_on_selector_all("[id]", "all => all.map(e => e.id)")
    assert len(ids) == len(set(ids))
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("3")
    page.keyboard.type("An uneven join, 1 of 2")
    page.keyboard.press("Enter")
    settled(page, "K3-01", "down")
    page.keyboard.press("Escape")
    page.locator("dialog[open]").wait_for(state="detached", timeout=SETTLE_MS)
    assert Mark.objects.get().reason_text == "An uneven join, 1 of 2"


def test_a_piece_takes_one_key_a_criterion(open_page, judged):
    page = open_page(f"/pieces/{judged.piece.pk}/judge/", judged.teacher)
    row = "document.activeElement.dataset"
    for letter in "ABCDEFGHI":
        assert page.evaluate(f"{row}.name[0]") == letter
        page.keyboard.press("Enter" if page.evaluate(f"{row}.suggested") else "3")
    done(page, "9 of 9")
    for state in ("kept", "placed"):
        page.wait_for_selector(f"[data-criterion][data-state='{state}']", timeout=SETTLE_MS)
    levels = Mark.objects.order_by("criterion__letter").values_list("level__number", flat=True)
    assert list(levels) == [3, 4, *[3] * 7]
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/pieces/{judged.other_piece.pk}/judge/")
    assert page.trouble == []


def test_a_note_is_written_and_the_keys_come_back(open_page, judged):
    page = open_page(f"/pieces/{judged.piece.pk}/judge/", judged.teacher)
    page.keyboard.press("n")
    page.keyboard.type("Draw 3 of them next time.")
    page.locator(f"#c{judged.c['A'].pk}-note button").click()
    page.keyboard.press("4")
    done(page, "1 of 9")
    mark = Mark.objects.get()
    assert (mark.level.number, mark.note) == (4, "Draw 3 of them next time.")


def test_keys_act_wherever_the_focus_is_while_the_ring_shows(open_page, judged):
    page = open_page(f"/pieces/{judged.piece.pk}/judge/", judged.teacher)
    page.locator("h1").click()
    page.keyboard.press("4")
    done(page, "1 of 9")
    assert Mark.objects.get().criterion == judged.c["A"]
    page.goto(wall(judged))
    page.locator("h1").click()
    page.locator(".shelf-descriptor").first.click()
    page.keyboard.press("Enter")
    settled(page, "K3-01", "kept")


def test_on_a_phone_nothing_runs_over_and_a_tap_is_enough(open_page, judged):
    page = open_page(wall(judged), judged.teacher, {"width": 360, "height": 740})
    page.locator("[data-tile][data-code='K3-01'] a").click()
    page.locator("[data-hand-piece] [data-pick='3']").click()
    settled(page, "K3-01", "down")
    for path in (
        wall(judged),
        f"/pieces/{judged.piece.pk}/judge/",
        f"/projects/{judged.project.pk}/judge/",
        f"/projects/{judged.project.pk}/look-over/",
    ):
        page.goto(path)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, path
