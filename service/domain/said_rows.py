"""What people said of a board as rows of the table: how pins fitted, reviews with their marks, corrected walls."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.correction import Correction
from service.domain.fit import Fit
from service.domain.measured_rows import Row
from service.domain.review import Mark, Review

SAID = ["by", "said_at", "decision", "remarks", "mark_x_percent", "mark_y_percent", "ended_by", "ended_at"]


def said_rows(fits: Sequence[Fit], reviews: Sequence[Review], corrections: Sequence[Correction]) -> Iterator[Row]:
    """All of it, oldest first within each kind."""
    yield from map(_outcome, fits)
    for review in sorted(reviews, key=lambda each: (each.made_at, each.id)):
        yield from _review_rows(review)
    yield from map(_correction, corrections)


def _outcome(fit: Fit) -> Row:
    said_at = fit.noted_at.isoformat()
    return {"what": "outcome", "number": fit.socket + 1, "fitted": fit.outcome, "said_at": said_at}


def _review_rows(review: Review) -> Iterator[Row]:
    """The decision with the remarks on the whole, beside the tool's own advice then; a row for each mark."""
    common = {"check": review.check, "by": review.name, "said_at": review.made_at.isoformat()}
    common |= {"advice": review.advice, "decision": review.decision}
    state = "imported" if review.imported else None
    yield common | {"what": "review", "state": state, "remarks": review.remarks}
    for number, mark in enumerate(review.marks, start=1):
        yield common | {"what": "mark", "number": number} | _mark(mark)


def _mark(mark: Mark) -> Row:
    placed = {"mark_x_percent": round(100.0 * mark.x, 2), "mark_y_percent": round(100.0 * mark.y, 2)}
    return {"remarks": mark.comment} | placed


def _correction(correction: Correction) -> Row:
    """Who placed walls by hand, why, and what came of it."""
    said = {"by": correction.name, "said_at": correction.made_at.isoformat(), "remarks": correction.why}
    ended = {"ended_at": correction.ended_at.isoformat() if correction.ended_at else None}
    came = {"state": correction.state, "advice": correction.advice, "verdict": correction.said}
    return {"what": "correction", "check": correction.check} | said | came | ended | {"ended_by": correction.ended_name}
