"""The page of one board, by one of its photos: everything that its template is given."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import Request
from starlette.responses import Response

from service.domain.board import Board
from service.domain.log import Wanted
from service.domain.person import Person
from service.use_cases.correct_walls import may_correct
from service.use_cases.hand_in import open_assignments
from service.use_cases.keep_log import BoardView, look_at_log
from service.web.board_page import board_page
from service.web.correction_page import corrections_shown
from service.web.desk import Desk
from service.web.together_page import together_shown
from vision.joint.species import SPECIES


def show_board(
    request: Request,
    desk: Desk,
    person: Person,
    view: BoardView,
    check: str = "",
    *,
    at_original: bool = False,
    known: Sequence[Board] = (),
) -> Response:
    """The board with the photo `check` in the foreground, else with the one that says most.

    `at_original` when the view holds the program's own answer for it in place of the corrected one; `known` are the
    boards, this one or others, of photos just sent that were checked before.
    """
    page = board_page(view, check, person, open_assignments(person, desk.ports))
    may = page.check is not None and may_correct(person.id, page.check.id, desk.ports)
    corrections = corrections_shown(page.check, view.corrections, may, at_original=at_original)
    shown: dict[str, object] = {"page": page, "corrections": corrections, "together": together_shown(view, person)}
    shown |= {"woods": sorted(SPECIES), "saws": look_at_log(Wanted(person.id), desk.ports)[1].saws, "known": known}
    return desk.templates.TemplateResponse(request, "board.html", {"person": person, "here": "log", **shown})
