"""Screens between phone and desk, and text as large as people set it: nothing runs out of the page or into the next."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from service.texts import text
from tests.service.web.test_browser import CHROMIUM, PATIENCE_MS, browser
from tests.service.web.test_class import WORDS
from tests.service.web.test_class_browser import first_link

__all__ = ["browser", "first_link"]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")

PAGES = ("/", "/boards", "/trends", "/outcomes", "/classes", "/review", "/help", "/settings", "/people")
TABLETS = (768, 820, 900, 991, 992, 1024)
RUNS_OUT_PX = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
INTO_THE_NEXT = """(() => {
    const words = [...document.querySelectorAll('.bar .brand, .bar nav a')].map(each => {
        const range = document.createRange();
        const last = [...each.childNodes].filter(node => node.nodeType === 3 && node.textContent.trim()).pop();
        range.selectNodeContents(last);
        return range.getBoundingClientRect();
    });
    return words.filter((one, i) => words.some((other, j) => j > i && one.right > other.left + 0.5
        && other.right > one.left + 0.5 && one.bottom > other.top && other.bottom > one.top)).length;
})()"""
"""How many words of the bar and the menu lie over another one."""

UNDER_THE_MENU = """(() => {
    const menu = document.querySelector('.bar nav'), chosen = document.activeElement;
    const below = chosen.getBoundingClientRect().bottom > menu.getBoundingClientRect().top;
    return below && chosen !== document.body && !menu.contains(chosen);
})()"""


@pytest.fixture(scope="module")
def owner(browser: Browser, first_link: str) -> Iterator[Page]:
    """The pages of whoever has the longest menu."""
    context = browser.new_context(base_url=first_link.split("/join/")[0])
    page = context.new_page()
    page.goto(first_link)
    for field, typed in (("#name", "Owner Olive Field"), ("#login", "olive"), ("#password", WORDS)):
        page.fill(field, typed)
    page.click("main form button[type=submit]")
    page.wait_for_url(lambda address: address != first_link, timeout=PATIENCE_MS)
    yield page
    context.close()


@pytest.mark.parametrize("width", TABLETS)
def test_the_longest_menu_fits_a_tablet(owner: Page, width: int) -> None:
    owner.set_viewport_size({"width": width, "height": 1180})
    owner.goto("/review")
    assert owner.locator(".bar nav a").count() == 6
    assert owner.evaluate(RUNS_OUT_PX) == 0
    assert owner.evaluate(INTO_THE_NEXT) == 0
    brand = owner.locator(".bar .brand").bounding_box()
    assert brand is not None
    assert brand["height"] < 60  # one line


@pytest.mark.parametrize("address", PAGES)
def test_twice_as_large_text_fits_a_phone(owner: Page, address: str) -> None:
    owner.set_viewport_size({"width": 390, "height": 844})
    owner.goto(address)
    owner.evaluate("document.documentElement.style.fontSize = '200%'")
    owner.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert owner.evaluate(RUNS_OUT_PX) == 0
    assert owner.evaluate(INTO_THE_NEXT) == 0


@pytest.mark.parametrize("width", [360, 390])
def test_all_ways_to_look_at_the_log_stand_in_one_row_on_a_phone(owner: Page, width: int) -> None:
    owner.set_viewport_size({"width": width, "height": 740})
    owner.goto("/outcomes")
    tops = owner.locator(".views a").evaluate_all("all => all.map(each => each.getBoundingClientRect().top)")
    assert len(tops) == 5
    assert len(set(tops)) == 1


def test_what_the_keyboard_comes_to_is_not_hidden_by_the_menu_below(owner: Page) -> None:
    owner.set_viewport_size({"width": 360, "height": 740})
    owner.goto("/people")
    reached = 0
    for _ in range(30):
        owner.keyboard.press("Tab")
        reached += owner.evaluate("document.querySelector('main').contains(document.activeElement)")
        assert not owner.evaluate(UNDER_THE_MENU)
    assert reached > 3


def test_ways_that_find_no_room_in_a_row_go_on_in_the_next(owner: Page) -> None:
    """Beyond the edge of the row nothing told of them."""
    owner.set_viewport_size({"width": 360, "height": 740})
    owner.goto("/outcomes")
    owner.evaluate("document.documentElement.style.fontSize = '200%'")
    out = "all => all.filter(each => each.getBoundingClientRect().right > innerWidth).length"
    assert owner.locator(".views a").evaluate_all(out) == 0


def test_whose_session_has_ended_is_led_to_sign_in_beside_the_page(owner: Page) -> None:
    owner.goto("/classes")
    owner.fill("#name", "Monday bench")
    ended = {"message": text("account.not_signed_in"), "what_to_do": text("account.sign_in_beside")}
    owner.route("**/classes/new", lambda route: route.fulfill(status=401, json=ended))
    owner.get_by_role("button", name=text("class.new_button")).click()
    expect(owner.get_by_role("alert")).to_contain_text(text("account.sign_in_beside"))
    with owner.context.expect_page() as beside:
        owner.get_by_role("alert").get_by_role("link", name=text("account.sign_in")).click()
    assert "/sign-in" in beside.value.url
    beside.value.close()
    expect(owner.locator("#name")).to_have_value("Monday bench")
    owner.unroute("**/classes/new")
