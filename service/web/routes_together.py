"""The photos of a board together: their drawings, and which of them count; for pages and for programs."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form
from starlette.responses import RedirectResponse, Response

from service.domain.mistakes import NotFoundError
from service.use_cases.keep_log import look_at_board
from service.use_cases.put_together import choose_photos
from service.web.api import PROBLEMS, Id
from service.web.api_together import PhotosWanted, TogetherModel
from service.web.desk import Asking, AtDesk
from service.web.routes_pictures import present_picture

router = APIRouter(include_in_schema=False)
api = APIRouter(prefix="/api/v1", responses=PROBLEMS)


@router.get("/boards/{board}/together/{part}/{name}")
def drawing(desk: AtDesk, person: Asking, board: str, part: Literal["end", "board"], name: str) -> Response:
    """The drawing of one part."""
    together = look_at_board(person.id, board, desk.ports).together
    if together is None or together.answer is None:
        raise NotFoundError
    pictures = together.answer.pictures
    now = pictures.overlay if part == "end" else pictures.screen
    return present_picture(desk, name, now, f"/boards/{board}/together/{part}", f"together-{part}-{board}")


@router.post("/boards/{board}/together")
def choose(desk: AtDesk, person: Asking, board: str, photos: Annotated[list[str] | None, Form()] = None) -> Response:
    """Put together the photos that were ticked."""
    choose_photos(person.id, board, photos or [], desk.ports)
    return RedirectResponse(f"/boards/{board}#together", 303)


@api.put("/boards/{board}/together", status_code=202)
def put_together(desk: AtDesk, person: Asking, board: Id, wanted: PhotosWanted) -> TogetherModel | None:
    """Put together these photos of a board from now on; null when there is nothing to put together."""
    choose_photos(person.id, board, wanted.photos, desk.ports)
    return TogetherModel.of(look_at_board(person.id, board, desk.ports))
