"""Assignments: set, looked at, changed, closed and deleted; boards handed in to them."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request
from starlette.responses import RedirectResponse, Response

from service.domain.assignment import Assignment, Policy
from service.domain.mistakes import MistakeError
from service.use_cases.hand_in import hand_in
from service.use_cases.look_at_class import look_at_work
from service.use_cases.set_work import (
    change_assignment,
    class_for_work,
    close_assignment,
    remove_assignment,
    set_assignment,
    work_to_change,
)
from service.web.class_forms import AssignmentForm, form_values
from service.web.class_page import strip_of
from service.web.desk import Asking, AtDesk, Desk
from service.web.errors import wants_json
from service.web.looks import typed_length
from vision.joint.species import SPECIES

router = APIRouter(include_in_schema=False)


@router.get("/classes/{classroom}/assignments")
def new_page(request: Request, desk: AtDesk, person: Asking, classroom: str) -> Response:
    """An empty form."""
    return _form(request, desk, person, _of_class(desk, person, classroom), None)


@router.post("/classes/{classroom}/assignments")
def post_new(
    request: Request, desk: AtDesk, person: Asking, classroom: str, form: Annotated[AssignmentForm, Depends()]
) -> Response:
    """A new assignment, or the form once more with what is wrong."""
    action = _of_class(desk, person, classroom)
    try:
        wanted = form.new_assignment(classroom, person.units, desk.ports.now())
        assignment = set_assignment(person, wanted, desk.ports)
    except MistakeError as error:
        if wants_json(request):
            raise
        return _form(request, desk, person, action, None, form, error.sentence)
    return RedirectResponse(f"/assignments/{assignment.id}", 303)


@router.get("/assignments/{assignment}")
def assignment_page(request: Request, desk: AtDesk, person: Asking, assignment: str, student: str = "") -> Response:
    """What to cut, and the latest boards that were handed in, or all of one student's."""
    view = look_at_work(person, assignment, desk.ports, student)
    names = {each.person.id: each.person.name for each in view.handed_in}
    strip = strip_of(view.outcome, names, person.units) if view.outcome else None
    known = {
        "person": person,
        "here": "classes",
        "view": view,
        "strip": strip,
        "today": desk.ports.now(),
        "student": student,
    }
    return desk.templates.TemplateResponse(request, "assignment.html", known)


@router.get("/assignments/{assignment}/change")
def change_page(request: Request, desk: AtDesk, person: Asking, assignment: str) -> Response:
    """The form with what the assignment says."""
    known = work_to_change(person, assignment, desk.ports)
    return _form(request, desk, person, f"/assignments/{assignment}/change", known)


@router.post("/assignments/{assignment}/change")
def post_change(
    request: Request, desk: AtDesk, person: Asking, assignment: str, form: Annotated[AssignmentForm, Depends()]
) -> Response:
    """What the form says, or the form once more with what is wrong."""
    known = work_to_change(person, assignment, desk.ports)
    try:
        wanted = form.assignment(known.classroom, person.units, known=known)
        change_assignment(person, wanted, desk.ports, form.edition)
    except MistakeError as error:
        if wants_json(request):
            raise
        action = f"/assignments/{assignment}/change"
        return _form(request, desk, person, action, known, form, error.sentence)
    return RedirectResponse(f"/assignments/{assignment}", 303)


@router.post("/assignments/{assignment}/close")
def post_close(desk: AtDesk, person: Asking, assignment: str, closed: Annotated[str, Form()] = "yes") -> Response:
    """Closed, or open again."""
    close_assignment(person, assignment, closed == "yes", desk.ports)
    return RedirectResponse(f"/assignments/{assignment}", 303)


@router.post("/assignments/{assignment}/remove")
def post_remove(desk: AtDesk, person: Asking, assignment: str) -> Response:
    """Gone; the boards stay with their students."""
    return RedirectResponse(f"/classes/{remove_assignment(person, assignment, desk.ports)}", 303)


@router.post("/boards/{board}/assignment")
def post_hand_in(desk: AtDesk, person: Asking, board: str, assignment: Annotated[str, Form()] = "") -> Response:
    """The board handed in to that assignment, or to none."""
    hand_in(person, board, assignment, desk.ports)
    return RedirectResponse(f"/boards/{board}#assignment", 303)


def _of_class(desk: Desk, person: Asking, classroom: str) -> str:
    """Where a class's new assignments are sent, for who may set them. Raises NotFoundError."""
    return f"/classes/{class_for_work(person, classroom, desk.ports).id}/assignments"


def _form(
    request: Request,
    desk: Desk,
    person: Asking,
    action: str,
    known: Assignment | None,
    typed: AssignmentForm | None = None,
    said: str = "",
) -> Response:
    values = typed.values() if typed else form_values(known, lambda size_mm: typed_length(size_mm, person.units))
    shown = {"person": person, "here": "classes", "action": action, "known": known, "values": values, "said": said}
    shown |= {"woods": sorted(SPECIES), "half_pin_factor": (known.policy if known else Policy()).half_pin_factor}
    return desk.templates.TemplateResponse(request, "assignment_form.html", shown, status_code=422 if said else 200)
