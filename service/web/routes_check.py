"""The first page: photograph, say which board it is, send."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Form, Request, UploadFile
from starlette.responses import JSONResponse, RedirectResponse, Response

from service.domain.log import Wanted
from service.domain.mistakes import MistakeError
from service.texts import text
from service.use_cases.keep_log import look_at_log
from service.use_cases.send_photo import Sending, send_photo
from service.web.desk import Asking, AtDesk
from service.web.errors import wants_json
from service.web.forms import DetailsForm, ToldForm
from vision.joint.species import SPECIES

router = APIRouter(include_in_schema=False)


@router.get("/")
def check_page(request: Request, desk: AtDesk, person: Asking, board: str = "") -> Response:
    """The page to send photos from; `board` is the one chosen already."""
    page, choices = look_at_log(Wanted(person.id), desk.ports)
    known = {"boards": page.boards, "chosen": board, "saws": choices.saws, "woods": sorted(SPECIES)}
    return desk.templates.TemplateResponse(request, "check.html", {"person": person, "here": "check", **known})


@router.post("/photos")
def send_photos(
    request: Request,
    desk: AtDesk,
    person: Asking,
    photos: list[UploadFile],
    details: Annotated[DetailsForm, Depends()],
    told: Annotated[ToldForm, Depends()],
    board: Annotated[str, Form()] = "",
    name: Annotated[str, Form()] = "",
    view: Annotated[Literal["end", "face"], Form()] = "end",
) -> Response:
    """All photos of the form, the first to a new board unless one is chosen; then the board's page.

    The page's own script sends one photo at a time and is told as JSON what became of it.
    """
    known = False
    for photo in photos:
        data = photo.file.read()
        if not data:
            raise MistakeError("photos", text("check.no_photo"))
        sending = Sending(data, board, name, details.details(person.units), view, told.told())
        check, known = send_photo(person.id, sending, desk.ports)
        board = check.board
    if wants_json(request):
        return JSONResponse({"board": board, "known": known}, 201)
    return RedirectResponse(f"/boards/{board}", 303)
