"""A review as pages show it: where its picture is served, and its marks in percent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.check import Check
from service.domain.review import Review
from service.use_cases.keep_log import BoardView


@dataclass(frozen=True)
class Spot:
    """A numbered mark on a picture, its place in percent."""

    number: int
    left: str
    top: str
    comment: str


@dataclass(frozen=True)
class ReviewView:
    """A review with the address of its picture, empty when there is none, and its marks."""

    review: Review
    address: str
    spots: Sequence[Spot]


def review_views(view: BoardView) -> Sequence[ReviewView]:
    """All reviews of a board, the newest first."""
    checks = {check.id: check for check in view.checks}
    return [ReviewView(each, _address(each, checks.get(each.check)), _spots(each)) for each in view.reviews]


def _address(review: Review, check: Check | None) -> str:
    """Of the photo's own picture while it is still the same, so that no browser loads it twice."""
    if not review.picture:
        return ""
    pictures = check.answer.pictures if check is not None and check.answer is not None else None
    for on in ("overlay", "screen"):
        if pictures is not None and getattr(pictures, on) == review.picture:
            return f"/pictures/{review.check}/{on}/{review.picture}"
    return f"/reviews/{review.id}/picture/{review.picture}"


def _spots(review: Review) -> Sequence[Spot]:
    placed = enumerate(review.marks, start=1)
    return [Spot(n, f"{100 * mark.x:.2f}", f"{100 * mark.y:.2f}", mark.comment) for n, mark in placed]
