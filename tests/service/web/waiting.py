"""Asking the service beside a page, and waiting in a page whose policy forbids `eval`, which the driver waits with."""

from __future__ import annotations

import time
from typing import Any

from playwright.sync_api import Error, Page

EVERY_MS = 50.0
TRIES = 3
"""So often a program asks again when the service has just closed the connection that it was going to use."""


def ask(page: Page, address: str) -> Any:
    """What the service tells a program at that address."""
    return page.request.get(address, max_retries=TRIES).json()


def names(page: Page) -> list[str]:
    """Of all boards, the newest first."""
    return [board["name"] for board in ask(page, "/api/v1/boards")["boards"]]


def wait_until(page: Page, condition: str, patience_ms: float) -> None:
    """Wait until the script `condition` is true, or what it promises. Raises AssertionError after `patience_ms`.

    A script that fails is not true yet: a page that is still being loaded, or left, has not what it looks for.
    """
    end = time.monotonic() + patience_ms / 1000.0
    while (why_not := _why_not(page, condition)) is not None:
        assert time.monotonic() < end, f"never came true: {condition} {why_not}"
        page.wait_for_timeout(EVERY_MS)


def _why_not(page: Page, condition: str) -> str | None:
    try:
        return None if page.evaluate(condition) else ""
    except Error as failed:
        return f"({failed.message})"
