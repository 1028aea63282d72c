"""Correcting a wall in a real browser: an end is dragged or moved by keys, and the answer comes by itself."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.service.web.test_browser import CHROMIUM, PATIENCE_MS, SAMPLES, address, browser, look_over, page
from tests.service.web.touch import touch

__all__ = ["address", "browser", "page"]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")

PHOTO = SAMPLES / "maple-sawn-knife.jpg"
END = "[name=wall-3-show-x]"
THUMB_PX = 48
"""As large as a thumb needs at least (Material and Apple say 44 to 48)."""


def place_of(page: Page) -> float:
    """Where the right wall of the second tail lies at the show face, in pixels of the photo."""
    return float(page.locator(END).input_value())


def open_lines(page: Page) -> None:
    """The page of the sample photo's lines, the right wall of the second tail in view."""
    page.goto("/")
    page.set_input_files("#photos", PHOTO)
    page.click("form#send button[type=submit]")
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    expect(page.locator(".sentence")).to_be_visible(timeout=PATIENCE_MS)
    page.get_by_role("link", name="Correct the walls").click()
    expect(page.locator("#which")).to_have_text("Left wall of tail 1")
    look_over(page)
    for _ in range(3):
        page.get_by_role("button", name="Next wall").click()
    expect(page.locator("#which")).to_have_text("Right wall of tail 2")


def drag_end(page: Page, by_px: float) -> None:
    """The ring beyond the end at the show face, dragged across the wall by so many pixels of the screen."""
    page.get_by_role("button", name="Show-face end").click()
    box = page.locator(".grip[data-end=show] .ring").bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= THUMB_PX
    x, y = box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by_px, y, steps=8)
    expect(page.locator("#loupe")).to_be_visible()
    page.mouse.up()


def test_a_dragged_end_is_measured_by_and_the_original_stays_in_reach(page: Page) -> None:
    open_lines(page)
    before = place_of(page)
    drag_end(page, 20.0)
    zoom = float(page.locator("[name=wall-3-zoom]").input_value())
    # The finger moved 20 pixels of the screen: places are kept to a hundredth, the browser's own are whole ones.
    assert place_of(page) - before == pytest.approx(20.0 / zoom, abs=1.0 / zoom)
    expect(page.locator("#changed")).to_have_text("1 line changed.")
    page.fill("#why", "The knife line was taken for the edge.")
    page.get_by_role("button", name="Measure by these lines").click()
    page.wait_for_url(re.compile(r"/checks/[^/]+$"))
    expect(page.get_by_text("Walls corrected by you")).to_be_visible(timeout=PATIENCE_MS)
    expect(page.locator(".second")).to_contain_text("The right wall of tail 2 was placed by hand")
    expect(page.locator(".second")).to_contain_text("The knife line was taken for the edge.")
    look_over(page)
    page.get_by_role("link", name="See the program's own answer").click()
    expect(page.get_by_text("It does not stand")).to_be_visible()
    look_over(page)
    page.get_by_role("link", name="See the corrected answer").click()
    page.locator("#corrections summary").click()
    page.get_by_role("button", name="Withdraw the correction").click()
    expect(page.get_by_text("Walls corrected by you")).to_be_hidden()


@pytest.mark.parametrize("page", [("phone", "light")], ids=["phone"], indirect=True)
def test_a_finger_drags_an_end_two_fingers_enlarge_the_photo_about_them(page: Page) -> None:
    open_lines(page)
    page.get_by_role("button", name="Show-face end").click()
    ring = page.locator(".grip[data-end=show] .ring").bounding_box()
    stage = page.locator("#lines-on-photo").bounding_box()
    assert ring is not None
    assert stage is not None
    before = place_of(page)
    x, y = ring["x"] + ring["width"] / 2.0, ring["y"] + ring["height"] / 2.0
    touch(page, ((x, y), (x - 30.0, y)))
    zoom = float(page.locator("[name=wall-3-zoom]").input_value())
    assert place_of(page) - before == pytest.approx(-30.0 / zoom, abs=1.0 / zoom)  # places are whole pixels
    dragged = place_of(page)
    middle = (stage["x"] + 0.3 * stage["width"], stage["y"] + 0.7 * stage["height"])
    under = photo_at(page, *middle)
    touch(page, *[((middle[0], middle[1] + side * 60), (middle[0], middle[1] + side * 30)) for side in (-1, 1)])
    after = photo_at(page, *middle)
    assert after[2] / under[2] == pytest.approx(0.5, rel=0.02)
    assert after[:2] == pytest.approx(under[:2], abs=2.0 / after[2])
    touch(page, (middle, (middle[0] + 50.0, middle[1] - 20.0)))
    shifted = photo_at(page, *middle)
    assert shifted[0] - after[0] == pytest.approx(-50.0 / after[2], abs=2.0 / after[2])
    assert place_of(page) == dragged  # the photo moves, the lines stay on it
    expect(page.locator("#changed")).to_have_text("1 line changed.")


def photo_at(page: Page, x: float, y: float) -> tuple[float, float, float]:
    """Which pixel of the photo is shown there on the screen, and how many pixels of the screen it takes."""
    at = page.evaluate(
        """([x, y]) => {
            const to = document.querySelector("#lines-on-photo image").getScreenCTM();
            return [(x - to.e) / to.a, (y - to.f) / to.d, to.a];
        }""",
        [x, y],
    )
    return at[0], at[1], at[2]


def test_the_keyboard_moves_an_end_by_a_pixel_or_a_tenth(page: Page) -> None:
    open_lines(page)
    before = place_of(page)
    grip = page.get_by_role("slider", name="Right wall of tail 2, end at the show face")
    grip.focus()
    for key, by_px in (("ArrowRight", 1.0), ("Shift+ArrowRight", 1.1), ("Shift+ArrowLeft", 1.0), ("ArrowLeft", 0.0)):
        page.keyboard.press(key)
        assert place_of(page) - before == pytest.approx(by_px, abs=0.006)  # places are kept to a hundredth
    page.get_by_role("button", name="Move this end right").click()
    assert place_of(page) - before == pytest.approx(0.5, abs=0.006)
    page.get_by_role("button", name="Put back").click()
    assert place_of(page) == before
    expect(page.locator("#changed")).to_have_text("No line was moved yet.")


@pytest.mark.parametrize("page", [("phone", "light")], ids=["phone"], indirect=True)
def test_lines_that_were_moved_are_back_after_a_look_elsewhere_until_they_are_sent(page: Page) -> None:
    open_lines(page)
    back, address_of_lines = page.locator("#draft"), page.url
    page.goto("/help")
    page.goto(address_of_lines)
    expect(page.locator("#changed")).to_have_text("No line was moved yet.")
    expect(back).to_be_hidden()
    before = place_of(page)
    for _ in range(3):
        page.get_by_role("button", name="Next wall").click()
    page.get_by_role("button", name="Show-face end").click()
    page.get_by_role("button", name="Move this end right").click()
    page.fill("#why", "The knife line was taken for the edge.")
    page.goto("/help")
    page.goto(address_of_lines)
    expect(back).to_be_visible()
    expect(page.locator("#changed")).to_have_text("1 line changed.")
    assert place_of(page) - before == pytest.approx(0.5, abs=0.006)  # places are kept to a hundredth
    expect(page.locator("#why")).to_have_value("The knife line was taken for the edge.")
    look_over(page)
    page.get_by_role("button", name="Measure by these lines").click()
    page.wait_for_url(re.compile(r"/checks/[^/]+$"))
    expect(page.get_by_text("Walls corrected by you")).to_be_visible(timeout=PATIENCE_MS)
    page.goto(address_of_lines)
    expect(page.locator("#changed")).to_have_text("No line was moved yet.")
    expect(back).to_be_hidden()
    page.go_back()
    page.locator("#corrections summary").click()
    page.get_by_role("button", name="Withdraw the correction").click()
    expect(page.get_by_text("Walls corrected by you")).to_be_hidden()


def test_the_lines_are_drawn_where_they_are_whatever_the_enlargement(page: Page) -> None:
    open_lines(page)
    for doing in ("Show-face end", "Smaller", "Larger", "All walls"):
        page.get_by_role("button", name=doing).click()
        drawn = page.evaluate(
            """() => {
                const line = document.querySelectorAll('#lines .wall')[3].querySelector('.line');
                const photo = document.querySelector('#lines-on-photo image');
                const to = photo.getScreenCTM(), at = line.getScreenCTM();
                return [line.x1.baseVal.value, to.a - at.a, to.e - at.e, to.f - at.f];
            }"""
        )
        assert drawn == pytest.approx([place_of(page), 0.0, 0.0, 0.0], abs=1e-3)  # SVG reckons in single precision
