"""Practice cuts from sending to what to work on, in a real browser at the size of a phone."""

from __future__ import annotations

from playwright.sync_api import Browser, expect

from tests.service.web.test_browser import (
    CHROMIUM,
    PATIENCE_MS,
    SAMPLES,
    SIZES,
    address,
    browser,
    look_over,
    pytestmark,
)

__all__ = ["CHROMIUM", "address", "browser", "pytestmark"]


def test_how_cuts_were_made_is_asked_once_they_are_chosen_and_the_answer_is_what_to_work_on(
    browser: Browser, address: str
) -> None:
    width, height = SIZES["phone"]
    context = browser.new_context(base_url=address, viewport={"width": width, "height": height}, has_touch=True)
    page = context.new_page()
    page.goto("/")
    asked = page.locator("#send .how-cut")
    page.set_input_files("#photos", [SAMPLES / "alder-drill-to-and-fro.jpg"])
    expect(asked).to_be_hidden()
    page.select_option("#chosen select", "drill")
    expect(asked).to_be_visible()
    look_over(page)
    numbers = page.locator("#order_numbers")
    expect(numbers).to_be_hidden()
    page.select_option("#order", "numbers")
    expect(numbers).to_be_visible()
    look_over(page)
    page.fill("#order_numbers", "3.1.3")
    page.click("form#send button[type=submit]")
    expect(page.locator(".order-numbers .mistake")).to_contain_text("names cut 3 more than once", timeout=PATIENCE_MS)
    page.fill("#order_numbers", "3.1.2.4.6.5")
    page.fill("#intended", "seven")
    page.click("form#send button[type=submit]")
    expect(page.locator(".mistake")).to_contain_text("must be left, right or degrees", timeout=PATIENCE_MS)
    page.fill("#intended", "7,-7")
    page.click("form#send button[type=submit]")
    page.wait_for_url("**/boards/*", timeout=PATIENCE_MS)
    expect(page.locator(".sentence")).to_contain_text("Work on sawing every cut alike", timeout=PATIENCE_MS)
    expect(page.locator("#cuts tbody tr")).to_have_count(6)
    expect(page.locator(".how-cut [name=intended]")).to_have_value("7,-7")
    expect(page.locator(".how-cut [name=order_numbers]")).to_have_value("3,1,2,4,6,5")
    look_over(page)
    context.close()
