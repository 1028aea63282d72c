"""The service in a real browser, at the size of a phone and of a desk: first start, photo, verdict, log; axe-core."""

from __future__ import annotations

import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.service.house import fresh_database
from tests.service.web.touch import touch
from tests.service.web.waiting import wait_until

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")

SAMPLES = Path(__file__).parents[3] / "sample_images"
SIZES = {"phone": (390, 844), "desk": (1280, 800)}
LOOKS = (("phone", "light"), ("desk", "dark"))
"""Every size and every scheme: what a page's size changes and what its colours change are different rules."""
PATIENCE_MS = 90_000
"""A check takes two or three seconds; on a machine that is busy with other tests many times as long."""
THUMB_PX = 44
"""The least height of what a thumb is to hit (WCAG 2.2, 2.5.5)."""
LINE_PX = 80
"""No field of one line is higher: a rule for something else has hit it."""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A running service that starts with an empty log."""
    folder = tmp_path_factory.mktemp("service")
    command = [sys.executable, "-m", "service", "serve", "--port", "0", "--data", str(folder)]
    with subprocess.Popen(
        [*command, "--database", fresh_database(folder)], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found is not None
        yield found.group(0)
        process.send_signal(signal.SIGTERM)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield found
        found.close()


@pytest.fixture(params=LOOKS, ids="-".join)
def page(browser: Browser, address: str, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page of that size and scheme; whatever it complains of fails the test."""
    size, scheme = request.param
    width, height = SIZES[size]
    context = browser.new_context(
        base_url=address,
        viewport={"width": width, "height": height},
        color_scheme=scheme,
        has_touch=size == "phone",
    )
    opened, complaints = context.new_page(), []
    opened.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    yield opened
    context.close()
    refusal = "422"  # a status that one of the tests asks for; browsers report every such answer
    assert [complaint for complaint in complaints if refusal not in complaint] == []


def look_over(page: Page) -> None:
    """Nothing runs out of the screen, all that is to be hit is large enough, and axe-core finds nothing at all."""
    page.wait_for_load_state()  # the words may be there before the style sheet
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    # A picture that is still being laid out may stick out for a moment; nothing may do so for good.
    wait_until(page, "document.documentElement.scrollWidth <= innerWidth", PATIENCE_MS)
    small = page.evaluate(
        f"""[...document.querySelectorAll('button, .button, select, summary, nav a')]
            .filter(each => each.offsetParent && each.getBoundingClientRect().height < {THUMB_PX})
            .map(each => each.outerHTML)"""
    )
    assert small == [], page.url
    fields = "[...document.querySelectorAll('select')]"
    high = page.evaluate(f"{fields}.filter(each => each.offsetHeight > {LINE_PX}).map(each => each.outerHTML)")
    assert high == [], page.url
    found: dict[str, Any] = Axe().run(page)
    assert [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]] == [], page.url


def test_a_photo_becomes_a_verdict_by_itself_and_the_log_remembers_it(page: Page) -> None:
    page.goto("/")
    look_over(page)
    page.set_input_files("#photos", [SAMPLES / "maple-sawn-knife.jpg", SAMPLES / "walnut-refused-no-card.jpg"])
    expect(page.locator("#chosen li")).to_have_count(2)
    page.fill("#name", "Maple box")
    page.click("form#send button[type=submit]")
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    verdict = page.locator(".sentence")
    expect(verdict).to_contain_text("Start over", timeout=PATIENCE_MS)
    look_over(page)
    larger, smaller = page.locator("[data-zoom] button").all()
    larger.click()
    assert page.evaluate("document.querySelector('.pan img').style.width") == "200%"
    smaller.click()
    assert page.evaluate("document.querySelector('.pan img').style.width") == ""
    page.goto("/boards")
    expect(page.get_by_text("Maple box").first).to_be_visible()
    look_over(page)


def test_on_a_phone_the_button_to_send_is_in_sight_once_photos_are_chosen(browser: Browser, address: str) -> None:
    width, height = SIZES["phone"]
    context = browser.new_context(base_url=address, viewport={"width": width, "height": height})
    page = context.new_page()
    page.goto("/")
    page.set_input_files("#photos", [SAMPLES / "maple-sawn-knife.jpg", SAMPLES / "walnut-refused-no-card.jpg"])
    expect(page.locator("#chosen li")).to_have_count(2)
    button = page.locator("form#send button[type=submit]").bounding_box()
    menu = page.locator(".bar nav").bounding_box()
    assert button is not None
    assert menu is not None
    assert button["y"] + button["height"] <= menu["y"]
    page.locator("#name").focus()
    field = page.locator("#name").bounding_box()
    assert field is not None
    assert field["y"] + field["height"] <= page.locator("form#send button[type=submit]").bounding_box()["y"]  # type: ignore[index]
    context.close()


def test_moments_are_told_in_the_time_of_whoever_looks(browser: Browser, address: str) -> None:
    context = browser.new_context(base_url=address, timezone_id="Etc/GMT+8")
    page = context.new_page()
    page.goto("/")
    page.locator("#recent ~ .gallery a").first.click()
    page.wait_for_url("**/boards/*")
    moment = page.locator("time").first
    utc = datetime.fromisoformat(moment.get_attribute("datetime") or "")
    there = utc.astimezone(timezone(timedelta(hours=-8)))  # `Etc` counts to the west
    expect(moment).to_contain_text(f"{there.day} ")
    expect(moment).to_contain_text(f"{there:%H:%M}")
    expect(moment).not_to_contain_text("UTC")
    context.close()


def test_the_same_photos_once_more_lead_to_the_same_board(page: Page) -> None:
    page.goto("/")
    page.set_input_files("#photos", SAMPLES / "maple-sawn-knife.jpg")
    page.click("form#send button[type=submit]")
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    page.goto("/boards")
    expect(page.locator(".tile")).to_have_count(1)


SHOWN = """() => {
    const [pan, photo] = [".pan", ".pan img"].map(each => document.querySelector(each).getBoundingClientRect());
    return [pan.x, pan.y, pan.width, pan.height, photo.x, photo.y, photo.width, photo.height];
}"""
"""The photo's frame, and the photo in it, on the screen."""


@pytest.mark.parametrize("page", [("phone", "light")], ids=["phone"], indirect=True)
def test_two_fingers_enlarge_the_photo_about_what_lies_between_them_and_one_finger_moves_it(page: Page) -> None:
    page.goto("/")
    page.set_input_files("#photos", SAMPLES / "maple-sawn-knife.jpg")
    page.click("form#send button[type=submit]")
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    page.locator("[data-zoom] summary").click(timeout=PATIENCE_MS)
    page.wait_for_load_state()
    wait_until(page, "document.querySelector('.pan img').complete", PATIENCE_MS)
    page.locator(".pan").scroll_into_view_if_needed()
    x, y, width, height, *_ = page.evaluate(SHOWN)
    middle = (x + 0.6 * width, y + 0.5 * height)

    def part_under_the_middle() -> tuple[float, float, float]:
        *_, left, top, wide, high = page.evaluate(SHOWN)
        return (middle[0] - left) / wide, (middle[1] - top) / high, wide

    before = part_under_the_middle()
    ways = [((middle[0] + side * 20, middle[1]), (middle[0] + side * 60, middle[1])) for side in (-1, 1)]
    touch(page, *ways)
    after = part_under_the_middle()
    assert after[2] / before[2] == pytest.approx(3.0, abs=0.05)  # 40 pixels apart became 120; places are whole pixels
    assert after[:2] == pytest.approx(before[:2], abs=0.01)  # a pixel or two of the frame's 350
    assert page.evaluate("visualViewport.scale") == 1.0
    touch(page, (middle, (middle[0] - 60, middle[1] - 40)))
    moved = part_under_the_middle()
    # Some of the way goes by before the browser takes it for a move (15 pixels or so, Android's own slop).
    assert 30 / after[2] < moved[0] - after[0] < 62 / after[2]
    touch(page, *[(end, start) for start, end in ways])
    assert part_under_the_middle()[2] == pytest.approx(before[2], rel=0.01)


def test_a_file_that_is_no_photo_is_said_beside_it_and_can_be_taken_out(page: Page, tmp_path: Path) -> None:
    (tmp_path / "notes.jpg").write_text("no photo")
    page.goto("/")
    page.set_input_files("#photos", tmp_path / "notes.jpg")
    page.click("form#send button[type=submit]")
    expect(page.locator("#chosen .not-sent")).to_contain_text("Not sent: The file is not a photo", timeout=PATIENCE_MS)
    expect(page.locator("#chosen .not-sent")).to_contain_text("Send the photo as the phone saved it")
    expect(page.locator("form#send button[type=submit]")).to_have_text("Check it")
    page.get_by_role("button", name="Take out: notes.jpg").click()
    expect(page.locator("#chosen")).to_be_hidden()


@pytest.mark.parametrize("path", ["/help", "/settings", "/devices", "/boards?show=list"])
def test_every_other_page_can_be_read_and_used_by_anybody(page: Page, path: str) -> None:
    page.goto(path)
    look_over(page)


def test_the_keyboard_alone_reaches_the_content(page: Page) -> None:
    page.goto("/help")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "content"
