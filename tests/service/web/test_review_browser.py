"""Reviewing in a real browser, at a desk and with a phone: the queue, marks by tap and by keyboard, the next board."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Position, expect
from playwright.sync_api import TimeoutError as NotYet

from service.domain.assignment import Assignment
from service.domain.person import Person
from service.storage.engine import open_engine
from service.storage.ports import open_ports
from service.use_cases.keep_class import join_class, new_class
from service.use_cases.ports import Ports
from service.use_cases.send_photo import Sending, send_photo
from service.use_cases.set_work import set_assignment
from service.use_cases.sign_in import invite, join
from service.web.policy import COOKIE
from tests.service.house import fresh_database
from tests.service.web.test_browser import CHROMIUM, LOOKS, PATIENCE_MS, SAMPLES, SIZES, browser, look_over
from tests.service.web.test_class import WORDS
from tests.service.web.touch import touch
from tests.service.web.waiting import wait_until

__all__ = ["browser"]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")

PHOTOS = ("pine-sawn-pencil.jpg", "maple-sawn-knife.jpg", "walnut-refused-no-card.jpg")
URGENT_FIRST = ("not measurable", "photograph again", "start over", "pare", "transfer")


@dataclass(frozen=True)
class Served:
    """A running service with Wren's class in it: its address, and a student with three boards for every look."""

    address: str
    wren: str
    students: dict[str, str]


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("service")
    database = fresh_database(folder)
    engine = open_engine(database)
    wren, students = _fill(open_ports(engine, folder))
    engine.dispose()
    command = [sys.executable, "-m", "service", "serve", "--class", "--port", "0", "--data", str(folder)]
    with subprocess.Popen([*command, "--database", database], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        lines = (process.stdout.readline() for _ in range(10))
        address = next(found.group(0) for line in lines if (found := re.search(r"http://[^/\s]+", line)))
        yield Served(address, wren, students)
        process.send_signal(signal.SIGTERM)


def _fill(ports: Ports) -> tuple[str, dict[str, str]]:
    """The instructor's session, and the students' by case."""
    join(invite("owner", ports), "Owner Olive Field", "olive", WORDS, ports)
    wren = join(invite("instructor", ports), "Instructor Wren Alder", "wren", WORDS, ports)
    teacher = _person(ports, "wren")
    classroom = new_class(teacher, "Monday bench", ports)
    wanted = Assignment("", classroom.id, "Three tails", ports.now())
    work = set_assignment(teacher, wanted, ports)
    secrets = {}
    for number, case in enumerate(map("-".join, LOOKS)):
        secrets[case] = join(invite("student", ports), f"Student Juno {case}", f"juno-{case}", WORDS, ports)
        student = _person(ports, f"juno-{case}")
        join_class(student, classroom.join_code, ports)
        for photo in PHOTOS:
            data = (SAMPLES / photo).read_bytes()
            send_photo(student.id, Sending(data, name=f"{Path(photo).stem} {number}", assignment=work.id), ports)
    return wren, secrets


def _person(ports: Ports, login: str) -> Person:
    with ports.reading() as uow:
        account = uow.accounts.with_login(login)
        assert account is not None
        return uow.people.get(account.person)


@contextmanager
def page_of(browser: Browser, served: Served, secret: str, size: str, scheme: str) -> Iterator[Page]:
    """A signed-in browser of that size; whatever its pages complain of fails the test."""
    width, height = SIZES[size]
    context: BrowserContext = browser.new_context(
        base_url=served.address,
        viewport={"width": width, "height": height},
        color_scheme=scheme,  # type: ignore[arg-type]
        has_touch=size == "phone",
    )
    context.add_cookies([{"name": COOKIE, "value": secret, "url": served.address}])
    opened, complaints = context.new_page(), []
    opened.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    yield opened
    context.close()
    assert complaints == []


@pytest.mark.parametrize(("size", "scheme"), LOOKS, ids=map("-".join, LOOKS))
def test_boards_are_judged_one_after_the_other_and_the_student_sees_it(
    browser: Browser, served: Served, size: str, scheme: str
) -> None:
    case = f"{size}-{scheme}"
    with (
        page_of(browser, served, served.wren, size, scheme) as wren,
        page_of(browser, served, served.students[case], "phone", scheme) as juno,
    ):
        boards = _queue_of(wren, f"Student Juno {case}")
        _walk(wren, boards, size)
        if size == "desk":
            _at_a_glance(wren, [boards[0], boards[2], boards[1]])
        _mark(wren, boards[1], size)
        juno.goto(own_page(boards[1]))
        _decide(wren, boards[2])
        _seen_by_student(juno)
        wren.goto(boards[1])
        wren.locator(".past summary").first.click()
        expect(wren.locator(".past")).to_contain_text("Seen by the student")
        look_over(wren)
        wren.goto("/remarks")
        look_over(wren)


def _queue_of(wren: Page, student: str) -> list[str]:
    """The addresses of that student's boards, in the queue's order, once all are measured."""
    wren.goto("/review")
    wren.locator("main details summary").click()
    wren.select_option("#student", label=student)
    narrowed = "main form button[type=submit]"
    wren.click(narrowed)
    for _ in range(PATIENCE_MS // 500):
        if wren.locator(".queue li").count() == len(PHOTOS):
            break
        wren.wait_for_timeout(500)
        wren.reload()
    expect(wren.locator(".queue li")).to_have_count(len(PHOTOS))
    standings = [each.strip() for each in wren.locator(".queue .standing").all_inner_texts()]
    assert standings == sorted(standings, key=URGENT_FIRST.index)
    assert standings[0] == "not measurable"
    expect(wren.locator("nav .badge")).to_be_visible()
    # As wide as a phone, or a third of a desk, once the style sheet is there.
    wait_until(wren, "document.querySelector('.waiting-board img').getBoundingClientRect().width >= 300", PATIENCE_MS)
    look_over(wren)
    return [str(each.get_attribute("href")) for each in wren.locator(".waiting-board").all()]


def _walk(wren: Page, boards: list[str], size: str) -> None:
    """On and back by one key; with a phone by a swipe as well."""
    wren.goto(boards[0])
    look_over(wren)
    wren.locator("h1").click()
    wren.keyboard.press("ArrowRight")
    wren.wait_for_url(f"**{boards[1]}")
    wren.keyboard.press("ArrowLeft")
    wren.wait_for_url(f"**{boards[0]}")
    if size == "phone":
        _swipe(wren, f"**{boards[1]}")
    else:
        wren.click("a[rel=next]")
    wren.wait_for_url(f"**{boards[1]}")


def _swipe(wren: Page, url: str) -> None:
    """A swipe to the left, once more where a busy machine led the finger too slowly for one."""
    for _ in range(4):
        touch(wren, ((330, 300), (60, 300)), steps=2)
        with suppress(NotYet):
            wren.wait_for_url(url, timeout=PATIENCE_MS / 5.0)
            return


def _at_a_glance(wren: Page, boards: list[str]) -> None:
    """At a desk the whole picture stands beside advice and decision, at once."""
    for board in boards:
        wren.goto(board)
        wren.wait_for_load_state()  # the style sheet, and the picture
        shown = ("#judged img", ".told .sentence", ".decisions")
        picture, *told = [wren.locator(each).bounding_box() for each in shown]
        assert picture is not None
        assert picture["height"] > 400.0  # half of the desk's 800
        for box in (picture, *told):
            assert box is not None
            assert box["y"] + box["height"] <= SIZES["desk"][1]
        assert all(box is not None and box["x"] >= picture["x"] + picture["width"] for box in told)


def _mark(wren: Page, board: str, size: str) -> None:
    """One mark by tap or click, one by keyboard alone; what was begun survives a look at the next board."""
    stage = wren.locator("#judged")
    stage.scroll_into_view_if_needed()
    box = stage.bounding_box()
    assert box is not None
    place: Position = {"x": box["width"] * 0.25, "y": box["height"] * 0.6}
    if size == "phone":
        stage.tap(position=place)
    else:
        stage.click(position=place)
    first = wren.locator("#marks li").first
    expect(first.locator("[name=comment]")).to_be_focused()
    expect(first.locator("[name=comment]")).to_be_in_viewport()
    first.locator("[name=comment]").fill("The saw left the line here.")
    assert abs(float(first.locator("[name=x]").input_value()) - 25.0) < 0.5  # a pixel of 390 is 0.26 %
    assert abs(float(first.locator("[name=y]").input_value()) - 60.0) < 0.5
    wren.locator("#add").focus()
    wren.keyboard.press("Enter")
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp"):
        wren.keyboard.press(key)
    wren.keyboard.press("Enter")
    wren.keyboard.type("And here.")
    second = wren.locator("#marks li").nth(1)
    if size == "phone":
        _drag_by_touch(wren, second)
    assert [second.locator(f"[name={name}]").input_value() for name in "xy"] == ["52.0", "53.8"]
    expect(wren.locator("#judged .spot").nth(1)).to_have_attribute("x", "52%")
    look_over(wren)
    wren.goto("/review")
    wren.goto(board)
    expect(wren.locator("#marks li")).to_have_count(2)
    expect(second.locator("[name=comment]")).to_have_value("And here.")


def _drag_by_touch(wren: Page, entry: Locator) -> None:
    """A mark led by a finger to elsewhere on the picture, and back."""
    spot = wren.locator("#judged .spot-disc").nth(1)
    spot.scroll_into_view_if_needed()
    box, picture = spot.bounding_box(), wren.locator("#judged").bounding_box()
    assert box is not None
    assert picture is not None
    at = (box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0)
    there = (at[0] + 0.2 * picture["width"], at[1] - 40.0)
    before = [float(entry.locator(f"[name={name}]").input_value()) for name in "xy"]
    touch(wren, (at, there))
    moved = [float(entry.locator(f"[name={name}]").input_value()) for name in "xy"]
    assert moved[0] - before[0] == pytest.approx(20.0, abs=0.5)  # a pixel of 390 is 0.26 %
    assert moved[1] - before[1] == pytest.approx(-4000.0 / picture["height"], abs=0.5)
    touch(wren, (there, at))


def own_page(board: str) -> str:
    """The address of the board's own page."""
    return re.sub(r"^/review/([^?]+).*", r"/boards/\1", board)


def _decide(wren: Page, following: str) -> None:
    """A kept remark said again, a decision, and on to the next board."""
    wren.fill("#remarks", "Slower near the line.")
    wren.click("#keep")
    expect(wren.locator("#told")).to_have_text("Kept for the next board.")
    wren.fill("#remarks", "")
    wren.locator("[data-phrase]", has_text="Slower near the line.").click()
    expect(wren.locator("#remarks")).to_have_value("Slower near the line.")
    wren.get_by_role("radio", name="pare").check(force=True)
    look_over(wren)
    wren.click("button[name=then][value=next]")
    wren.wait_for_url(f"**{following}")
    expect(wren.locator("#marks li")).to_have_count(0)


PLACE_OF_SPOT = """() => {
    const [picture, spot] = ["#review .marked", "#review .spot-disc"].map(
        each => document.querySelector(each).getBoundingClientRect());
    const [x, y] = [spot.x + spot.width / 2 - picture.x, spot.y + spot.height / 2 - picture.y];
    return [x / picture.width, y / picture.height];
}"""
"""The middle of the first mark as shares of its picture, both of one moment."""


def _seen_by_student(juno: Page) -> None:
    """On the student's phone, where the board's page lies open: the news, the decision beside the tool's advice, the
    marks where they were put, "seen", and the log."""
    juno.locator("#review-news a").click(timeout=PATIENCE_MS)
    expect(juno.locator("#review")).to_contain_text("Instructor Wren Alder")
    expect(juno.locator("#review .comments li")).to_have_text(["1The saw left the line here.", "2And here."])
    expect(juno.locator("#review .both dt")).to_have_text(["Decision", "The tool's own advice"])
    juno.wait_for_load_state()  # the style sheet places the marks
    x, y = juno.evaluate(PLACE_OF_SPOT)
    assert abs(x - 0.25) < 0.01  # four pixels of the phone's 390
    assert abs(y - 0.60) < 0.01
    look_over(juno)
    juno.click("form[action$='/seen'] button")
    expect(juno.locator("#review")).to_contain_text("Seen by the student")
    juno.goto("/boards")
    expect(juno.get_by_text("reviewed: pare")).to_have_count(1)
