"""Classes: the list of one's own, a class's page, and what its instructors and students do there."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response, StreamingResponse

from service.domain.mistakes import MistakeError, NotFoundError
from service.texts import text
from service.use_cases.export_class import export_class_csv, export_class_json
from service.use_cases.keep_class import (
    close_code,
    join_class,
    leave_class,
    list_classes,
    may_teach,
    new_class,
    remove_class,
    rename_class,
    renew_code,
    share_class,
    show_all_boards,
    who_could_share,
)
from service.use_cases.look_at_class import ClassView, look_at_class
from service.web.class_page import split_work, strip_of
from service.web.desk import Asking, AtDesk, Desk
from service.web.errors import wants_json
from service.web.qr import qr_svg
from service.web.routes_join_class import ration

router = APIRouter(include_in_schema=False)
Typed = Annotated[str, Form()]


@router.get("/classes")
def classes_page(request: Request, desk: AtDesk, person: Asking) -> Response:
    """One's classes, a field for a join code, and for instructors one for a new class."""
    return _classes(request, desk, person)


@router.post("/classes/new")
def post_class(request: Request, desk: AtDesk, person: Asking, name: Typed = "") -> Response:
    """A class of one's own."""
    try:
        classroom = new_class(person, name, desk.ports)
    except MistakeError as error:
        if wants_json(request):
            raise
        return _classes(request, desk, person, error.sentence, name=name)
    return _to_class(classroom.id)


@router.post("/classes/join")
def post_join(request: Request, desk: AtDesk, person: Asking, code: Typed = "") -> Response:
    """A student of the class with that code; wrong codes are rationed."""
    try:
        with ration(request, desk):
            classroom = join_class(person, code, desk.ports)
    except NotFoundError as error:
        if wants_json(request):
            raise MistakeError("code", text("class.no_such_code")) from error
        return _classes(request, desk, person, text("class.no_such_code"), code=code)
    return _to_class(classroom.id)


@router.get("/classes/{classroom}")
def class_page(request: Request, desk: AtDesk, person: Asking, classroom: str) -> Response:
    """The class, as an instructor or as a student sees it."""
    return _class(request, desk, person, classroom)


@router.post("/classes/{classroom}/name")
def post_name(desk: AtDesk, person: Asking, classroom: str, name: Typed = "") -> Response:
    """Another name."""
    rename_class(person, classroom, name, desk.ports)
    return _to_class(classroom)


@router.post("/classes/{classroom}/code")
def post_code(desk: AtDesk, person: Asking, classroom: str) -> Response:
    """A new join code in place of the old one."""
    renew_code(person, classroom, desk.ports)
    return _to_class(classroom, "#join")


@router.post("/classes/{classroom}/close")
def post_close(desk: AtDesk, person: Asking, classroom: str) -> Response:
    """No join code any more."""
    close_code(person, classroom, desk.ports)
    return _to_class(classroom, "#join")


@router.post("/classes/{classroom}/share")
def post_share(desk: AtDesk, person: Asking, classroom: str, someone: Typed = "") -> Response:
    """Another instructor for the class."""
    share_class(person, classroom, someone, desk.ports)
    return _to_class(classroom)


@router.post("/classes/{classroom}/members/{someone}/remove")
def post_remove_member(desk: AtDesk, person: Asking, classroom: str, someone: str) -> Response:
    """Somebody is taken out of the class."""
    leave_class(person, classroom, someone, desk.ports)
    return RedirectResponse("/classes", 303) if someone == person.id else _to_class(classroom)


@router.post("/classes/{classroom}/leave")
def post_leave(desk: AtDesk, person: Asking, classroom: str) -> Response:
    """One leaves the class."""
    leave_class(person, classroom, person.id, desk.ports)
    return RedirectResponse("/classes", 303)


@router.post("/classes/{classroom}/show-all")
def post_show_all(desk: AtDesk, person: Asking, classroom: str, shows_all: Typed = "") -> Response:
    """All of one's boards for the class's instructors to see, or only those handed in."""
    show_all_boards(person, classroom, shows_all == "yes", desk.ports)
    return _to_class(classroom)


@router.post("/classes/{classroom}/remove")
def post_remove(desk: AtDesk, person: Asking, classroom: str) -> Response:
    """The class is gone; its students keep their boards."""
    remove_class(person, classroom, desk.ports)
    return RedirectResponse("/classes", 303)


@router.get("/classes/{classroom}/export.csv")
def get_csv(desk: AtDesk, person: Asking, classroom: str) -> Response:
    """Everything handed in, as a table."""
    lines = export_class_csv(person, classroom, desk.ports)
    return StreamingResponse(lines, headers=named_file("csv"), media_type="text/csv")


@router.get("/classes/{classroom}/export.json")
def get_json(desk: AtDesk, person: Asking, classroom: str) -> Response:
    """Everything handed in, for programs."""
    lines = export_class_json(person, classroom, desk.ports)
    return StreamingResponse(lines, headers=named_file("json"), media_type="application/json")


def named_file(ending: str) -> dict[str, str]:
    """What makes a browser keep an answer as a file."""
    return {"content-disposition": f'attachment; filename="tailproof-class.{ending}"'}


def _to_class(classroom: str, place: str = "") -> Response:
    return RedirectResponse(f"/classes/{quote(classroom, safe='')}{place}", 303)


def _classes(
    request: Request, desk: Desk, person: Asking, said: str = "", *, name: str = "", code: str = ""
) -> Response:
    known = {"person": person, "here": "classes", "classes": list_classes(person, desk.ports), "said": said}
    known |= {"teaches": may_teach(person), "for_class": desk.for_class, "name": name, "code": code}
    return desk.templates.TemplateResponse(request, "classes.html", known, status_code=422 if said else 200)


def _class(request: Request, desk: Desk, person: Asking, classroom: str) -> Response:
    view = look_at_class(person, classroom, desk.ports)
    known = {"person": person, "here": "classes", "view": view, "today": desk.ports.now()}
    if not view.runs:
        return desk.templates.TemplateResponse(request, "class_student.html", known)
    link = f"{desk.address or request.base_url}class/{view.classroom.join_code}"
    code = qr_svg(link) if view.classroom.join_code and desk.address else ""
    at_work, earlier = split_work(view.work, desk.ports.now().date())
    shown = {"strips": _strips(view, person), "link": link, "code": code, "at_work": at_work, "earlier": earlier}
    others = {"others": who_could_share(person, classroom, desk.ports)}
    return desk.templates.TemplateResponse(request, "class.html", known | shown | others)


def _strips(view: ClassView, person: Asking) -> dict[str, object]:
    """The strip of every assignment that has an outcome, by its id."""
    names = {student.person.id: student.person.name for student in view.students}
    known = [(each.assignment.id, each.outcome) for each in view.work if each.outcome]
    return {assignment: strip_of(outcome, names, person.units) for assignment, outcome in known}
