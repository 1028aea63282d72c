"""Looking back in a real browser, as large as a phone and a desk: charts, the calendar, and how a joint fitted."""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from service.domain.board import Details
from service.storage.engine import open_engine
from service.storage.ports import open_ports
from service.use_cases.answer_job import finish_job, take_job
from service.use_cases.keep_log import note_fits
from service.use_cases.ports import Ports
from service.use_cases.send_photo import Sending, send_photo
from service.use_cases.solo import SOLO, ensure_solo
from tests.service.house import fresh_database
from tests.service.use_cases.school import measured_end
from tests.service.web.site import photo
from tests.service.web.test_browser import CHROMIUM, PATIENCE_MS, SAMPLES, browser, look_over, page
from tests.service.web.waiting import wait_until

__all__ = ["browser", "page"]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")

BOARDS = 14
INKED = """canvas => {
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  return data.filter((_, index) => index % 4 === 3).some(alpha => alpha > 0);
}"""
"""Whether anything is drawn on a canvas."""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A running service with a log of boards, the newest of them measured by the service itself."""
    folder = tmp_path_factory.mktemp("service")
    database = fresh_database(folder)
    engine = open_engine(database)
    _fill(open_ports(engine, folder))
    engine.dispose()
    command = [sys.executable, "-m", "service", "serve", "--port", "0", "--data", str(folder)]
    with subprocess.Popen([*command, "--database", database], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found is not None
        yield found.group(0)
        process.send_signal(signal.SIGTERM)


def _fill(ports: Ports) -> None:
    """Steady work but for the last board; half of the boards driven."""
    ensure_solo(ports)
    for number in range(BOARDS):
        details = Details("oak" if number % 2 else "pine", None, "the old saw")
        check, _ = send_photo(SOLO, Sending(photo(number), name=f"Practice {number + 1}", details=details), ports)
        task = take_job("w", 60.0, ports)
        assert task is not None
        lean = 6.0 if number == BOARDS - 1 else 1.0 + 0.1 * (-1) ** number
        assert finish_job(task, measured_end(lean), ports)
        if number % 2:
            note_fits(SOLO, check.board, {0: "split", 1: "seated", 2: "loose"}, ports)
    send_photo(SOLO, Sending((SAMPLES / "maple-sawn-knife.jpg").read_bytes(), name="Measured box"), ports)


def measured(page: Page) -> str:
    """The address of the board that the service measured."""
    page.goto("/boards?text=measured+box")
    address = page.locator(".tile").first.get_attribute("href")
    assert address is not None
    page.goto(address)
    expect(page.locator(".sentence")).to_contain_text("Start over", timeout=PATIENCE_MS)
    return address


def test_the_charts_are_drawn_and_a_point_leads_to_its_board(page: Page) -> None:
    page.goto("/trends")
    look_over(page)
    canvases = page.locator(".chart canvas")
    expect(canvases).to_have_count(3)
    for number in range(3):
        assert canvases.nth(number).evaluate(INKED)
    expect(page.locator("#chart-said")).to_have_text("Touch a point to see its board.")
    place = page.locator(".chart[data-kind=control] .u-over")
    place.scroll_into_view_if_needed()
    box = place.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] - 2, box["y"] + box["height"] / 2)
    rows = page.locator("#points tbody tr")
    newest = rows.nth(rows.count() - 1).locator("a")
    link = page.locator("#chart-said a")
    expect(link).to_have_text(newest.inner_text())
    assert link.get_attribute("href") == f"{page.evaluate('location.origin')}{newest.get_attribute('href')}"


def test_a_board_on_paper_is_its_answer_without_menu_and_buttons(page: Page) -> None:
    measured(page)
    page.emulate_media(media="print")
    expect(page.locator(".sentence")).to_be_visible()
    expect(page.locator(".overlay")).to_be_visible()
    for pressed in (".bar", "main button", "main .button", "main summary", "main input"):
        assert [each for each in page.locator(pressed).all() if each.is_visible()] == [], pressed


@pytest.mark.parametrize("page", [("phone", "light")], ids=["phone"], indirect=True)
def test_with_large_text_the_names_of_the_numbers_are_still_words(page: Page) -> None:
    """Beside its number a name was left a letter's width."""
    page.goto("/trends")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    letter_px = 2 * 17
    widths = page.evaluate("[...document.querySelectorAll('.glances a')].map(each => each.offsetWidth)")
    assert len(widths) > 3
    assert min(widths) > 5 * letter_px


def test_the_lines_are_named_beside_the_plot_where_no_point_lies(page: Page) -> None:
    page.goto("/trends")
    canvas, plot = (page.locator(f".chart[data-kind=control] {part}").bounding_box() for part in ("canvas", ".u-over"))
    assert canvas is not None
    assert plot is not None
    assert canvas["x"] + canvas["width"] - plot["x"] - plot["width"] > 40  # "median" at 12 pixels, and the gaps


def test_a_signal_that_is_neither_better_nor_worse_has_the_whole_width(page: Page) -> None:
    measured(page)  # the only board whose walls lean to one side on the whole
    page.goto("/trends?metric=lean")
    signals = page.locator("#charts .judged > li")
    expect(signals.locator(".tag")).to_have_count(0)
    figure, words = (signals.first.locator(path).bounding_box() for path in ("xpath=..", "p"))
    assert figure is not None
    assert words is not None
    assert words["width"] > min(0.9 * figure["width"], 600)  # a line of text is no longer on any screen


@pytest.mark.parametrize("page", [("phone", "light")], ids=["phone"], indirect=True)
def test_on_a_phone_every_word_of_the_list_is_in_sight(page: Page) -> None:
    page.goto("/boards?show=list")
    assert page.locator(".boards td").count() >= BOARDS
    out = "cells => cells.filter(cell => cell.getBoundingClientRect().right > innerWidth).map(cell => cell.outerHTML)"
    assert page.locator(".boards tbody :is(th, td)").evaluate_all(out) == []


@pytest.mark.parametrize("page", [("phone", "light")], ids=["phone"], indirect=True)
def test_a_tap_enlarges_the_drawing_and_another_shows_all_of_it(page: Page) -> None:
    measured(page)
    drawing = page.locator(".drawing")
    wide = "each => each.querySelector('img').getBoundingClientRect().width / each.clientWidth"
    for times in (3.0, 1.0):
        drawing.tap()
        shown = f"Math.abs(({wide})(document.querySelector('.drawing')) - {times}) < 0.02"  # whole pixels
        wait_until(page, shown, PATIENCE_MS)


def test_points_that_would_lie_upon_one_another_are_left_out(page: Page) -> None:
    page.goto("/trends")
    expect(page.locator(".chart canvas")).to_have_count(3)
    shown = "drawn[0].series[1].points.show(drawn[0], 1)"
    assert page.evaluate(shown)

    page.evaluate("rows.push(...Array(40).fill([...rows]).flat())")  # as many as of a year
    assert not page.evaluate(shown)


def test_another_number_is_charted_by_its_link_and_the_table_has_every_point(page: Page) -> None:
    page.goto("/trends")
    page.get_by_role("link", name="Taper, mean size").click()
    page.wait_for_url("**metric=abs_taper*")
    expect(page.locator("#charts-title")).to_contain_text("Taper, mean size")
    expect(page.locator(".chart canvas")).to_have_count(3)
    assert page.locator("#points tbody tr").count() >= BOARDS


def test_the_charts_follow_a_change_from_light_to_dark(page: Page) -> None:
    page.goto("/trends")
    expect(page.locator(".chart canvas")).to_have_count(3)
    picture = "canvas => canvas.toDataURL()"
    first = page.locator(".chart canvas").first
    before = first.evaluate(picture)
    dark = page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches")
    page.emulate_media(color_scheme="light" if dark else "dark")
    changed = f"document.querySelector('.chart canvas').toDataURL() !== {json.dumps(before)}"
    wait_until(page, changed, PATIENCE_MS)


@pytest.mark.parametrize("path", ["/outcomes", "/boards?show=calendar", "/trends?saw=none"])
def test_every_other_page_that_looks_back_can_be_read_and_used_by_anybody(page: Page, path: str) -> None:
    page.goto(path)
    look_over(page)


@pytest.mark.parametrize("page", [("phone", "light")], ids=["phone"], indirect=True)
def test_on_the_narrowest_phone_no_table_of_fits_runs_out_of_its_frame(page: Page) -> None:
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto("/outcomes")
    frames = page.locator(".scroll")
    expect(frames).to_have_count(5)  # of three events, by wood, and limits of one's own
    assert frames.evaluate_all("all => all.map(each => each.scrollWidth - each.clientWidth)") == [0] * 5
    names = frames.nth(3)
    names.evaluate("each => each.querySelector('table').classList.add('names')")  # as of students
    names.locator("tbody th").first.evaluate("each => { each.textContent = 'Fern Thistlefield (invented)'; }")
    assert names.evaluate("each => each.scrollWidth - each.clientWidth") == 0


@pytest.mark.parametrize("page", [("phone", "light")], ids=["phone"], indirect=True)
def test_fits_in_twice_as_large_text_scroll_in_their_frames_and_the_page_does_not(page: Page) -> None:
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto("/outcomes")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0


def test_a_day_of_the_calendar_leads_to_its_boards(page: Page) -> None:
    page.goto("/boards?show=calendar")
    page.locator("a.day").first.click()
    expect(page.locator(".tile").first).to_be_visible()


def test_how_it_fitted_is_said_with_a_note_and_a_photo_and_counts_at_once(page: Page) -> None:
    measured(page)
    look_over(page)
    page.locator("#fit label", has_text="seated").nth(0).click()
    page.fill("#fit-note", "Light taps.")
    page.set_input_files("#fit-photo", SAMPLES / "pine-sawn-pencil.jpg")
    with page.expect_navigation():
        page.click("#fit button[type=submit]")
    expect(page.locator("#fit .strip img")).to_have_count(1, timeout=PATIENCE_MS)
    expect(page.locator("#fit-note")).to_have_value("Light taps.")
    look_over(page)
    page.get_by_role("link", name="What was predicted, and how it came out").click()
    expect(page.locator("h1")).to_have_text("Fit")
    expect(page.locator("svg.reliability")).to_have_count(3)
