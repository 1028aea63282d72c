"""A review as plain data, for export and import."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from service.domain.board import LONGEST_NAME, LONGEST_TEXT, STANDINGS, Board
from service.domain.mistakes import check_text
from service.domain.read_record import id_of, moment_of, one_of, text_of
from service.domain.review import DECISIONS, LONGEST_COMMENT, Mark, Review


def review_record(review: Review, owner: str) -> dict[str, Any]:
    """A review of a board of that person; its picture is named, not held.

    The reviewer is told by the name alone, empty for one who has left: the id is the service's own business.
    """
    seen_at = review.seen_at.isoformat() if review.seen_at else None
    said = {"decision": review.decision, "advice": review.advice, "remarks": review.remarks}
    when = {"made_at": review.made_at.isoformat(), "seen_at": seen_at}
    on = {"check": review.check, "picture": review.picture, "marks": [asdict(mark) for mark in review.marks]}
    return {"id": review.id, "name": review.name, "own": review.reviewer == owner} | said | when | on


def review_from_record(
    record: Mapping[str, Any],
    board: Board,
    checks: Mapping[str, str],
    names: Mapping[str, str],
    now: datetime,
    *,
    alone: bool,
) -> Review:
    """A review of that board; `checks` and `names` are its photos' ids and its files' names as they are now.

    Whoever brings a review may have written it: only the one person who is `alone` on this service is taken for the
    reviewer. Raises KeyError, TypeError, ValueError or OverflowError for a damaged record, MistakeError for values.
    """
    seen_at, check = record["seen_at"], checks.get(record["check"], "")
    own = alone and record["own"] is True
    review = Review(
        id_of(record["id"]),
        board.id,
        board.person if own else "",
        text_of(record["name"], LONGEST_NAME),
        min(moment_of(record["made_at"]), now),
        one_of(record["decision"], DECISIONS),
        one_of(record["advice"], STANDINGS),
        check,
        names[record["picture"]] if check and record["picture"] else "",
        text_of(record["remarks"], LONGEST_TEXT),
        tuple(_mark(mark) for mark in record["marks"]),
        None if seen_at is None else moment_of(seen_at),
        imported=not own,
    )
    check_text("name", review.name, LONGEST_NAME)
    return review


def _mark(record: Mapping[str, Any]) -> Mark:
    return Mark(float(record["x"]), float(record["y"]), text_of(record["comment"], LONGEST_COMMENT))
