"""The JSON API of classes and assignments: everything that their pages do."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response, StreamingResponse

from service.use_cases.export_class import export_class_csv, export_class_json
from service.use_cases.hand_in import hand_in, open_assignments
from service.use_cases.keep_class import (
    close_code,
    join_class,
    leave_class,
    list_classes,
    look_at_membership,
    new_class,
    remove_class,
    rename_class,
    renew_code,
    share_class,
    show_all_boards,
)
from service.use_cases.look_at_class import class_progress, look_at_work, members_of, work_of_class
from service.use_cases.set_work import change_assignment, close_assignment, remove_assignment, set_assignment
from service.web.api import PROBLEMS, Id
from service.web.api_models import BoardModel
from service.web.class_models import (
    AllHandedInModel,
    AssignmentModel,
    AssignmentWanted,
    ClassModel,
    ClassWanted,
    ClosedModel,
    CodeTyped,
    HandInModel,
    MemberModel,
    OpenModel,
    ProgressModel,
    ShowsAllModel,
    SomebodyModel,
)
from service.web.desk import Asking, AtDesk
from service.web.routes_classes import named_file
from service.web.routes_join_class import ration

router = APIRouter(prefix="/api/v1", responses=PROBLEMS)
TOO_OFTEN: dict[int | str, dict[str, object]] = {429: {"description": "Too many wrong codes. Wait five minutes."}}
GONE = 204


@router.get("/classes")
def get_classes(desk: AtDesk, person: Asking) -> list[ClassModel]:
    """The classes that one is in, by name."""
    return [ClassModel.of(*each) for each in list_classes(person, desk.ports)]


@router.post("/classes", status_code=201)
def post_class(desk: AtDesk, person: Asking, wanted: ClassWanted) -> ClassModel:
    """A class that one instructs."""
    classroom = new_class(person, wanted.name, desk.ports)
    return ClassModel.of(*look_at_membership(person, classroom.id, desk.ports))


@router.post("/classes/join", responses=TOO_OFTEN)
def post_join(request: Request, desk: AtDesk, person: Asking, typed: CodeTyped) -> ClassModel:
    """A student of the class with that code from now on; who is in it already stays what they are."""
    with ration(request, desk):
        classroom = join_class(person, typed.code, desk.ports)
    return ClassModel.of(*look_at_membership(person, classroom.id, desk.ports))


@router.get("/classes/{classroom}")
def get_class(desk: AtDesk, person: Asking, classroom: Id) -> ClassModel:
    """A class that one is in."""
    return ClassModel.of(*look_at_membership(person, classroom, desk.ports))


@router.put("/classes/{classroom}")
def put_class(desk: AtDesk, person: Asking, classroom: Id, wanted: ClassWanted) -> ClassModel:
    """Another name."""
    rename_class(person, classroom, wanted.name, desk.ports)
    return ClassModel.of(*look_at_membership(person, classroom, desk.ports))


@router.delete("/classes/{classroom}", status_code=GONE)
def delete_class(desk: AtDesk, person: Asking, classroom: Id) -> Response:
    """The class is gone with its assignments; students keep their boards."""
    remove_class(person, classroom, desk.ports)
    return Response(status_code=GONE)


@router.post("/classes/{classroom}/code")
def post_code(desk: AtDesk, person: Asking, classroom: Id) -> ClassModel:
    """A new join code; the old one lets nobody in any more."""
    renew_code(person, classroom, desk.ports)
    return ClassModel.of(*look_at_membership(person, classroom, desk.ports))


@router.delete("/classes/{classroom}/code", status_code=GONE)
def delete_code(desk: AtDesk, person: Asking, classroom: Id) -> Response:
    """Nobody may join until there is a new code."""
    close_code(person, classroom, desk.ports)
    return Response(status_code=GONE)


@router.get("/classes/{classroom}/members")
def get_members(desk: AtDesk, person: Asking, classroom: Id) -> list[MemberModel]:
    """Everybody in a class that one instructs, by name."""
    return [MemberModel.of(*each) for each in members_of(person, classroom, desk.ports)]


@router.delete("/classes/{classroom}/members/{someone}", status_code=GONE)
def delete_member(desk: AtDesk, person: Asking, classroom: Id, someone: Id) -> Response:
    """Somebody is taken out of the class, or leaves it; they keep their boards."""
    leave_class(person, classroom, someone, desk.ports)
    return Response(status_code=GONE)


@router.post("/classes/{classroom}/instructors", status_code=GONE)
def post_instructor(desk: AtDesk, person: Asking, classroom: Id, someone: SomebodyModel) -> Response:
    """Another instructor for the class."""
    share_class(person, classroom, someone.person, desk.ports)
    return Response(status_code=GONE)


@router.put("/classes/{classroom}/shows-all")
def put_shows_all(desk: AtDesk, person: Asking, classroom: Id, wanted: ShowsAllModel) -> ShowsAllModel:
    """Whether the instructors see all of one's boards, or those handed in alone."""
    return ShowsAllModel(shows_all=show_all_boards(person, classroom, wanted.shows_all, desk.ports).shows_all)


@router.get("/classes/{classroom}/progress")
def get_progress(desk: AtDesk, person: Asking, classroom: Id) -> ProgressModel:
    """Who is improving, who is stuck, the common fault, and how the assignments came out."""
    return ProgressModel.of(class_progress(person, classroom, desk.ports))


@router.get("/classes/{classroom}/export.csv", response_class=StreamingResponse)
def get_class_csv(desk: AtDesk, person: Asking, classroom: Id) -> Response:
    """Everything handed in as a table: a row for every board."""
    lines = export_class_csv(person, classroom, desk.ports)
    return StreamingResponse(lines, headers=named_file("csv"), media_type="text/csv")


@router.get("/classes/{classroom}/export.json", response_class=StreamingResponse)
def get_class_json(desk: AtDesk, person: Asking, classroom: Id) -> Response:
    """The class, its people, its assignments, and every board handed in with its numbers."""
    lines = export_class_json(person, classroom, desk.ports)
    return StreamingResponse(lines, headers=named_file("json"), media_type="application/json")


@router.get("/classes/{classroom}/assignments")
def get_class_assignments(desk: AtDesk, person: Asking, classroom: Id) -> list[AssignmentModel]:
    """The assignments of a class that one is in, newest first."""
    return [AssignmentModel.of(each) for each in work_of_class(person, classroom, desk.ports)]


@router.post("/classes/{classroom}/assignments", status_code=201)
def post_assignment(desk: AtDesk, person: Asking, classroom: Id, wanted: AssignmentWanted) -> AssignmentModel:
    """A new assignment."""
    return AssignmentModel.of(set_assignment(person, wanted.assignment(classroom), desk.ports))


@router.get("/assignments")
def get_open_assignments(desk: AtDesk, person: Asking) -> OpenModel:
    """What one can hand in to, newest first, and the one used last."""
    found = open_assignments(person, desk.ports)
    assignments = [AssignmentModel.of(assignment) for assignment, _ in found.choices]
    return OpenModel(assignments=assignments, last=found.last or None)


@router.get("/assignments/{assignment}")
def get_assignment(desk: AtDesk, person: Asking, assignment: Id) -> AssignmentModel:
    """An assignment of a class that one is in."""
    return AssignmentModel.of(look_at_work(person, assignment, desk.ports).assignment)


@router.put("/assignments/{assignment}")
def put_assignment(desk: AtDesk, person: Asking, assignment: Id, wanted: AssignmentWanted) -> AssignmentModel:
    """What it says from now on; by other limits, the boards that were handed in are measured again."""
    return AssignmentModel.of(change_assignment(person, wanted.assignment("", assignment), desk.ports))


@router.delete("/assignments/{assignment}", status_code=GONE)
def delete_assignment(desk: AtDesk, person: Asking, assignment: Id) -> Response:
    """It is gone; students keep their boards, with its title."""
    remove_assignment(person, assignment, desk.ports)
    return Response(status_code=GONE)


@router.put("/assignments/{assignment}/closed")
def put_closed(desk: AtDesk, person: Asking, assignment: Id, wanted: ClosedModel) -> AssignmentModel:
    """Closed, or open again."""
    return AssignmentModel.of(close_assignment(person, assignment, wanted.closed, desk.ports))


@router.get("/assignments/{assignment}/boards")
def get_handed_in(
    desk: AtDesk,
    person: Asking,
    assignment: Id,
    student: Annotated[str, Query(max_length=32, pattern=r"^[A-Za-z0-9_-]*$")] = "",
) -> AllHandedInModel:
    """The boards that were handed in: everybody's latest or one student's; to a student their own alone."""
    return AllHandedInModel.of(look_at_work(person, assignment, desk.ports, student))


@router.put("/boards/{board}/assignment")
def put_hand_in(desk: AtDesk, person: Asking, board: Id, wanted: HandInModel) -> BoardModel:
    """The board handed in to that assignment, or to none; judged by other limits, it is measured again."""
    return BoardModel.of(hand_in(person, board, wanted.assignment or "", desk.ports))
