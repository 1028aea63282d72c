"""A review that is begun, in a real browser: nothing of it is lost before the service has taken it."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from service.texts import text
from tests.service.web.test_browser import CHROMIUM, PATIENCE_MS, address, browser, look_over, page
from tests.service.web.test_stays_browser import open_board
from tests.service.web.waiting import ask, wait_until

__all__ = ["address", "browser", "page"]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")


def open_review(page: Page) -> None:
    """The review of the sample photo's board, which who is alone on a service may write."""
    open_board(page)
    page.get_by_role("link", name=text("review.review_this")).click()
    wait_until(page, "document.querySelector('#judged img').complete", PATIENCE_MS)
    page.wait_for_load_state()  # the style sheet moves what is to be hit


def put_mark(page: Page, comment: str) -> None:
    page.get_by_role("button", name=text("review.add")).click()
    page.locator("#marks [name=comment]").last.fill(comment)


def comments(page: Page) -> list[str]:
    return [each.input_value() for each in page.locator("#marks [name=comment]").all()]


def test_each_picture_keeps_its_own_marks_and_a_review_says_whose_it_takes(page: Page) -> None:
    open_review(page)
    put_mark(page, "Left the line.")
    put_mark(page, "And here.")
    page.get_by_role("link", name=text("review.on_screen")).click()
    expect(page.locator("#elsewhere")).to_have_text(text("review.elsewhere", count=2))
    expect(page.locator("#marks li")).to_have_count(0)
    put_mark(page, "A knot.")
    look_over(page)
    page.get_by_role("link", name=text("review.on_overlay")).click()
    expect(page.locator("#elsewhere")).to_have_text(text("review.elsewhere_one"))
    expect(page.locator("#marks li")).to_have_count(2)
    assert comments(page) == ["Left the line.", "And here."]
    page.fill("#remarks", "Nearly.")
    page.reload()
    expect(page.locator("#marks li")).to_have_count(2)
    page.get_by_role("radio", name="pare").check(force=True)
    page.get_by_role("button", name=text("review.save"), exact=True).click()
    expect(page.locator("#told")).to_contain_text(text("review.just_saved", decision="pare"), timeout=PATIENCE_MS)
    expect(page.locator("#marks li")).to_have_count(0)
    expect(page.locator("#remarks")).to_have_value("")
    board = page.evaluate("document.getElementById('judge').dataset.board")
    review = ask(page, f"/api/v1/boards/{board}/reviews")[0]
    assert [mark["comment"] for mark in review["marks"]] == ["Left the line.", "And here."]
    page.get_by_role("link", name=text("review.on_screen")).click()
    expect(page.locator("#marks li")).to_have_count(1)
    assert comments(page) == ["A knot."]
    page.get_by_role("button", name=text("review.remove"), exact=True).click()
    page.reload()
    expect(page.locator("#marks li")).to_have_count(0)


def test_marks_on_a_picture_that_is_there_no_more_are_put_on_the_one_that_took_its_place(page: Page) -> None:
    open_review(page)
    put_mark(page, "Left the line.")
    key = "Object.keys(sessionStorage).find((name) => name.startsWith('tailproof-review-'))"
    picture = page.evaluate("document.getElementById('judge').dataset.picture")
    page.evaluate(f"sessionStorage.setItem({key}, sessionStorage.getItem({key}).replace('{picture}', 'before.jpg'))")
    page.reload()
    expect(page.locator("#marks li")).to_have_count(1)
    assert comments(page) == ["Left the line."]
    expect(page.locator("#told")).to_have_text(text("review.draft_moved"))
    page.get_by_role("button", name=text("review.remove"), exact=True).click()


NO_NETWORK = "Promise.reject(new TypeError('no network'))"
SIGNED_OUT = "Promise.resolve(new Response(JSON.stringify({ message: 'Sign in first.' }), { status: 401 }))"


@pytest.mark.parametrize(("answer", "said"), [(NO_NETWORK, text("error.no_answer")), (SIGNED_OUT, "Sign in first.")])
def test_a_review_that_the_service_has_not_taken_stays_begun(page: Page, answer: str, said: str) -> None:
    open_review(page)
    put_mark(page, "Left the line.")
    page.fill("#remarks", "Nearly.")
    page.get_by_role("radio", name="pare").check(force=True)
    page.evaluate(f"() => {{ window.fetch = () => {answer}; }}")
    page.get_by_role("button", name=text("review.save_next")).click()
    expect(page.locator(".told > .mistake")).to_have_text(said)
    expect(page.locator(".told > .mistake")).to_be_in_viewport()
    expect(page.locator("#remarks")).to_have_value("Nearly.")
    look_over(page)
    page.reload()
    expect(page.locator("#marks li")).to_have_count(1)
    assert comments(page) == ["Left the line."]
    expect(page.locator("#remarks")).to_have_value("Nearly.")
    expect(page.get_by_role("radio", name="pare")).to_be_checked()
    page.get_by_role("button", name=text("review.save_next")).click()
    page.wait_for_url("**/review", timeout=PATIENCE_MS)
    page.go_back()
    expect(page.locator("#marks li")).to_have_count(0)
    expect(page.locator("#remarks")).to_have_value("")


def test_that_a_review_was_saved_is_in_sight(page: Page) -> None:
    open_review(page)
    page.get_by_role("radio", name="pare").check(force=True)
    page.get_by_role("button", name=text("review.save"), exact=True).click()
    expect(page.locator("#told")).to_contain_text(text("review.just_saved", decision="pare"), timeout=PATIENCE_MS)
    expect(page.locator("#told")).to_be_in_viewport()


PLACE = """(part) => {
    const [pan, all] = ["#pan", "#judged"].map((each) => document.querySelector(each).getBoundingClientRect());
    const [x, y] = [all.x + part[0] * all.width, all.y + part[1] * all.height];
    return [x, y, all.width, x > pan.x && x < pan.right && y > pan.y && y < pan.bottom];
}"""
"""Where a part of the picture is on the screen, how wide the picture is, and whether its frame shows that part."""


def test_larger_enlarges_about_the_end_and_then_about_the_last_mark(page: Page) -> None:
    open_review(page)
    assert page.locator("#judged").get_attribute("data-end") == "50.0 70.0"
    larger, smaller = (page.get_by_role("button", name=text(f"board.{which}")) for which in ("larger", "smaller"))
    larger.scroll_into_view_if_needed()
    for part in ([0.5, 0.7], [0.2, 0.9]):
        if part[0] != 0.5:
            put_mark(page, "Here.")
            page.get_by_text(text("review.place"), exact=True).click()
            for name, share in zip("xy", part, strict=True):
                page.fill(f"#marks [name={name}]", str(100 * share))
            larger.scroll_into_view_if_needed()
        before = page.evaluate(PLACE, part)
        larger.dispatch_event("click")  # a click of the mouse would scroll the page to the button first
        after = page.evaluate(PLACE, part)
        assert after[2] > 1.5 * before[2]
        assert after[3]
        assert after[1] == pytest.approx(before[1], abs=2.0)  # the page and the frame scroll by whole pixels
        smaller.click()
