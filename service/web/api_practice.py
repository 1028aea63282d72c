"""The JSON API of looking back, and what is printed."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Depends, Query
from starlette.responses import Response

from service.domain.log import Wanted
from service.use_cases.keep_log import note_fit
from service.use_cases.look_at_outcomes import look_at_outcomes
from service.use_cases.look_at_trends import MOST_BOARDS, look_at_trends
from service.use_cases.print_log import board_to_print, period_to_print
from service.web.api import PROBLEMS, Id
from service.web.api_models import TYPED
from service.web.desk import Asking, AtDesk
from service.web.practice_forms import USUAL_WINDOW
from service.web.practice_models import FitNoteModel, OutcomesModel, TrendsModel
from service.web.routes_practice import AskedPaper, board_file, period_file

router = APIRouter(prefix="/api/v1", responses=PROBLEMS)
PDF: dict[int | str, dict[str, object]] = {200: {"content": {"application/pdf": {}}, "description": "A PDF."}}
Word = Annotated[str, Query(max_length=80, pattern=TYPED)]


def _wanted(
    person: Asking, species: Word = "", saw: Word = "", since: date | None = None, until: date | None = None
) -> Wanted:
    """One's own boards, narrowed."""
    return Wanted(person.id, species=species, saw=saw, since=since, until=until)


Narrowed = Annotated[Wanted, Depends(_wanted)]


@router.get("/trends")
def get_trends(
    desk: AtDesk,
    person: Asking,
    wanted: Narrowed,
    boards: Annotated[int, Query(ge=1, le=MOST_BOARDS)] = USUAL_WINDOW,
) -> TrendsModel:
    """Charts, comparisons, progress and what to work on next, from so many of the latest measured boards."""
    return TrendsModel.of(look_at_trends(person, wanted, boards, desk.ports))


@router.get("/outcomes")
def get_outcomes(desk: AtDesk, person: Asking, wanted: Narrowed) -> OutcomesModel:
    """Predictions against outcomes, and limits of one's own beside the policy."""
    return OutcomesModel.of(look_at_outcomes(person, wanted, desk.ports))


@router.put("/boards/{board}/fit-note")
def put_fit_note(desk: AtDesk, person: Asking, board: Id, wanted: FitNoteModel) -> FitNoteModel:
    """How the driven joint fitted, in words; a photo of it is sent to `/photos` as the view `fit`."""
    return FitNoteModel(note=note_fit(person.id, board, wanted.note, desk.ports).fit_note)


@router.get("/boards/{board}/report.pdf", response_class=Response, responses=PDF)
def get_report(desk: AtDesk, person: Asking, board: Id, paper: AskedPaper = "") -> Response:
    """One board on one page; without a paper asked for, on that of the person's units."""
    return board_file(board_to_print(person, board, desk.ports), person, paper)


@router.get("/practice.pdf", response_class=Response, responses=PDF)
def get_period(desk: AtDesk, person: Asking, wanted: Narrowed, paper: AskedPaper = "") -> Response:
    """The measured boards of a period, the latest thousand."""
    return period_file(period_to_print(person, wanted, desk.ports), person, paper)
