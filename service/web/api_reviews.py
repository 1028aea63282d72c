"""The JSON API of reviews: everything that their pages do."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from service.domain.log import MOST_PAGES
from service.domain.review_queue import Show
from service.use_cases.review_board import note_seen, review_board, reviews_of
from service.use_cases.review_queue import Narrowed, look_at_queue
from service.use_cases.saved_remarks import remove_remark, save_remark, saved_remarks
from service.web.api import PROBLEMS, Id
from service.web.desk import Asking, AtDesk
from service.web.review_models import QueueModel, RemarkModel, RemarkWanted, ReviewModel, ReviewWanted

router = APIRouter(prefix="/api/v1", responses=PROBLEMS)
Chosen = Annotated[str, Query(max_length=32, pattern=r"^[A-Za-z0-9_-]*$")]


@router.get("/review")
def get_queue(
    desk: AtDesk,
    person: Asking,
    classroom: Chosen = "",
    assignment: Chosen = "",
    student: Chosen = "",
    show: Show = "open",
    shown: bool = False,
    page: Annotated[int, Query(ge=1, le=MOST_PAGES)] = 1,
) -> QueueModel:
    """The boards to review, most urgent first, or those reviewed, latest first; `shown` for those not handed in."""
    narrowed = Narrowed(classroom, assignment, student, show, shown, page)
    return QueueModel.of(look_at_queue(person, narrowed, desk.ports))


@router.get("/boards/{board}/reviews")
def get_reviews(desk: AtDesk, person: Asking, board: Id) -> list[ReviewModel]:
    """Every review of a board, newest first."""
    return [ReviewModel.of(review) for review in reviews_of(person, board, desk.ports)]


@router.post("/boards/{board}/reviews", status_code=201)
def post_review(desk: AtDesk, person: Asking, board: Id, wanted: ReviewWanted) -> ReviewModel:
    """One more review; those before and the tool's own advice stay as they are."""
    return ReviewModel.of(review_board(person, board, wanted.judgement(), desk.ports))


@router.post("/reviews/{review}/seen")
def post_seen(desk: AtDesk, person: Asking, review: Id) -> ReviewModel:
    """Say that one saw a review of one's own board."""
    return ReviewModel.of(note_seen(person, review, desk.ports))


@router.get("/remarks")
def get_remarks(desk: AtDesk, person: Asking) -> list[RemarkModel]:
    """The remarks that one keeps to say again."""
    return [RemarkModel.of(remark) for remark in saved_remarks(person, desk.ports)]


@router.post("/remarks", status_code=201)
def post_remark(desk: AtDesk, person: Asking, wanted: RemarkWanted) -> RemarkModel:
    """Keep one more; the same one is not kept twice."""
    return RemarkModel.of(save_remark(person, wanted.text, desk.ports))


@router.delete("/remarks/{remark}", status_code=204)
def delete_remark(desk: AtDesk, person: Asking, remark: Id) -> Response:
    """Keep it no longer; reviews that say it stay."""
    remove_remark(person, remark, desk.ports)
    return Response(status_code=204)
