"""How many boards wait for a review, for the navigation of every page."""

from __future__ import annotations

from fastapi import Request

from service.domain.review_queue import MOST_COUNTED
from service.use_cases.review_queue import count_to_review
from service.web.desk import desk_of


def review_badge(request: Request) -> str | None:
    """The number as shown, empty for none; None for a person who reviews nothing, and for a stranger."""
    person = getattr(request.state, "person", None)
    count = None if person is None else count_to_review(person, desk_of(request).ports)
    if count is None:
        return None
    return f"{MOST_COUNTED}+" if count > MOST_COUNTED else str(count or "")
