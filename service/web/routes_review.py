"""The review queue, the page on which a board is judged, and the remarks to say again."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request
from starlette.responses import RedirectResponse, Response

from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.review import ABOUT_PRACTICE, ADVICES
from service.use_cases.review_board import look_at_review, look_to_review, note_seen, review_board
from service.use_cases.review_queue import beside_in_queue, look_at_queue, next_to_review
from service.use_cases.saved_remarks import remove_remark, save_remark, saved_remarks
from service.web.correction_page import corrections_shown
from service.web.desk import Asking, AtDesk, Desk
from service.web.errors import wants_json
from service.web.review_forms import Narrowing, QueueForm, ReviewForm, Typed
from service.web.review_page import Asked, review_page
from service.web.routes_pictures import stored_file
from service.web.together_page import together_shown

router = APIRouter(include_in_schema=False)
Which = Annotated[Asked, Depends()]


@router.get("/review")
def queue_page(request: Request, desk: AtDesk, person: Asking, form: Narrowing) -> Response:
    """The boards that wait for a review, or those that had one."""
    queue = look_at_queue(person, form.narrowed(), desk.ports)
    known = {"person": person, "here": "review", "form": form, "queue": queue}
    return desk.templates.TemplateResponse(request, "review_queue.html", known)


@router.get("/review/{board}")
def judge_page(
    request: Request, desk: AtDesk, person: Asking, board: str, narrowed: Narrowing, asked: Which
) -> Response:
    """One board to judge."""
    return _judge(request, desk, person, board, narrowed, asked)


@router.post("/review/{board}")
def post_review(
    request: Request, desk: AtDesk, person: Asking, board: str, narrowed: Narrowing, typed: Typed, asked: Which
) -> Response:
    """The review is written down, or the form shown once more with what is wrong."""
    try:
        review_board(person, board, typed.judgement(), desk.ports)
    except MistakeError as error:
        if wants_json(request):
            raise
        again = Asked(typed.check or asked.check, asked.on)
        return _judge(request, desk, person, board, narrowed, again, typed, error.sentence)
    if typed.then != "next":
        return RedirectResponse(f"/review/{board}{narrowed.query_with(just='saved')}#told", 303)
    after = next_to_review(person, board, narrowed.narrowed(), desk.ports)
    return RedirectResponse(f"/review/{after}{narrowed.query}" if after else f"/review{narrowed.query}", 303)


@router.post("/reviews/{review}/seen")
def post_seen(desk: AtDesk, person: Asking, review: str) -> Response:
    """The board's person saw it."""
    return RedirectResponse(f"/boards/{note_seen(person, review, desk.ports).board}#review", 303)


@router.get("/reviews/{review}/picture/{name}")
def review_picture(desk: AtDesk, person: Asking, review: str, name: str) -> Response:
    """The picture that the marks were put on, though the photo may have been measured again since."""
    stored = look_at_review(person, review, desk.ports).picture
    if not stored or stored != name:
        raise NotFoundError
    return stored_file(desk, stored, f"review-{review}")


@router.get("/remarks")
def remarks_page(request: Request, desk: AtDesk, person: Asking) -> Response:
    """The remarks to say again."""
    known = {"person": person, "here": "review", "saved": saved_remarks(person, desk.ports)}
    return desk.templates.TemplateResponse(request, "remarks.html", known)


@router.post("/remarks")
def post_remark(desk: AtDesk, person: Asking, remark: Annotated[str, Form()] = "") -> Response:
    """One more."""
    save_remark(person, remark, desk.ports)
    return RedirectResponse("/remarks", 303)


@router.post("/remarks/{remark}/remove")
def post_remove(desk: AtDesk, person: Asking, remark: str) -> Response:
    """One less."""
    remove_remark(person, remark, desk.ports)
    return RedirectResponse("/remarks", 303)


def _judge(
    request: Request,
    desk: Desk,
    person: Asking,
    board: str,
    narrowed: QueueForm,
    asked: Asked,
    typed: ReviewForm | None = None,
    said: str = "",
) -> Response:
    view = look_to_review(person, board, desk.ports)
    beside = beside_in_queue(person, board, narrowed.narrowed(), desk.ports)
    saved = saved_remarks(person, desk.ports)
    shown = review_page(view, asked, person, beside, narrowed, saved, typed, said)
    known = {"person": person, "here": "review", "shown": shown, "page": shown.page}
    known["decisions"] = ABOUT_PRACTICE if view.board.standing == "practice cuts" else ADVICES
    known["together"] = together_shown(view, person)
    known["corrections"] = corrections_shown(shown.check, view.corrections, may_correct=True)
    return desk.templates.TemplateResponse(request, "review.html", known, status_code=422 if said else 200)
