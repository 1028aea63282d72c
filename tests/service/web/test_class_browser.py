"""A class in a real browser: an instructor at a desk, a student with a phone, and what each sees of the other."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.service.house import fresh_database
from tests.service.web.test_browser import CHROMIUM, PATIENCE_MS, SAMPLES, SIZES, browser, look_over
from tests.service.web.test_class import WORDS

__all__ = ["browser"]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")


@pytest.fixture(scope="module")
def first_link(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A running service in class mode: the link that makes its owner."""
    folder = tmp_path_factory.mktemp("service")
    command = [sys.executable, "-m", "service", "serve", "--class", "--port", "0", "--data", str(folder)]
    with subprocess.Popen(
        [*command, "--database", fresh_database(folder)], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        lines = (process.stdout.readline() for _ in range(10))
        yield next(found.group(0) for line in lines if (found := re.search(r"http://\S+/join/\S+", line)))
        process.send_signal(signal.SIGTERM)


@contextmanager
def page_of(browser: Browser, size: str, scheme: str) -> Iterator[Page]:
    """A fresh browser of that size; whatever its pages complain of fails the test."""
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)  # type: ignore[arg-type]
    opened, complaints = context.new_page(), []
    opened.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    yield opened
    context.close()
    assert complaints == []


def looked_over(page: Page) -> None:
    """Look a page over that a click may just have led to, once its styles are there."""
    page.wait_for_load_state("load")
    look_over(page)


def join(page: Page, link: str, name: str, login: str) -> None:
    """Join by a link as a new person."""
    page.goto(link)
    looked_over(page)
    page.fill("#name", name)
    page.fill("#login", login)
    page.fill("#password", WORDS)
    page.click("main form button[type=submit]")
    page.wait_for_url(lambda address: address != link, timeout=PATIENCE_MS)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_class_is_made_joined_by_phone_and_handed_in_to(browser: Browser, first_link: str, scheme: str) -> None:
    with page_of(browser, "desk", scheme) as desk, page_of(browser, "phone", scheme) as phone:
        if scheme == "light":
            join(desk, first_link, "Owner Olive Field", "olive")
            expect(desk.locator("h1")).to_be_visible()
        else:
            desk.goto(first_link.split("/join/")[0] + "/sign-in")
            desk.fill("#login", "olive")
            desk.fill("#password", WORDS)
            desk.click("main form button[type=submit] >> nth=0")
        link = _set_work(desk, f"Class in the {scheme}")
        join(phone, link, f"Student Juno in the {scheme}", f"juno-{scheme}")
        _hand_in(phone)
        desk.reload()
        expect(desk.get_by_text("Boards handed in: 1, by 1 of 1 students")).to_be_visible()
        expect(desk.locator(".dots circle")).to_have_count(1)
        looked_over(desk)
        _look_over_as_narrow_as_a_phone(desk)
        desk.locator(".thumb").first.click()
        expect(desk.locator(".sentence")).to_be_visible()
        expect(desk.get_by_text(f"A board of Student Juno in the {scheme}.")).to_be_visible()
        looked_over(desk)


def _look_over_as_narrow_as_a_phone(desk: Page) -> None:
    """The class's page with several boards of a student: they stand side by side, and the page is no wider for it."""
    more = "(row) => { for (let n = 0; n < 4; n++) row.append(row.firstElementChild.cloneNode(true)); }"
    desk.locator(".thumbs").first.evaluate(more)
    wide = desk.viewport_size
    assert wide is not None
    desk.set_viewport_size({"width": 390, "height": 844})
    looked_over(desk)
    desk.set_viewport_size(wide)


def _set_work(desk: Page, name: str) -> str:
    """A class of that name with one assignment; the link to join it. Leaves the class's page open."""
    desk.click("nav a[href='/classes']")
    looked_over(desk)
    desk.fill("#name", name)
    desk.click("form[action='/classes/new'] button")
    desk.wait_for_url(re.compile(r"/classes/[^/]+$"), timeout=PATIENCE_MS)
    looked_over(desk)
    desk.click(".row a.primary")
    looked_over(desk)
    desk.fill("#title", "Three tails in maple")
    desk.fill("#what_to_cut", "One corner, half pins of 6 mm")
    desk.fill("#species", "sugar maple")
    desk.click("main form button[type=submit]")
    desk.wait_for_url("**/assignments/*", timeout=PATIENCE_MS)
    looked_over(desk)
    desk.click(".crumb a")
    return desk.locator("#join .hint code").first.inner_text()


def _hand_in(phone: Page) -> None:
    """From the class's page: the assignment, its photo, and its verdict."""
    expect(phone.get_by_role("link", name="Three tails in maple")).to_be_visible()
    looked_over(phone)
    phone.get_by_role("link", name="Three tails in maple").click()
    looked_over(phone)
    phone.click("a.big.primary")
    expect(phone.locator("#assignment option:checked")).to_contain_text("Three tails in maple")
    expect(phone.locator("#species")).to_have_value("sugar maple")
    looked_over(phone)
    _choose_otherwise(phone)
    phone.set_input_files("#photos", SAMPLES / "maple-sawn-knife.jpg")
    _says_that_it_hands_in(phone)
    phone.click("form#send button[type=submit]")
    phone.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    expect(phone.locator(".sentence")).to_be_visible(timeout=PATIENCE_MS)
    expect(phone.get_by_text("Judged by the limits of Three tails in maple.")).to_be_visible()
    looked_over(phone)


def _says_that_it_hands_in(phone: Page) -> None:
    """The button that sends, in sight while the field for the assignment is not, says what it does."""
    button = phone.locator("form#send button[type=submit]")
    expect(button).to_have_text("Check it and hand it in")
    phone.select_option("#assignment", "")
    expect(button).to_have_text("Check it")
    phone.select_option("#assignment", index=1)
    expect(button).to_have_text("Check it and hand it in")


def _choose_otherwise(phone: Page) -> None:
    """For practice, the assignment's wood is taken back, and what is typed stays with any choice; then as it was."""
    species, given = phone.locator("#species"), phone.locator("#assignment").input_value()
    phone.select_option("#assignment", "")
    expect(species).to_have_value("")
    expect(phone.locator("#more-said")).to_have_text("")
    phone.select_option("#assignment", given)
    expect(species).to_have_value("sugar maple")
    species.fill("pine")
    for choice in ("", given):
        phone.select_option("#assignment", choice)
        expect(species).to_have_value("pine")
    phone.goto(phone.url)
    expect(species).to_have_value("sugar maple")
