"""Two tabs of one phone that send, and a page that is closed in the middle: every photo arrives, and is one check."""

from __future__ import annotations

from playwright.sync_api import BrowserContext, Page, Request, Route, expect

from service.texts import text
from tests.service.web.test_without_network import (
    PATIENCE_MS,
    Bench,
    bench,
    boards,
    choose,
    open_ready,
    phone,
    send,
    with_browser,
)
from tests.service.web.waiting import ask, names, wait_until

__all__ = ["bench", "phone"]
pytestmark = with_browser
KEPT = "kept.list().then((items) => items.length === {})"


def hang(page: Page) -> None:
    """From now on what the page sends neither arrives nor fails."""
    page.route("**/photos", lambda route: None)


def sending_and_other(phone: BrowserContext) -> tuple[Page, Page]:
    """A page in the middle of sending a photo, and another one."""
    first = open_ready(phone)
    hang(first)
    send(first, 1)
    wait_until(first, KEPT.format(1), PATIENCE_MS)
    second = phone.new_page()
    second.goto("/")
    return first, second


def press_send(page: Page) -> None:
    page.get_by_role("button", name=text("check.send")).click()


def test_a_photo_that_waits_for_another_tab_is_kept_and_said_to_wait(bench: Bench, phone: BrowserContext) -> None:
    first, second = sending_and_other(phone)
    second.fill("#name", "Second")
    send(second, 2)
    expect(second.locator("#chosen")).to_contain_text(text("check.turn"), timeout=PATIENCE_MS)
    wait_until(second, KEPT.format(2), PATIENCE_MS)
    second.close()
    first.close()

    third = phone.new_page()
    third.goto("/")
    expect(third.locator("#kept-sent a")).to_have_count(2, timeout=PATIENCE_MS)
    assert sorted(names(third))[-1] == "Second"
    assert boards(third) == 2


def test_a_photo_that_another_tab_is_sending_is_said_to_be_sent_there_and_arrives_once(
    bench: Bench, phone: BrowserContext
) -> None:
    first, second = sending_and_other(phone)
    expect(second.locator("#kept li")).to_contain_text(text("kept.elsewhere"), timeout=PATIENCE_MS)
    assert second.locator("#kept button").count() == 0
    first.close()
    expect(second.locator("#kept-sent a")).to_have_text(f"{text('check.sent')}: IMG_1.jpg", timeout=PATIENCE_MS)
    expect(second.locator("#kept")).to_be_hidden()
    assert boards(second) == 1


def test_a_tab_that_waited_for_another_sends_its_own_photos_to_its_own_board(
    bench: Bench, phone: BrowserContext
) -> None:
    first, second = open_ready(phone), phone.new_page()
    hang(first)
    choose(first, 1, 2)
    first.fill("#name", "First")
    press_send(first)
    wait_until(first, KEPT.format(2), PATIENCE_MS)
    second.goto("/")
    second.fill("#name", "Second")
    choose(second, 3, 4)
    press_send(second)
    wait_until(second, KEPT.format(4), PATIENCE_MS)
    first.close()
    second.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    expect(second.locator("h1")).to_have_text("Second")
    assert "known=" not in second.url
    assert sorted(names(second)) == ["First", "Second"]
    for board in ask(second, "/api/v1/boards")["boards"]:
        assert len(ask(second, f"/api/v1/boards/{board['id']}")["checks"]) == 2


def test_a_page_reloaded_between_two_photos_of_a_board_sends_the_other_to_that_board(
    bench: Bench, phone: BrowserContext
) -> None:
    page = open_ready(phone)
    passed: list[Route] = []
    sent: list[Request] = []

    def let_the_first_pass(route: Route) -> None:
        if not passed:
            passed.append(route)
            route.fallback()

    def is_second(request: Request) -> bool:
        if request.url.endswith("/photos"):
            sent.append(request)
        return len(sent) == 2

    page.route("**/photos", let_the_first_pass)
    choose(page, 1, 2)
    with page.expect_request(is_second, timeout=PATIENCE_MS):
        press_send(page)
    wait_until(page, KEPT.format(1), PATIENCE_MS)
    passed.clear()  # the next one passes; what hangs would arrive if the route were taken away before the reload
    page.reload()
    expect(page.locator("#kept-sent a")).to_have_count(1, timeout=PATIENCE_MS)
    _one_board_of_two_photos(page)


def test_a_page_closed_before_it_wrote_down_the_new_board_makes_no_second_one(
    bench: Bench, phone: BrowserContext
) -> None:
    page = open_ready(phone)
    page.evaluate("() => { kept.join = () => new Promise(() => undefined); }")  # as if it were closed right there
    choose(page, 1, 2)
    with page.expect_response("**/photos"):
        press_send(page)
    page.reload()
    expect(page.locator("#kept-sent a")).to_have_count(2, timeout=PATIENCE_MS)
    _one_board_of_two_photos(page)


def test_where_the_browser_has_no_locks_two_tabs_that_send_the_same_make_one_board(
    bench: Bench, phone: BrowserContext
) -> None:
    """As on a phone that reaches the service by its plain address in the network."""
    phone.add_init_script("Object.defineProperty(Navigator.prototype, 'locks', { value: undefined });")
    first, second = phone.new_page(), phone.new_page()
    first.goto("/")
    waiting: list[Route] = []
    first.route("**/photos", lambda route: waiting.append(route) if not waiting else route.fallback())
    choose(first, 1, 2)
    with first.expect_request("**/photos"):
        press_send(first)
    second.goto("/")
    expect(second.locator("#kept-sent a")).to_have_count(2, timeout=PATIENCE_MS)
    waiting[0].fallback()
    first.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    assert "known=" not in first.url
    _one_board_of_two_photos(first)


def test_what_is_discarded_while_it_is_sent_does_not_come_back(bench: Bench, phone: BrowserContext) -> None:
    page = open_ready(phone)
    bench.shut()
    send(page, 1)
    expect(page.locator("#kept li")).to_have_count(1, timeout=PATIENCE_MS)
    page.on("dialog", lambda dialog: dialog.accept())
    held: list[Route] = []
    page.route("**/photos", lambda route: held.append(route))
    page.route("**/signed-in", lambda route: route.fulfill(json={"person": "solo"}))
    with page.expect_request("**/photos"):
        page.get_by_role("button", name=f"{text('kept.retry')}: IMG_1.jpg").click()
    page.get_by_role("button", name=f"{text('kept.discard')}: IMG_1.jpg").click()
    expect(page.locator("#kept")).to_be_hidden()
    held[0].abort()
    page.wait_for_timeout(500)  # what came back would do so at once
    assert page.evaluate("kept.list()") == []


def _one_board_of_two_photos(page: Page) -> None:
    (board,) = ask(page, "/api/v1/boards")["boards"]
    assert len(ask(page, f"/api/v1/boards/{board['id']}")["checks"]) == 2
