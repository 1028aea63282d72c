"""Photos chosen together of which each makes a board of its own, in a real browser, on a phone and at a desk."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from service.texts import text
from tests.service.web.site import photo
from tests.service.web.test_browser import CHROMIUM, PATIENCE_MS, address, browser, look_over, page
from tests.service.web.test_stays_browser import SEND, fresh, image
from tests.service.web.waiting import TRIES, names

__all__ = ["address", "browser", "page"]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")
BAD = {"name": "notes.jpg", "mimeType": "image/jpeg", "buffer": b"no photo"}


def each_its_own(page: Page) -> None:
    """Choose that; the radio button itself lies unseen over its label."""
    page.get_by_label(text("check.own_boards"), exact=True).check()


def pick(page: Page, *files: dict[str, object]) -> None:
    page.set_input_files("#photos", list(files))  # type: ignore[arg-type]


def test_it_is_asked_only_of_several_photos_of_ends_that_are_to_make_new_boards(page: Page) -> None:
    number = fresh(page)
    page.request.post("/api/v1/photos", max_retries=TRIES, multipart={"photo": image(number + 9), "name": "Old one"})
    page.goto("/")
    asked, shows = page.locator("#several"), page.locator("#chosen select")
    own, one = (page.get_by_label(text(f"check.{which}"), exact=True) for which in ("own_boards", "one_board"))
    expect(asked).to_be_hidden()
    pick(page, image(number))
    expect(page.locator("#chosen li")).to_have_count(1)
    expect(asked).to_be_hidden()
    pick(page, image(number), image(number + 1))
    expect(asked).to_be_visible()
    expect(one).to_be_checked()
    look_over(page)
    shows.first.select_option("show")
    expect(own).to_be_disabled()
    expect(page.get_by_text(text("check.own_ends_only"))).to_be_visible()
    look_over(page)
    shows.first.select_option("end")
    own.check()
    expect(page.get_by_text(text("check.own_ends_only"))).to_be_hidden()
    expect(shows.first).to_be_hidden()
    look_over(page)
    page.locator("#board").select_option(label="Old one")
    expect(asked).to_be_hidden()
    expect(shows.first).to_be_visible()
    shows.first.select_option("show")
    page.locator("#board").select_option("")
    expect(one).to_be_checked()  # a face was told meanwhile
    page.get_by_role("button", name=f"{text('check.take_out')}: IMG_{number}.jpg").click()
    expect(asked).to_be_hidden()


def test_each_photo_makes_a_board_and_the_log_shows_them_with_those_that_were_known(page: Page) -> None:
    number = fresh(page)
    old = page.request.post(
        "/api/v1/photos", max_retries=TRIES, multipart={"photo": image(number + 1), "name": "Old one"}
    ).json()["board"]
    page.goto("/")
    pick(page, *(image(number + place) for place in range(3)))
    each_its_own(page)
    page.fill("#name", "Practice")
    page.click(SEND)
    page.wait_for_url(f"**/boards?known={old}", timeout=PATIENCE_MS)
    expect(page.locator(".tile strong").nth(0)).to_have_text("Practice 3")
    expect(page.locator(".tile strong").nth(1)).to_have_text("Practice 1")
    expect(page.locator(".said[role=status]")).to_have_text(f"{text('check.known_in_log')} Old one")
    look_over(page)
    expect(page.locator("#found")).not_to_have_attribute("data-waits", re.compile(""), timeout=PATIENCE_MS)
    expect(page.locator(".tile .standing").first).not_to_contain_text(text("standing.waiting"))


def test_beside_a_bad_file_the_good_ones_keep_their_boards_and_taking_it_out_leads_to_the_log(
    page: Page, tmp_path: Path
) -> None:
    number = fresh(page)
    one, two, three, bad = (tmp_path / f"{name}.jpg" for name in ("one", "two", "three", "notes"))
    for place, path in enumerate((one, two, three)):
        path.write_bytes(photo(number + place))
    bad.write_text("no photo")
    page.goto("/")
    page.set_input_files("#photos", [one, bad, two])
    each_its_own(page)
    page.fill("#name", "Row")
    page.click(SEND)
    expect(page.get_by_role("link", name=text("check.to_board"))).to_have_count(2, timeout=PATIENCE_MS)
    expect(page.locator("#chosen")).to_contain_text("Send the photo as the phone saved it")
    page.set_input_files("#photos", [one, two, three])  # chosen once more, with a good one
    page.click(SEND)
    page.wait_for_url("**/boards", timeout=PATIENCE_MS)
    made = names(page)
    assert made[:3] == ["Row 4", "Row 3", "Row 1"]  # what was sent keeps its number, and no two have the same
    page.goto("/")
    pick(page, image(number + 3), BAD, image(number + 4))
    each_its_own(page)
    page.click(SEND)
    expect(page.get_by_role("link", name=text("check.to_board"))).to_have_count(2, timeout=PATIENCE_MS)
    page.get_by_role("button", name=f"{text('check.take_out')}: notes.jpg").click()
    page.wait_for_url("**/boards", timeout=PATIENCE_MS)
    assert len(names(page)) == len(made) + 2


def test_a_name_without_room_for_a_number_is_said_at_its_field_and_no_photo_is_sent(page: Page) -> None:
    number, before = fresh(page), len(names(page))
    page.goto("/")
    pick(page, image(number), image(number + 1))
    each_its_own(page)
    page.fill("#name", "x" * 80)
    page.click(SEND)
    expect(page.locator(".mistake")).to_have_count(1)
    expect(page.locator("#name")).to_be_focused()
    assert len(names(page)) == before
    page.fill("#name", "Short")
    page.get_by_role("button", name=f"{text('check.take_out')}: IMG_{number}.jpg").click()
    page.click(SEND)
    page.wait_for_url(re.compile(r"/boards/[^/?]+$"), timeout=PATIENCE_MS)  # a single one is left
