"""The first page: photograph, say which board it is, send."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Annotated, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Form, Request, UploadFile
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, RedirectResponse, Response

from calibration.outcome import CannotMeasure
from service.domain.check import Check
from service.domain.log import Wanted
from service.domain.mistakes import MistakeError
from service.texts import text
from service.use_cases.hand_in import open_assignments
from service.use_cases.keep_log import look_at_log
from service.use_cases.ports import Ports
from service.use_cases.review_board import new_reviews
from service.use_cases.send_photo import Sending, send_photo
from service.web.desk import Asking, AtDesk
from service.web.errors import wants_json
from service.web.forms import DetailsForm, EachForm, ToldForm
from vision.joint.species import SPECIES

router = APIRouter(include_in_schema=False)


@router.get("/")
def check_page(request: Request, desk: AtDesk, person: Asking, board: str = "", assignment: str = "") -> Response:
    """The page to send photos from; `board` or `assignment` is the one chosen already, else the one used last."""
    page, choices = look_at_log(Wanted(person.id), desk.ports)
    open_to = open_assignments(person, desk.ports)
    known = {"boards": page.boards, "chosen": board, "saws": choices.saws, "woods": sorted(SPECIES)}
    shown = {"open": open_to, "for_assignment": assignment or open_to.last, "news": new_reviews(person, desk.ports)}
    return desk.templates.TemplateResponse(request, "check.html", {"person": person, "here": "check", **known, **shown})


@router.post("/photos")
def send_photos(
    request: Request,
    desk: AtDesk,
    person: Asking,
    photos: list[UploadFile],
    details: Annotated[DetailsForm, Depends()],
    told: Annotated[ToldForm, Depends()],
    apart: Annotated[EachForm, Depends()],
    board: Annotated[str, Form()] = "",
    name: Annotated[str, Form()] = "",
    view: Annotated[Literal["end", "drill", "show", "transfer"], Form()] = "end",
    assignment: Annotated[str, Form()] = "",
    kept_for: Annotated[str, Form()] = "",
) -> Response:
    """All photos of the form, the first new one to a new board unless one is chosen; then the board's page.

    Where each makes a board of its own it is the log that shows them.

    The page's own script sends one photo at a time and is told as JSON what became of it. What a phone kept without
    the network is `kept_for` one person, and for nobody else who may be signed in by then.
    """
    if kept_for not in ("", person.id):
        raise HTTPException(403, text("kept.someone_else"))
    apart.check(board, view)
    read = [(photo.filename or "", photo.file.read()) for photo in photos]
    _refuse_all_beside_a_bad_one(read, desk.ports)
    sent: list[tuple[Check, bool]] = []
    for (_, data), wanted in zip(read, apart.names(name, len(read)), strict=True):
        sending = Sending(data, board, wanted, details.details(person.units), view, told.told(view), assignment)
        check, known = send_photo(person.id, sending, desk.ports)
        board = board if known or apart.each else check.board
        sent.append((check, known))
    return _arrived(request, sent, desk.ports.now(), to_log=bool(apart.each) and len(sent) > 1)


def _refuse_all_beside_a_bad_one(read: Sequence[tuple[str, bytes]], ports: Ports) -> None:
    """Raise MistakeError for a file (its name, its bytes) that is empty or, of several, no photo to measure.

    Photos sent together belong together: none is kept before all are known to be photos.
    """
    for name, data in read:
        if not data:
            raise MistakeError("photo", text("check.empty_file" if name else "check.no_photo"))
        if len(read) > 1:
            try:
                ports.clean(data)
            except CannotMeasure as error:
                refused = error.refusal
                said = text("check.none_sent", name=name, message=refused.message, what_to_do=refused.what_to_do)
                raise MistakeError("photo", said) from None


def _arrived(request: Request, sent: Sequence[tuple[Check, bool]], now: datetime, *, to_log: bool) -> Response:
    """On to the board of what is new, else to that of the first photo, with the boards of those that were known.

    Or to the log, with the same.

    The script is told how long ago the photo came: it may be known by its own last try, whose answer was lost.
    """
    known = [check for check, before in sent if before]
    first = next((check for check, before in sent if not before), sent[0][0])
    if wants_json(request):
        age_s = (now - first.sent_at).total_seconds()
        return JSONResponse({"board": first.board, "known": bool(known), "age_s": age_s}, 201)
    boards = urlencode([("known", board) for board in dict.fromkeys(check.board for check in known)])
    place = "/boards" if to_log else f"/boards/{first.board}"
    return RedirectResponse(f"{place}{'?' if boards else ''}{boards}", 303)
