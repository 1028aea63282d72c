"""Fingers on a screen, as the browser's own development tools send them."""

from __future__ import annotations

from collections.abc import Sequence

from playwright.sync_api import Page

Point = tuple[float, float]


def touch(page: Page, *ways: tuple[Point, Point], steps: int = 8) -> None:
    """Fingers put down at the same moment, each led straight from its first place to its second, and lifted."""
    devtools = page.context.new_cdp_session(page)

    def send(kind: str, points: Sequence[Point]) -> None:
        fingers = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(points)]
        devtools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": fingers})

    send("touchStart", [start for start, _ in ways])
    for step in range(1, steps + 1):
        part = step / steps
        send("touchMove", [(a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])) for a, b in ways])
    send("touchEnd", [])
    devtools.detach()
