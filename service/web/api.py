"""The JSON API: everything the pages do, for programs and for the pages' own scripts."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, File, Form, Path, Query, UploadFile
from starlette.responses import Response

from service.domain.board import Standing
from service.domain.check import CardSide, Told
from service.domain.how_cut import HowCut
from service.domain.log import MOST_PAGES, Wanted
from service.practice.slopes import slopes_of
from service.use_cases.keep_log import (
    BoardView,
    change_board,
    check_again,
    choose_units,
    delete_board,
    delete_check,
    look_at_board,
    look_at_check,
    look_at_log,
    note_fits,
)
from service.use_cases.send_photo import Sending, new_board, send_photo
from service.web.api_models import (
    TYPED,
    AgainModel,
    BoardModel,
    BoardWanted,
    CheckModel,
    FitModel,
    Leans,
    LogModel,
    Order,
    Problem,
    Sent,
    SettingsModel,
    Sides,
    SlopesModel,
    WholeBoard,
)
from service.web.api_together import TogetherModel
from service.web.desk import Asking, AtDesk

PROBLEMS: dict[int | str, dict[str, object]] = {
    status: {"model": Problem, "description": why}
    for status, why in {
        400: "The request could not be read.",
        401: "It came from a phone or a program that is not let in.",
        403: "It came from another site, or one's role does not allow it.",
        404: "There is no such thing, or it is not yours.",
        413: "It is too large.",
        421: "It was sent to another host.",
        422: "A value cannot be taken, or the photo cannot be used.",
    }.items()
}
router = APIRouter(prefix="/api/v1", responses=PROBLEMS)
Id = Annotated[str, Path(min_length=1, max_length=32, pattern=r"^[A-Za-z0-9_-]+$")]


@router.get("/boards")
def list_boards(
    desk: AtDesk,
    person: Asking,
    text: Annotated[str, Query(max_length=200, pattern=TYPED)] = "",
    standing: Standing | None = None,
    species: Annotated[str, Query(max_length=80, pattern=TYPED)] = "",
    saw: Annotated[str, Query(max_length=80, pattern=TYPED)] = "",
    since: date | None = None,
    until: date | None = None,
    page: Annotated[int, Query(ge=1, le=MOST_PAGES)] = 1,
) -> LogModel:
    """Boards, newest first, narrowed and in pages."""
    wanted = Wanted(person.id, text, standing, species, saw, since, until, page)
    found = look_at_log(wanted, desk.ports)[0]
    boards = [BoardModel.of(board) for board in found.boards]
    return LogModel(boards=boards, total=found.total, page=found.page, pages=found.pages)


@router.post("/boards", status_code=201)
def make_board(desk: AtDesk, person: Asking, wanted: BoardWanted) -> BoardModel:
    """A board without photos yet."""
    return BoardModel.of(new_board(person.id, wanted.name, wanted.details.details(), desk.ports))


@router.get("/boards/{board}")
def get_board(desk: AtDesk, person: Asking, board: Id) -> WholeBoard:
    """A board with its photos, their answers, and how it fitted."""
    return _whole(look_at_board(person.id, board, desk.ports))


@router.put("/boards/{board}")
def put_board(desk: AtDesk, person: Asking, board: Id, wanted: BoardWanted) -> BoardModel:
    """Other name and details; by another wood, thickness, print or kept plan it is measured anew."""
    return BoardModel.of(change_board(person.id, board, wanted.name, wanted.details.details(), desk.ports))


@router.delete("/boards/{board}", status_code=204)
def remove_board(desk: AtDesk, person: Asking, board: Id) -> Response:
    """Gone for good, photos included."""
    delete_board(person.id, board, desk.ports)
    return Response(status_code=204)


@router.put("/boards/{board}/fits")
def put_fits(desk: AtDesk, person: Asking, board: Id, fits: list[FitModel]) -> list[FitModel]:
    """How the sockets fitted, in place of what was said before; the last word on a socket counts."""
    outcomes = {fit.socket: fit.outcome for fit in fits}
    return [FitModel.of(fit) for fit in note_fits(person.id, board, outcomes, desk.ports)]


@router.post("/photos", status_code=201)
def post_photo(
    desk: AtDesk,
    person: Asking,
    photo: Annotated[UploadFile, File()],
    board: Annotated[str, Form(max_length=32)] = "",
    name: Annotated[str, Form(max_length=80, pattern=TYPED)] = "",
    view: Annotated[Literal["end", "drill", "show", "transfer", "fit"], Form()] = "end",
    stage: Annotated[Literal["", "sawn", "cleared"], Form()] = "",
    card_side: Annotated[CardSide, Form()] = "show",
    order: Annotated[Order, Form()] = HowCut.order,
    intended: Annotated[Leans, Form()] = HowCut.intended,
    keep: Annotated[Sides, Form()] = HowCut.keep,
    assignment: Annotated[str, Form(max_length=32, pattern=r"^[A-Za-z0-9_-]*$")] = "",
) -> Sent:
    """A photo of that board, else of a new one of that name with the last board's details, for that assignment.

    `order`, `intended` and `keep` tell how practice cuts (view `drill`) were made, as `tailproof drill` takes them.
    """
    told = Told(stage or None, card_side, how_cut=HowCut(order, intended, keep))
    sending = Sending(photo.file.read(), board, name, None, view, told, assignment)
    check, known = send_photo(person.id, sending, desk.ports)
    return Sent(board=check.board, check=check.id, known=known)


@router.get("/checks/{check}")
def get_check(desk: AtDesk, person: Asking, check: Id) -> CheckModel:
    """A photo and its answer, if there is one yet."""
    return CheckModel.of(look_at_check(person.id, check, desk.ports))


@router.post("/checks/{check}/again", status_code=202)
def post_again(desk: AtDesk, person: Asking, check: Id, told: AgainModel) -> CheckModel:
    """Measure the kept photo once more, with other settings, or as what it really shows."""
    return CheckModel.of(check_again(person.id, check, told.told(), desk.ports, told.view))


@router.delete("/checks/{check}", status_code=204)
def remove_check(desk: AtDesk, person: Asking, check: Id) -> Response:
    """The photo is gone for good; its board stays."""
    delete_check(person.id, check, desk.ports)
    return Response(status_code=204)


@router.get("/settings")
def get_settings(person: Asking) -> SettingsModel:
    """What was chosen."""
    return SettingsModel(units=person.units)


@router.put("/settings")
def put_settings(desk: AtDesk, person: Asking, wanted: SettingsModel) -> SettingsModel:
    """Other units."""
    return SettingsModel(units=choose_units(person.id, wanted.units, desk.ports).units)


def _whole(view: BoardView) -> WholeBoard:
    board = BoardModel.of(view.board)
    checks = [CheckModel.of(check) for check in view.checks]
    fits, together = [FitModel.of(fit) for fit in view.fits], TogetherModel.of(view)
    asked = slopes_of(view.checks, view.assignment.policy, view.together) if view.assignment else None
    said = {"fits": fits, "fit_note": view.board.fit_note, "together": together, "slopes": SlopesModel.of(asked)}
    return WholeBoard.model_validate(dict(board) | {"checks": checks} | said)
