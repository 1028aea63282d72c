"""Joining a class by its code or its link: for newcomers, account and membership at once. Wrong codes are rationed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from service.domain.classroom import Classroom
from service.domain.mistakes import MistakeError, NotFoundError
from service.texts import text
from service.use_cases.keep_class import class_of_code, join_class
from service.use_cases.sign_in import join_with_class
from service.web.desk import AtDesk, Desk, address_of
from service.web.errors import wants_json
from service.web.policy import with_cookie
from service.web.throttle import CODES_WITHIN

router = APIRouter(include_in_schema=False)
Typed = Annotated[str, Form()]
WAIT_S = f"{CODES_WITHIN.total_seconds():.0f}"


@contextmanager
def ration(request: Request, desk: Desk) -> Iterator[None]:
    """What is done with a join code: so many wrong ones from one address as nobody mistypes shut the door for a while.

    Raises HTTPException 429 when it is shut, and lets pass whatever is raised inside.
    """
    key = address_of(request)
    if desk.wrong_codes.is_shut(key, desk.ports.now()):
        raise HTTPException(429, text("class.too_many_codes"), {"retry-after": WAIT_S})
    try:
        yield
    except NotFoundError:
        desk.wrong_codes.note_failure(key, desk.ports.now())
        raise


@router.get("/class")
def find_class(request: Request, desk: AtDesk, code: str = "") -> Response:
    """From a code as typed to the class's own page for joining."""
    try:
        with ration(request, desk):
            classroom = class_of_code(code, desk.ports)
    except NotFoundError:
        shown = {"said": "", "back": "", "code_said": text("class.no_such_code"), "code": code}
        return desk.templates.TemplateResponse(request, "sign_in.html", shown, status_code=404)
    return RedirectResponse(f"/class/{quote(classroom.join_code)}", 303)


@router.get("/class/{code}")
def join_page(request: Request, desk: AtDesk, code: str) -> Response:
    """Who is signed in joins with one button; a newcomer gives a name and a password."""
    with ration(request, desk):
        classroom = class_of_code(code, desk.ports)
    return _page(request, desk, classroom)


@router.post("/class/{code}")
def post_join(
    request: Request, desk: AtDesk, code: str, name: Typed = "", login: Typed = "", password: Typed = ""
) -> Response:
    """Join; a newcomer is signed in then."""
    with ration(request, desk):
        classroom = class_of_code(code, desk.ports)
    if request.state.person is not None:
        join_class(request.state.person, code, desk.ports)
        return RedirectResponse(f"/classes/{classroom.id}", 303)
    try:
        secret = join_with_class(code, name, login, password, desk.ports)
    except MistakeError as error:
        if wants_json(request):
            raise
        return _page(request, desk, classroom, error.sentence, {"name": name, "login": login})
    return with_cookie(RedirectResponse(f"/classes/{classroom.id}", 303), request, secret)


def _page(
    request: Request, desk: Desk, classroom: Classroom, said: str = "", typed: dict[str, str] | None = None
) -> Response:
    known = {"classroom": classroom, "said": said, "typed": typed or {"name": "", "login": ""}}
    known |= {"asking": request.state.person, "for_class": desk.for_class}
    return desk.templates.TemplateResponse(request, "join_class.html", known, status_code=422 if said else 200)
