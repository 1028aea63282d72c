"""Mistakes in a real browser: said where they were made, with everything that was typed still there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from service.texts import text
from tests.service.web.site import photo
from tests.service.web.test_browser import CHROMIUM, PATIENCE_MS, SAMPLES, address, browser, look_over, page
from tests.service.web.waiting import TRIES, ask, names, wait_until

__all__ = ["address", "browser", "page"]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")
SEND = "form#send button[type=submit]"


def open_board(page: Page) -> None:
    """The measured board of the sample photo."""
    page.goto("/")
    page.set_input_files("#photos", SAMPLES / "maple-sawn-knife.jpg")
    page.click(SEND)
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    expect(page.locator(".sentence")).to_be_visible(timeout=PATIENCE_MS)


def image(number: int) -> dict[str, object]:
    """A small photo that was never sent before, as a file to choose."""
    return {"name": f"IMG_{number}.jpg", "mimeType": "image/jpeg", "buffer": photo(number)}


def fresh(page: Page) -> int:
    """A number for photos that no other test of this service has sent."""
    return 10 + 10 * len(names(page))


def test_a_mistake_is_said_at_its_field_and_all_that_was_typed_stays(page: Page) -> None:
    open_board(page)
    page.get_by_text(text("board.change"), exact=True).click()
    page.fill("#notes", "Long notes on this board.")
    page.fill("#thickness", "abc")
    form = page.locator("form:has(#notes)")
    form.get_by_role("button").click()
    expect(form.get_by_role("alert")).to_contain_text("The thickness must be a length")
    expect(page.locator("#thickness")).to_be_focused()
    expect(page.locator("#thickness")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#notes")).to_have_value("Long notes on this board.")
    look_over(page)
    page.fill("#thickness", "15.6")
    form.get_by_role("button").click()
    expect(page.locator("#notes")).to_have_value("Long notes on this board.")
    expect(page.locator(".mistake")).to_have_count(0)
    page.reload()
    expect(page.locator("#thickness")).to_have_value("15.6")
    expect(page.locator(".sentence")).to_be_visible(timeout=PATIENCE_MS)  # measured anew, with pictures of its own


def test_a_file_that_is_no_photo_of_the_joint_is_said_at_its_field(page: Page, tmp_path: Path) -> None:
    (tmp_path / "notes.jpg").write_text("no photo")
    open_board(page)
    page.locator("#fit summary").click()
    page.fill("#fit-note", "The left one was tight.")
    page.set_input_files("#fit-photo", tmp_path / "notes.jpg")
    page.locator("#fit button").click()
    expect(page.locator("#fit .field .mistake")).to_contain_text("Send the photo as the phone saved it")
    expect(page.locator("#fit-note")).to_have_value("The left one was tight.")


def test_without_an_answer_everything_stays_and_can_be_sent_again(page: Page) -> None:
    open_board(page)
    page.get_by_text(text("board.change"), exact=True).click()
    page.fill("#notes", "Written without a signal.")
    page.evaluate("() => { window.fetch = () => Promise.reject(new TypeError('no network')); }")
    form = page.locator("form:has(#notes)")
    form.get_by_role("button").click()
    expect(form.get_by_role("alert")).to_have_text(text("error.no_answer"))
    expect(form.get_by_role("button")).to_be_enabled()
    expect(page.locator("#notes")).to_have_value("Written without a signal.")


def test_lines_are_sent_only_when_one_was_moved_and_what_they_cannot_be_is_said_beside_them(page: Page) -> None:
    open_board(page)
    page.get_by_role("link", name=text("correct.open")).click()
    send = page.get_by_role("button", name=text("correct.send"))
    expect(send).to_be_disabled()
    page.get_by_role("button", name=text("correct.no_wall")).click()
    page.fill("#why", "That is a scratch.")
    send.click()
    expect(page.locator("#correct > .mistake")).to_contain_text("Walls come in pairs")
    expect(page.locator("#why")).to_have_value("That is a scratch.")
    expect(page.get_by_role("button", name=text("correct.no_wall"))).to_have_attribute("aria-pressed", "true")


def test_a_thickness_that_cannot_be_is_said_once_at_its_field_and_nothing_is_sent(page: Page) -> None:
    number = fresh(page)
    page.goto("/")
    page.set_input_files("#photos", [image(number), image(number + 1)])  # type: ignore[list-item]
    page.locator("summary", has_text=text("check.more")).click()
    page.fill("#species", "cherry")
    page.fill("#thickness", "abc")
    expect(page.locator("#more-said")).to_have_text(": cherry")
    page.locator("summary", has_text=text("check.more")).click()
    page.click(SEND)
    expect(page.locator(".mistake")).to_have_count(1)
    expect(page.locator("#thickness")).to_be_focused()
    expect(page.locator("#chosen")).not_to_contain_text("thickness")
    assert page.evaluate("kept.list()") == []
    page.fill("#thickness", "")
    page.click(SEND)
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)


def test_beside_a_bad_file_the_good_one_leads_to_its_board_and_taking_the_bad_one_out_goes_there(
    page: Page, tmp_path: Path
) -> None:
    (tmp_path / "notes.jpg").write_text("no photo")
    number = fresh(page)
    page.goto("/")
    page.set_input_files("#photos", [str(tmp_path / "notes.jpg")])
    page.click(SEND)
    expect(page.locator("#chosen")).to_contain_text("Send the photo as the phone saved it", timeout=PATIENCE_MS)
    page.click(SEND)
    expect(page.locator("#said")).to_have_text(text("check.take_out_first"))
    (tmp_path / "good.jpg").write_bytes(photo(number))
    page.set_input_files("#photos", [str(tmp_path / "good.jpg"), str(tmp_path / "notes.jpg")])
    page.click(SEND)
    link = page.get_by_role("link", name=text("check.to_board"))
    expect(link).to_have_count(1, timeout=PATIENCE_MS)
    look_over(page)
    board = link.get_attribute("href")
    measured = "reply.json()).then((board) => board.checks.every((check) => check.state !== 'waiting'))"
    wait_until(page, f"fetch('/api/v1{board}').then((reply) => {measured}", PATIENCE_MS)  # its pictures are final then
    page.get_by_role("button", name=f"{text('check.take_out')}: notes.jpg").click()
    page.wait_for_url(f"**{board}", timeout=PATIENCE_MS)


@pytest.mark.parametrize(("data", "said"), [(b"no photo", "Send the photo as the phone saved it"), (b"", "is empty")])
def test_why_a_file_was_not_sent_is_in_sight_and_has_the_focus(page: Page, data: bytes, said: str) -> None:
    page.goto("/")
    page.set_input_files("#photos", [{"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": data}])
    page.locator("#chosen img").evaluate("(picture) => { picture.style.marginBottom = '900px'; }")
    page.locator(SEND).scroll_into_view_if_needed()
    page.click(SEND)
    why = page.locator("#chosen .not-sent")
    expect(why).to_contain_text(said, timeout=PATIENCE_MS)
    expect(why).to_be_focused()
    expect(why).to_be_in_viewport()
    page.click(SEND)
    expect(page.locator("#said")).to_have_text(text("check.take_out_first"))
    expect(page.locator("#said")).to_be_in_viewport()


def test_a_photo_that_was_checked_before_is_said_once(page: Page) -> None:
    open_board(page)
    page.goto("/")
    page.set_input_files("#photos", SAMPLES / "maple-sawn-knife.jpg")
    page.fill("#name", "Another name")
    page.click(SEND)
    expect(page.get_by_text(text("check.known_note"))).to_be_visible(timeout=PATIENCE_MS)
    expect(page).to_have_url(re.compile(r"/boards/[^/?]+$"))
    page.reload()
    expect(page.get_by_text(text("check.known_note"))).to_be_hidden()


def test_a_photo_that_was_checked_before_leaves_the_new_one_its_board_and_is_told_of_with_its_own(page: Page) -> None:
    number = fresh(page)
    old = page.request.post(
        "/api/v1/photos", max_retries=TRIES, multipart={"photo": image(number), "name": "Old one"}
    ).json()["board"]
    page.goto("/")
    page.set_input_files("#photos", [image(number), image(number + 1)])  # type: ignore[list-item]
    page.fill("#name", "New one")
    page.click(SEND)
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    expect(page.get_by_role("heading", level=1)).to_have_text("New one")
    board = page.locator("#answer").get_attribute("data-board")
    answered = "reply.json()).then((told) => told.checks.every((check) => check.state !== 'waiting'))"
    wait_until(page, f"fetch('/api/v1/boards/{board}').then((reply) => {answered}", PATIENCE_MS)
    expect(page.locator("#answer")).not_to_have_attribute("data-waits", re.compile(""), timeout=PATIENCE_MS)
    expect(page.get_by_text(text("check.known_elsewhere"))).to_be_visible()  # also once the answer has come
    expect(page.get_by_role("link", name="Old one")).to_have_attribute("href", f"/boards/{old}")
    assert len(ask(page, f"/api/v1/boards/{old}")["checks"]) == 1


def test_photos_chosen_once_more_beside_others_go_on_with_the_board_that_they_were_sent_to(
    page: Page, tmp_path: Path
) -> None:
    number = fresh(page)
    first, second = tmp_path / "first.jpg", tmp_path / "second.jpg"
    first.write_bytes(photo(number))
    second.write_bytes(photo(number + 1))
    (tmp_path / "notes.jpg").write_text("no photo")
    page.goto("/")
    page.set_input_files("#photos", [str(first), str(tmp_path / "notes.jpg")])
    page.fill("#name", "In two goes")
    page.click(SEND)
    expect(page.locator("#chosen")).to_contain_text("Send the photo as the phone saved it", timeout=PATIENCE_MS)
    page.set_input_files("#photos", [str(first), str(second)])
    page.click(SEND)
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    board = page.locator("#answer").get_attribute("data-board")
    assert len(ask(page, f"/api/v1/boards/{board}")["checks"]) == 2
    assert "known" not in page.url


def test_an_import_of_another_file_is_said_at_its_field(page: Page, tmp_path: Path) -> None:
    (tmp_path / "other.json").write_text("[]")
    page.goto("/settings")
    page.set_input_files("#file", tmp_path / "other.json")
    page.get_by_role("button", name=text("settings.import_button")).click()
    expect(page.locator(".field .mistake")).to_have_text(text("error.import_not_ours"))
    heights = page.locator("input[type=file]").evaluate_all("all => all.map((each) => each.offsetHeight)")
    assert min(heights) >= 48
    look_over(page)
