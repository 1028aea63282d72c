"""Bad signal in the shop: what could not be sent is kept by the page, which opens without the network, for later."""

from __future__ import annotations

import re
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, Route, TimeoutError, expect, sync_playwright

from service.texts import text
from service.web.shell import FILES, PAGE, worker_script
from tests.service.house import fresh_database
from tests.service.web.site import Lan, Site, photo
from tests.service.web.waiting import TRIES, ask, names, wait_until

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
with_browser = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")
PASSWORD = "several words to saw by"
READY = "navigator.serviceWorker.ready.then(() => true)"
"""Whether the browser has stored the page that opens without the network."""
PATIENCE_MS = 60_000
"""A photo is sent in a moment; on a machine that is busy with other tests many times as long."""


@dataclass
class Bench:
    """A service that can be away, on a port that stays its own."""

    folder: Path
    database: str
    port: int
    options: tuple[str, ...] = ()
    process: list[subprocess.Popen[str]] = field(default_factory=list)

    def open(self) -> str:
        """Start the service; what it greets with."""
        command = [sys.executable, "-m", "service", "serve", "--port", str(self.port), "--data", str(self.folder)]
        options = [*self.options, "--database", self.database]
        process = subprocess.Popen([*command, *options], stdout=subprocess.PIPE, text=True)
        assert process.stdout is not None
        self.process.append(process)
        return "".join(iter(process.stdout.readline, f"{text('serve.stop')}\n"))

    def shut(self) -> None:
        """Stop it: to the phone that is a network that has gone."""
        process = self.process.pop()
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=60)


@contextmanager
def open_bench(folder: Path, *options: str) -> Iterator[Bench]:
    """A bench on a free port, not open yet."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    bench = Bench(folder, fresh_database(folder), port, options)
    try:
        yield bench
    finally:
        if bench.process:
            bench.shut()


@contextmanager
def open_phone(bench: Bench) -> Iterator[BrowserContext]:
    """A browser of a phone's size at that bench."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        address = f"http://localhost:{bench.port}"
        context = chromium.new_context(base_url=address, viewport={"width": 390, "height": 844})
        context.set_default_timeout(PATIENCE_MS)
        try:
            yield context
        finally:
            chromium.close()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with open_bench(tmp_path) as bench:
        bench.open()
        yield bench


@pytest.fixture
def phone(bench: Bench) -> Iterator[BrowserContext]:
    with open_phone(bench) as phone:
        yield phone


def open_ready(phone: BrowserContext) -> Page:
    """The first page, with all stored that it needs without the network."""
    page = phone.new_page()
    page.goto("/")
    page.evaluate(READY)
    return page


def choose(page: Page, *numbers: int) -> None:
    page.locator("#photos").set_input_files(
        [{"name": f"IMG_{number}.jpg", "mimeType": "image/jpeg", "buffer": photo(number)} for number in numbers]
    )


def send(page: Page, number: int) -> None:
    choose(page, number)
    page.get_by_role("button", name=text("check.send")).click()


def try_now(page: Page, name: str) -> None:
    """Have a kept photo sent at once, unless the page has sent it by itself meanwhile."""
    with suppress(TimeoutError):
        page.get_by_role("button", name=f"{text('kept.retry')}: {name}").click(timeout=2_000)


def boards(page: Page) -> int:
    return len(names(page))


@with_browser
def test_photos_sent_without_the_network_are_kept_over_closing_the_page_and_arrive_once(
    bench: Bench, phone: BrowserContext
) -> None:
    first = open_ready(phone)
    bench.shut()
    first.fill("#name", "Drawer front")
    send(first, 1)
    expect(first.locator("#kept")).to_contain_text("IMG_1.jpg", timeout=PATIENCE_MS)
    expect(first.locator("#name")).to_have_value("")  # the next board has another one
    first.close()

    second = phone.new_page()
    second.goto("/")
    expect(second.get_by_text(text("kept.without_network"))).to_be_visible(timeout=PATIENCE_MS)
    expect(second.locator("#kept")).to_contain_text("IMG_1.jpg")
    send(second, 2)
    expect(second.locator("#kept li")).to_have_count(2, timeout=PATIENCE_MS)
    send(second, 2)
    expect(second.locator("#kept li")).to_have_count(3, timeout=PATIENCE_MS)

    bench.open()
    second.goto("/")
    expect(second.locator("#kept-sent a")).to_have_count(3, timeout=PATIENCE_MS)
    expect(second.locator("#kept")).to_be_hidden()
    assert boards(second) == 2  # the second photo was kept twice, and is one check


@with_browser
def test_a_kept_photo_can_be_discarded(bench: Bench, phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto("/")
    bench.shut()
    send(page, 3)
    discard = page.get_by_role("button", name=f"{text('kept.discard')}: IMG_3.jpg")
    page.once("dialog", lambda dialog: dialog.dismiss())
    discard.click()
    expect(page.locator("#kept li")).to_have_count(1)
    page.once("dialog", lambda dialog: dialog.accept())
    discard.click()
    expect(page.locator("#kept")).to_be_hidden()


@with_browser
def test_closing_the_page_in_the_middle_of_an_upload_loses_nothing(bench: Bench, phone: BrowserContext) -> None:
    page = open_ready(phone)
    page.route("**/photos", lambda route: None)  # an upload that neither arrives nor fails
    send(page, 4)
    wait_until(page, "kept.list().then((items) => items.length === 1)", PATIENCE_MS)
    page.close()

    again = phone.new_page()
    again.goto("/")
    expect(again.locator("#kept-sent a")).to_have_count(1, timeout=PATIENCE_MS)
    assert boards(again) == 1
    assert again.evaluate("kept.list()") == []


@with_browser
def test_what_the_browser_sends_in_the_background_is_said_on_the_page(bench: Bench, phone: BrowserContext) -> None:
    page = open_ready(phone)
    page.reload()  # from now on the worker sees to this page
    page.evaluate("() => { document.getElementById('said').textContent = 'kept'; sendKept = () => undefined; }")
    page.evaluate(
        """([name, bytes]) => kept.keep(
        new File([new Uint8Array(bytes)], name, { type: "image/jpeg" }), [["kept_for", "solo"]], "batch", "")""",
        ["IMG_8.jpg", list(photo(8))],
    )
    page.evaluate("navigator.serviceWorker.ready.then((ready) => ready.sync.register('kept'))")
    expect(page.locator("#kept-sent a")).to_have_text(f"{text('check.sent')}: IMG_8.jpg", timeout=PATIENCE_MS)
    expect(page.locator("#said")).to_have_text("")


@with_browser
def test_photos_of_one_sending_that_were_kept_come_to_one_board(bench: Bench, phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto("/")
    bench.shut()
    choose(page, 5, 6)
    page.locator("#chosen select").nth(1).select_option("show")
    page.get_by_role("button", name=text("check.send")).click()
    expect(page.locator("#kept li")).to_have_count(2, timeout=PATIENCE_MS)
    bench.open()
    try_now(page, "IMG_5.jpg")
    expect(page.locator("#kept-sent a")).to_have_count(2, timeout=PATIENCE_MS)
    assert boards(page) == 1
    board = ask(page, "/api/v1/boards")["boards"][0]["id"]
    checks = ask(page, f"/api/v1/boards/{board}")["checks"]
    assert [check["view"] for check in checks] == ["end", "show"]  # every photo says for itself what it shows


@with_browser
def test_a_kept_photo_that_was_checked_before_leaves_the_others_their_board(
    bench: Bench, phone: BrowserContext
) -> None:
    page = phone.new_page()
    page.goto("/")
    send(page, 20)
    page.wait_for_url("**/boards/*")
    old = page.url.split("/")[-1].split("?")[0]
    page.goto("/")
    bench.shut()
    choose(page, 20, 21)
    page.fill("#name", "New one")
    page.get_by_role("button", name=text("check.send")).click()
    expect(page.locator("#kept li")).to_have_count(2, timeout=PATIENCE_MS)
    bench.open()
    try_now(page, "IMG_20.jpg")
    expect(page.locator("#kept-sent a")).to_have_count(2, timeout=PATIENCE_MS)
    known = page.get_by_role("link", name=f"{text('check.known_already')}: IMG_20.jpg")
    expect(known).to_have_attribute("href", f"/boards/{old}")
    assert boards(page) == 2
    assert ask(page, "/api/v1/boards")["boards"][0]["name"] == "New one"
    assert len(ask(page, f"/api/v1/boards/{old}")["checks"]) == 1


@with_browser
def test_a_photo_whose_answer_was_lost_is_no_known_one_when_it_is_sent_again(
    bench: Bench, phone: BrowserContext
) -> None:
    page = phone.new_page()
    page.goto("/")
    arrived = []

    def lose_the_first_answer(route: Route) -> None:
        if arrived:
            route.fallback()
        else:
            arrived.append(route.fetch().status)
            route.abort()

    page.route("**/photos", lose_the_first_answer)
    choose(page, 30, 31)
    page.get_by_role("button", name=text("check.send")).click()
    expect(page.locator("#kept-sent a")).to_have_count(2, timeout=PATIENCE_MS)
    assert arrived == [201]
    assert boards(page) == 1


@with_browser
def test_a_kept_photo_waits_for_its_person_to_sign_in_again_and_goes_to_nobody_else(tmp_path: Path) -> None:
    with open_bench(tmp_path, "--class") as bench:
        link = re.search(r"http://\S+/(join/\S+)", bench.open())
        assert link is not None
        with open_phone(bench) as phone:
            page = phone.new_page()
            page.goto(f"/{link.group(1)}")
            _join(page, "Wren Alder", "wren")
            invited = page.request.post("/people/invite", max_retries=TRIES, form={"role": "student"}).text()
            juno = re.search(r"/(join/[\w-]+)", invited)
            assert juno is not None
            bench.shut()
            send(page, 7)
            expect(page.locator("#kept")).to_contain_text(text("kept.waiting"), timeout=PATIENCE_MS)
            phone.clear_cookies()  # before the page can send it
            bench.open()

            page.goto("/")
            assert page.url.endswith("/sign-in")
            expect(page.locator("#kept")).to_contain_text(text("kept.stranger"), timeout=PATIENCE_MS)
            page.goto(f"/{juno.group(1)}")
            _join(page, "Juno Larchmere", "juno")
            expect(page.locator("#kept")).to_contain_text(text("kept.someone_else"), timeout=PATIENCE_MS)
            assert boards(page) == 0

            page.goto("/settings")
            page.get_by_role("button", name=text("account.sign_out")).click()
            page.locator("#login").fill("wren")
            page.locator("#password").fill(PASSWORD)
            page.get_by_role("button", name=text("account.sign_in"), exact=True).click()
            expect(page.locator("#kept-sent a")).to_have_count(1, timeout=PATIENCE_MS)
            assert boards(page) == 1


def _join(page: Page, name: str, login: str) -> None:
    """A new account, signed in, on the first page."""
    for field_, typed in (("name", name), ("login", login), ("password", PASSWORD)):
        page.locator(f"#{field_}").fill(typed)
    page.get_by_role("button", name=text("account.join"), exact=True).click()
    page.wait_for_url("**/")
    page.evaluate(READY)


def test_a_phone_can_ask_who_is_signed_in_before_it_sends(lan: Lan) -> None:
    assert lan.phone.get("/signed-in").status_code == 401
    lan.pair()
    assert lan.phone.get("/signed-in").json() == {"person": "solo"}


def test_what_was_kept_for_one_person_is_not_taken_from_another(site: Site) -> None:
    reply = site.send(photo(), kept_for="somebody-else")
    assert reply.status_code == 403
    assert site.client.get("/api/v1/boards").json()["boards"] == []


def test_the_stored_page_holds_nothing_of_anybodys_and_needs_nothing_else(site: Site) -> None:
    site.board("secret board")
    shown = site.client.get(PAGE).text
    assert "secret board" not in shown
    assert "data-person" not in shown
    assert 'data-person="solo"' in site.client.get("/").text
    asked = set(re.findall(r'(?:src|href)="(/(?:static/[\w.-]+|app\.webmanifest))', shown))
    assert asked <= set(FILES)
    assert all(site.client.get(address).status_code == 200 for address in FILES)


def test_the_worker_names_its_files_and_browsers_ask_for_it_anew(site: Site) -> None:
    reply = site.client.get("/sw.js")
    assert reply.headers["content-type"].startswith("text/javascript")
    assert reply.headers["cache-control"] == "no-cache"
    assert reply.text == worker_script()
    assert all(f'"{address}"' in reply.text for address in FILES)


@with_browser
def test_what_the_service_says_of_itself_is_not_taken_for_a_missing_network(
    bench: Bench, phone: BrowserContext
) -> None:
    page = open_ready(phone)
    full = {"message": text("error.no_room"), "what_to_do": text("error.no_room_what_to_do")}
    page.route("**/photos", lambda route: route.fulfill(status=507, json=full))
    send(page, 5)
    expect(page.locator("#said")).to_have_text(f"{' '.join(full.values())} {text('kept.later')}")
    expect(page.locator("#kept li")).to_contain_text(text("error.no_room"))
    expect(page.locator("#kept")).not_to_contain_text(text("kept.waiting"))
    page.unroute("**/photos")
    try_now(page, "IMG_5.jpg")
    expect(page.locator("#kept-sent a")).to_have_count(1)
    assert boards(page) == 1
