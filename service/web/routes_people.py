"""A class's accounts: signing in and out, joining, inviting, new passwords, leaving."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.person import Role
from service.texts import text
from service.use_cases.keep_log import who_is
from service.use_cases.sign_in import (
    invite,
    join,
    list_people,
    look_at_invitation,
    offer_recovery,
    recover,
    remove_person,
    sign_in,
    sign_out,
)
from service.web.desk import Asking, AtDesk, Desk, address_of
from service.web.errors import wants_json
from service.web.policy import COOKIE, may_invite, with_cookie
from service.web.throttle import FROM_AN_ADDRESS_WITHIN, WITHIN
from service.web.way_back import own_page

router = APIRouter(include_in_schema=False)
Typed = Annotated[str, Form()]


@contextmanager
def ration(request: Request, desk: Desk, login: str) -> Iterator[None]:
    """A try to sign in: failures of one name from one address shut that name there, many of any names the address.

    Raises HTTPException 429 when it is shut, and lets pass whatever is raised inside.
    """
    address, now = address_of(request), desk.ports.now()
    name = f"{login.strip().lower()[:80]} {address}"
    if desk.from_addresses.is_shut(address, now):
        raise HTTPException(429, text("account.too_often_from_here"), {"retry-after": _seconds(FROM_AN_ADDRESS_WITHIN)})
    if desk.throttle.is_shut(name, now):
        raise HTTPException(429, text("account.too_often"), {"retry-after": _seconds(WITHIN)})
    try:
        yield
    except MistakeError:
        desk.throttle.note_failure(name, desk.ports.now())
        desk.from_addresses.note_failure(address, desk.ports.now())
        raise


def _seconds(span: timedelta) -> str:
    return f"{span.total_seconds():.0f}"


@router.get("/sign-in")
def sign_in_page(request: Request, desk: AtDesk, back: str = "") -> Response:
    """Name and password; then on to the page that was asked for."""
    return desk.templates.TemplateResponse(request, "sign_in.html", {"said": "", "back": own_page(back)})


@router.post("/sign-in")
def post_sign_in(request: Request, desk: AtDesk, login: Typed = "", password: Typed = "", back: Typed = "") -> Response:
    """A session, or the page once more; who fails too often waits (`ration`)."""
    try:
        with ration(request, desk, login):
            secret = sign_in(login, password, desk.ports)
    except MistakeError as error:
        shown = {"said": error.sentence, "login": login, "back": own_page(back)}
        return desk.templates.TemplateResponse(request, "sign_in.html", shown, status_code=403)
    return with_cookie(RedirectResponse(own_page(back) or "/", 303), request, secret)


@router.post("/sign-out")
def post_sign_out(request: Request, desk: AtDesk) -> Response:
    """The session is over."""
    sign_out(request.cookies.get(COOKIE, ""), desk.ports)
    answer = RedirectResponse("/sign-in", 303)
    answer.delete_cookie(COOKIE)
    return answer


@router.get("/join/{code}")
def join_page(request: Request, desk: AtDesk, code: str) -> Response:
    """Name and password of a new person, or a new password alone."""
    try:
        return _join_page(request, desk, code)
    except NotFoundError:
        return _link_gone(request, desk)


@router.post("/join/{code}")
def post_join(
    request: Request, desk: AtDesk, code: str, name: Typed = "", login: Typed = "", password: Typed = ""
) -> Response:
    """Join, or take the new password; then signed in."""
    try:
        new = not look_at_invitation(code, desk.ports).person
        secret = join(code, name, login, password, desk.ports) if new else recover(code, password, desk.ports)
    except NotFoundError:
        return _link_gone(request, desk)
    except MistakeError as error:
        if wants_json(request):
            raise
        return _join_page(request, desk, code, error.sentence, {"name": name, "login": login})
    return with_cookie(RedirectResponse("/", 303), request, secret)


def _join_page(
    request: Request, desk: Desk, code: str, said: str = "", typed: dict[str, str] | None = None
) -> Response:
    recovery = bool(look_at_invitation(code, desk.ports).person)
    known = {"code": code, "said": said, "recovery": recovery, "typed": typed or {"name": "", "login": ""}}
    return desk.templates.TemplateResponse(request, "join.html", known, status_code=422 if said else 200)


def _link_gone(request: Request, desk: Desk) -> Response:
    return desk.templates.TemplateResponse(request, "link_gone.html", status_code=410)


@router.get("/people")
def people_page(request: Request, desk: AtDesk, person: Asking) -> Response:
    """Everyone, and invitations."""
    return _people(request, desk, person)


@router.post("/people/invite")
def post_invite(request: Request, desk: AtDesk, person: Asking, role: Annotated[Role, Form()]) -> Response:
    """The page with a link to give to the person invited, shown once."""
    if not may_invite(person, role):
        raise HTTPException(403, text("account.not_yours_to_invite"))
    link = f"join/{invite(role, desk.ports)}"
    return _people(request, desk, person, link, text("people.link_invite", role=text(f"role.{role}")))


@router.post("/people/{someone}/recover")
def post_recover(request: Request, desk: AtDesk, person: Asking, someone: str) -> Response:
    """The page with a link to a new password, shown once."""
    link = f"join/{offer_recovery(someone, desk.ports)}"
    return _people(request, desk, person, link, text("people.link_recover", name=who_is(someone, desk.ports).name))


@router.post("/people/{someone}/remove")
def post_remove(desk: AtDesk, person: Asking, someone: str) -> Response:
    """Gone, with all boards and photos; what they alone instructed goes to the owner who did it."""
    remove_person(someone, desk.ports, heir=person.id)
    return RedirectResponse("/people", 303)


@router.post("/leave")
def post_leave(desk: AtDesk, person: Asking) -> Response:
    """One's own account gone, with all boards and photos."""
    remove_person(person.id, desk.ports)
    answer = RedirectResponse("/sign-in", 303)
    answer.delete_cookie(COOKIE)
    return answer


def _people(request: Request, desk: Desk, person: Asking, link: str = "", whose: str = "") -> Response:
    """Everyone, and a link just made with the sentence that says whose it is."""
    roles = [role for role in ("student", "instructor", "owner") if may_invite(person, role)]
    known = {"person": person, "here": "settings", "people": list_people(desk.ports), "roles": roles}
    address = f"{desk.address or request.base_url}{link}" if link else ""
    shown = {"link": address, "whose": whose, "opens_on_phones": bool(desk.address)}
    return desk.templates.TemplateResponse(request, "people.html", known | shown)
