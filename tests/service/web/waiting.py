"""Waiting for something in a page whose policy forbids `eval`, with which the browser driver's own waiting works."""

from __future__ import annotations

import time

from playwright.sync_api import Page

EVERY_MS = 50.0


def wait_until(page: Page, condition: str, patience_ms: float) -> None:
    """Wait until the script `condition` is true, or what it promises. Raises AssertionError after `patience_ms`."""
    end = time.monotonic() + patience_ms / 1000.0
    while not page.evaluate(condition):
        assert time.monotonic() < end, f"never came true: {condition}"
        page.wait_for_timeout(EVERY_MS)
