"""What the page shows is what is stored: answers that come late, not at all, or refused; two
windows; double clicks."""

import time

import pytest
from playwright.sync_api import expect

from rubrics.judging.marking import set_level
from rubrics.models import Mark
from tests.browser.test_judging_keys import SETTLE_MS, asked, done, in_hand, settled, states, wall

SLOW_S = 0.6
SAVES = "**/marks/**"


def intercept(page, handler):
    """Answer the saves of a page by a handler, once the page has all that it fetches by itself."""
    page.wait_for_load_state("networkidle")
    page.route(SAVES, handler)


def slow(route):
    time.sleep(SLOW_S)
    route.continue_()


def lose_answers(page):
    """The site stores the first request; its answer is lost on the way back, as are the retries."""
    stored = []

    def lose(route):
        if not stored:
            stored.append(route.fetch().status)
        route.abort()

    intercept(page, lose)


def by_code() -> dict[str, int | None]:
    marks = Mark.objects.decided().select_related("level", "assessment__piece")
    return {m.assessment.piece.code: m.level and m.level.number for m in marks}


def shown(page) -> dict[str, int]:
    """Levels that the page shows as chosen, by code."""
    decided = {"placed", "kept", "up", "down"}
    return {code: int(place) for code, (place, state) in states(page).items() if state in decided}


def test_slow_answers_come_in_order_and_the_page_shows_what_is_stored(open_page, judged):
    page = open_page(f"/projects/{judged.project.pk}/judge/{judged.c['A'].pk}/", judged.teacher)
    intercept(page, slow)
    for digit in "1234":
        page.keyboard.press(digit)
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("2")  # changes its mind before the first answer is there
    done(page, "4 of 6")
    saving = page.locator("[data-mark-state]").filter(has_text="saving")
    expect(saving).to_have_count(0, timeout=SETTLE_MS)
    assert shown(page) == by_code()
    assert len(by_code()) in (4, 5)


def test_a_digit_changed_while_the_first_is_on_its_way_is_what_stands(open_page, judged):
    page = open_page(f"/pieces/{judged.piece.pk}/judge/", judged.teacher)
    intercept(page, slow)
    answers = []
    page.on("response", lambda answer: answers.append(answer) if "/marks/" in answer.url else None)
    page.keyboard.press("4")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("2")
    while len(answers) < 2:
        page.wait_for_event("response", timeout=SETTLE_MS)
    done(page, "1 of 9")
    mark = Mark.objects.get()
    assert (mark.criterion, mark.level.number) == (judged.c["A"], 2)
    row = page.locator(f"#c{judged.c['A'].pk} [data-pick][aria-pressed=true]")
    assert row.get_attribute("data-pick") == "2"
    assert page.locator("[data-ask^=stale]").count() == 0


def test_a_question_put_off_is_not_asked_again_by_a_late_answer(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    intercept(page, slow)
    page.keyboard.press("3")
    page.keyboard.press("Escape")
    assert in_hand(page) == "K3-01"
    page.wait_for_selector("[data-tile][data-code='K3-01'][data-wants-reason]", timeout=SETTLE_MS)
    asked(page, gone=True)
    assert in_hand(page) == "K3-01"


def test_a_piece_that_is_fetched_twice_keeps_the_question_under_it(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.wait_for_selector(f"[data-hand-piece] [data-lifted='{judged.piece.pk}']")
    page.wait_for_load_state("networkidle")
    again = f"**/pieces/{judged.piece.pk}/lift/**"
    held = []

    def hold(route):
        held.append(route)

    page.route(again, hold)
    # There and back before the neighbour was fetched: the first one is fetched once more.
    with page.expect_request(again):
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowLeft")
    page.keyboard.press("3")
    page.keyboard.type("Lumps")
    question = page.locator("[data-hand-piece] form[data-question]")
    question.wait_for()
    with page.expect_response(again):
        for route in held:
            route.continue_()
    page.wait_for_load_state("networkidle")
    page.keyboard.type(" inside")
    assert question.locator("[data-ask-text]").input_value() == "Lumps inside"
    page.keyboard.press("Enter")
    asked(page, gone=True)
    settled(page, "K3-01", "down")
    done(page, "1 of 6")
    assert Mark.objects.get().reason_text == "Lumps inside"


def test_a_neighbour_that_is_fetched_late_takes_no_question_away(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.wait_for_selector(f"[data-hand-piece] [data-lifted='{judged.piece.pk}']")
    page.wait_for_load_state("networkidle")
    held = []

    def hold(route):
        held.append(route)

    page.route(f"**/pieces/{judged.other_piece.pk}/lift/**", hold)
    page.clock.install()
    page.clock.pause_at(page.evaluate("Date.now()") + 1000)
    with page.expect_request(f"**/pieces/{judged.other_piece.pk}/lift/**"):
        page.keyboard.press("ArrowRight")
        page.clock.run_for(200)  # long enough to be looked at: it is asked for
    # Back, and asked, before this one would be fetched again.
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("3")
    question = page.locator("form[data-question]")
    question.wait_for()
    with page.expect_response(f"**/pieces/{judged.other_piece.pk}/lift/**") as late:
        held[0].continue_()
    late.value.finished()
    page.evaluate("new Promise((done) => fetch(location.href).then(done))")  # behind the late one
    page.keyboard.type("Lumps under the rim")  # has the letters U and E among them
    assert question.locator("[data-ask-text]").input_value() == "Lumps under the rim"
    page.keyboard.press("Enter")
    page.clock.resume()
    asked(page, gone=True)
    settled(page, "K3-01", "down")
    assert Mark.objects.get().reason_text == "Lumps under the rim"


def test_an_answer_that_was_lost_is_no_quarrel_with_oneself(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    lose_answers(page)
    page.keyboard.press("Enter")
    page.wait_for_selector("[data-tile][data-code='K3-01'][data-unsaved]", timeout=SETTLE_MS)
    assert by_code() == {"K3-01": 4}
    page.locator("[data-tile][data-code='K3-01'] a").click()
    page.keyboard.press("3")
    page.keyboard.type("Lumps")
    page.keyboard.press("Enter")
    page.unroute(SAVES)
    page.get_by_role("button", name="Try now").click()
    settled(page, "K3-01", "down")
    page.wait_for_selector(
        "[data-tile][data-code='K3-01']:not([data-wants-reason])", timeout=SETTLE_MS
    )
    assert page.locator("[data-ask]").count() == 0
    assert by_code() == {"K3-01": 3}
    assert Mark.objects.get().reason_text == "Lumps"


def test_a_fault_of_the_site_is_said_and_the_mark_goes_out_later(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    intercept(page, lambda route: route.fulfill(status=500, body="broken"))
    for code in ("K3-01", "K3-02"):
        assert in_hand(page) == code, page.locator("[data-said]").inner_text()
        page.keyboard.press("Enter")
        page.wait_for_selector(f"[data-tile][data-code='{code}'][data-unsaved]", timeout=SETTLE_MS)
    ask = page.locator("[data-ask^=unsaved]")
    ask.filter(has_text="2 marks are not saved yet").wait_for(timeout=SETTLE_MS)
    assert by_code() == {}
    assert page.locator("[data-progress]").inner_text() == "0 of 6"
    page.unroute(SAVES)
    page.get_by_role("button", name="Try now").click()
    done(page, "2 of 6")
    ask.wait_for(state="detached", timeout=SETTLE_MS)
    assert by_code() == shown(page) == {"K3-01": 4, "K3-02": 4}


def test_what_is_refused_goes_back_to_what_is_stored(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    sentence = "The rubric was taken away meanwhile."
    intercept(
        page,
        lambda route: route.fulfill(json={"state": "problem", "sentence": sentence}, status=409),
    )
    page.keyboard.press("3")
    page.keyboard.type("A long reason")
    page.keyboard.press("Enter")
    page.locator("[data-ask^=unsaved]").filter(has_text=sentence).wait_for(timeout=SETTLE_MS)
    settled(page, "K3-01", "suggested")
    assert states(page)["K3-01"] == ("4", "suggested")
    # What was typed is still there when it is asked again.
    page.unroute(SAVES)
    page.locator("[data-tile][data-code='K3-01'] a").click()
    page.keyboard.press("3")
    assert asked(page).locator("[data-ask-text]").input_value() == "A long reason"


def test_a_script_that_sends_another_level_than_it_shows_stores_nothing(open_page, judged):
    page = open_page(wall(judged), judged.teacher)

    def twisted(route):
        body = route.request.post_data.replace("level=3", "level=1")
        route.continue_(post_data=body)

    intercept(page, twisted)
    page.keyboard.press("3")
    ask = page.locator("[data-ask^=unsaved]")
    ask.filter(has_text="level 1 was sent while the page showed level 3").wait_for(
        timeout=SETTLE_MS
    )
    assert not Mark.objects.exists()
    assert states(page)["K3-01"] == ("4", "suggested")


def test_a_closed_page_keeps_what_it_could_not_send(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    intercept(page, lambda route: route.abort())
    page.keyboard.press("Enter")
    page.wait_for_selector("[data-tile][data-code='K3-01'][data-unsaved]", timeout=SETTLE_MS)
    page.unroute(SAVES)
    other = page.context.new_page()
    page.close()
    other.goto(wall(judged))
    settled(other, "K3-01", "kept")
    assert by_code() == {"K3-01": 4}


@pytest.mark.parametrize("way", ["tile", "row"])
def test_a_double_click_chooses_once(open_page, judged, way):
    path = wall(judged) if way == "tile" else f"/pieces/{judged.piece.pk}/judge/"
    page = open_page(path, judged.teacher)
    within = "[data-hand-piece]" if way == "tile" else f"#c{judged.c['B'].pk}"
    if way == "row":
        page.locator(f"{within} h2").click()
    page.locator(f"{within} [data-pick='4']").dblclick()
    page.locator("[data-progress]").filter(has_text="1 of").wait_for(timeout=SETTLE_MS)
    mark = Mark.objects.get()
    assert (mark.assessment.piece, mark.level.number) == (judged.piece, 4)
    assert mark.changes.count() == 1


def test_a_second_window_of_the_same_browser_follows(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    other = page.context.new_page()
    other.goto(wall(judged))
    page.keyboard.press("Enter")
    settled(page, "K3-01", "kept")
    settled(other, "K3-01", "kept")
    assert in_hand(page) == "K3-02"


def test_another_persons_mark_is_asked_about_and_mine_can_stand(open_page, judged):
    page = open_page(f"/pieces/{judged.piece.pk}/judge/", judged.teacher)
    set_level(judged.piece, judged.c["A"], 2, judged.colleague, expected_version=0)
    page.keyboard.press("4")
    ask = page.locator("[data-ask^=stale]")
    ask.wait_for(timeout=SETTLE_MS)
    assert Mark.objects.get().level.number == 2
    ask.get_by_role("button", name="Put level 4").click()
    done(page, "1 of 9")
    page.locator("[data-said]").filter(has_text="4").wait_for(timeout=SETTLE_MS)
    page.wait_for_selector(f"#c{judged.c['A'].pk}[data-state=placed]", timeout=SETTLE_MS)
    assert Mark.objects.get().level.number == 4


def test_after_signing_in_again_in_another_tab_the_keys_still_save(open_page, judged, live_server):
    """A sign-in renews the token that the first page was given."""
    judged.teacher.set_password("clay-and-fire")
    judged.teacher.save()
    page = open_page("/in/")
    page.fill("[name=username]", judged.teacher.username)
    page.fill("[name=password]", "clay-and-fire")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{live_server.url}/")
    page.goto(wall(judged))
    other = page.context.new_page()
    other.goto("/")
    other.get_by_role("button", name="Sign out").click()
    other.goto("/in/")
    other.fill("[name=username]", judged.teacher.username)
    other.fill("[name=password]", "clay-and-fire")
    other.keyboard.press("Enter")
    other.wait_for_url(f"{live_server.url}/")
    page.bring_to_front()
    page.locator("[data-tile][data-code='K3-01'] a").click()
    page.keyboard.press("Enter")
    settled(page, "K3-01", "kept")
    # A plain form of the old page takes the new token along, too.
    page.get_by_role("link", name="Show names").click()
    page.wait_for_url("**names=1")
    assert by_code() == {"K3-01": 4}


# -- what another computer saved -------------------------------------------------------------------


def look_again(page):
    """The window comes back to the front: it asks what stands now."""
    with page.expect_response("**/judge/now/**"):
        page.evaluate("dispatchEvent(new Event('focus'))")


def test_an_open_shelf_takes_over_what_another_computer_saved(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    set_level(judged.piece, judged.c["B"], 2, judged.colleague, expected_version=0)
    look_again(page)
    settled(page, "K3-01", "down")
    done(page, "1 of 6")
    assert in_hand(page) == "K3-01"
    assert shown(page) == by_code() == {"K3-01": 2}


def test_an_open_piece_takes_over_and_keeps_what_is_being_typed(open_page, judged):
    page = open_page(f"/pieces/{judged.piece.pk}/judge/", judged.teacher)
    page.keyboard.press("n")
    page.keyboard.type("A level foot")
    a, b = judged.c["A"], judged.c["B"]
    set_level(judged.piece, a, 2, judged.colleague, expected_version=0, note="Theirs")
    set_level(judged.piece, b, 4, judged.colleague, expected_version=1)
    look_again(page)
    page.wait_for_selector(f"#c{b.pk}[data-state=kept]")
    # The note that is being typed is this page's own: theirs is asked about, not written over.
    assert page.locator(f"#c{a.pk} [data-note]").input_value() == "A level foot"
    page.keyboard.press("Escape")
    page.locator("[data-ask^=stale]").wait_for(timeout=SETTLE_MS)
    assert Mark.objects.get(criterion=a).note == "Theirs"


def test_what_was_asked_before_a_save_does_not_turn_the_page_back(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    page.wait_for_load_state("networkidle")
    set_level(judged.other_piece, judged.c["B"], 3, judged.colleague, expected_version=0)
    old = []

    def hold_the_first(route):
        if old:
            return route.abort()
        old.append((route, route.fetch()))

    page.route("**/judge/now/**", hold_the_first)
    with page.expect_request("**/judge/now/**"):
        page.evaluate("dispatchEvent(new Event('focus'))")
    page.locator("[data-tile][data-code='K3-02'] a").click()
    page.keyboard.press("4")
    page.locator("[data-ask^=stale]").get_by_role("button", name="Put level 4").click()
    settled(page, "K3-02", "kept")
    route, answer = old[0]
    # One look at a time: a second one goes out only when the old answer has been taken in.
    with page.expect_request("**/judge/now/**"):
        page.evaluate("setInterval(() => dispatchEvent(new Event('focus')), 50)")
        route.fulfill(response=answer)
    assert shown(page) == by_code() == {"K3-02": 4}


def test_a_second_window_counts_along(open_page, judged):
    page = open_page(wall(judged), judged.teacher)
    other = page.context.new_page()
    other.route("**/judge/now/**", lambda route: route.abort())
    other.goto(wall(judged))
    page.keyboard.press("Enter")
    settled(other, "K3-01", "kept")
    done(other, "1 of 6")
