"""Photos of which each makes a board of its own, kept without the network and sent later."""

from __future__ import annotations

from playwright.sync_api import BrowserContext, Page, Route, expect

from service.texts import text
from tests.service.web.site import photo
from tests.service.web.test_without_network import PATIENCE_MS, Bench, bench, choose, open_ready, phone, with_browser
from tests.service.web.waiting import TRIES, names

__all__ = ["bench", "phone"]
pytestmark = with_browser


def send_each(page: Page, *numbers: int) -> None:
    choose(page, *numbers)
    page.get_by_label(text("check.own_boards"), exact=True).check()
    page.fill("#name", "Practice")
    page.get_by_role("button", name=text("check.send")).click()


def test_photos_kept_without_the_network_each_make_their_board_once_it_is_back(
    bench: Bench, phone: BrowserContext
) -> None:
    first = open_ready(phone)
    bench.shut()
    send_each(first, 1, 2)
    expect(first.locator("#kept li")).to_have_count(2, timeout=PATIENCE_MS)
    expect(first.locator("#several")).to_be_hidden()
    choose(first, 5, 6)
    expect(first.get_by_label(text("check.one_board"), exact=True)).to_be_checked()  # the next may show one board
    first.close()
    second = phone.new_page()
    second.goto("/")  # the page that is stored asks the same
    expect(second.get_by_text(text("kept.without_network"))).to_be_visible(timeout=PATIENCE_MS)
    send_each(second, 3, 4)
    expect(second.locator("#kept li")).to_have_count(4, timeout=PATIENCE_MS)
    bench.open()
    second.goto("/")
    expect(second.locator("#kept-sent a")).to_have_count(4, timeout=PATIENCE_MS)
    assert names(second) == ["Practice 2", "Practice 1", "Practice 2", "Practice 1"]


def test_a_network_that_goes_in_between_gives_no_photo_the_board_of_another(
    bench: Bench, phone: BrowserContext
) -> None:
    page = phone.new_page()
    page.goto("/")
    old = {"name": "IMG_12.jpg", "mimeType": "image/jpeg", "buffer": photo(12)}
    page.request.post("/api/v1/photos", max_retries=TRIES, multipart={"photo": old, "name": "Old one"})
    sent: list[int] = []

    def lose_the_second_answer(route: Route) -> None:
        sent.append(len(sent))
        if len(sent) == 2:
            route.fetch()
            route.abort()
        else:
            route.fallback()

    page.route("**/photos", lose_the_second_answer)
    send_each(page, 10, 11, 12, 13)
    expect(page.locator("#kept-sent a")).to_have_count(4, timeout=PATIENCE_MS)
    known = page.get_by_role("link", name=f"{text('check.known_already')}: IMG_12.jpg")
    expect(known).to_have_count(1)
    assert names(page) == ["Practice 4", "Practice 2", "Practice 1", "Old one"]
