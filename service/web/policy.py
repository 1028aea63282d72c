"""Who may do what: the one place that decides, for every route, before any route is reached.

A route that is not in the table is for nobody. What belongs to another person is decided by the use cases, which
know whose a board is; they say "not found" to everyone else.
"""

from __future__ import annotations

from enum import IntEnum

from fastapi import Request
from starlette.exceptions import HTTPException
from starlette.responses import Response

from service.domain.mistakes import NotFoundError
from service.domain.person import Person, Role
from service.texts import text
from service.use_cases.keep_log import who_is
from service.use_cases.pair_device import person_with
from service.use_cases.solo import SOLO
from service.web.desk import desk_of

COOKIE = "tailproof-device"
A_YEAR_S = 365 * 24 * 3600
LOOPBACK_CLIENTS = {"127.0.0.1", "::1", "::ffff:127.0.0.1"}


class Standing(IntEnum):
    """How near somebody is, each with all that those before may do."""

    STRANGER = 0
    PAIRED = 1  # a phone or a program that was let in
    AT_HOME = 2  # at the computer itself in solo mode; signed in with a password in a class
    INSTRUCTOR = 3
    OWNER = 4


ANYBODY = (
    "/pair/{code}",
    "/join/{code}",
    "/sign-in",
    "/class",
    "/class/{code}",
    "/app.webmanifest",
    "/sw.js",
    "/without-network",
    "/api/openapi.json",
)
PAIRED = (
    "/",
    "/signed-in",
    "/photos",
    "/boards",
    "/boards/{board}",
    "/boards/{board}/fits",
    "/boards/{board}/report.pdf",
    "/trends",
    "/outcomes",
    "/practice.pdf",
    "/boards/{board}/delete",
    "/boards/{board}/assignment",
    "/boards/{board}/together",
    "/boards/{board}/together/{part}/{name}",
    "/boards/{board}/thumbnail/{name}",
    "/checks/{check}",
    "/checks/{check}/again",
    "/checks/{check}/delete",
    "/checks/{check}/correct",
    "/checks/{check}/correct/withdraw",
    "/checks/{check}/original",
    "/pictures/{check}/{which}/{name}",
    "/classes",
    "/classes/join",
    "/classes/{classroom}",
    "/classes/{classroom}/leave",
    "/classes/{classroom}/show-all",
    "/assignments/{assignment}",
    "/review",
    "/review/{board}",
    "/reviews/{review}/seen",
    "/reviews/{review}/picture/{name}",
    "/remarks",
    "/remarks/{remark}/remove",
    "/help",
    "/cards/{kind}-{paper}.pdf",
    "/settings",
    "/export.json",
    "/export.csv",
    "/import",
    "/api/v1/boards",
    "/api/v1/boards/{board}",
    "/api/v1/boards/{board}/fits",
    "/api/v1/boards/{board}/fit-note",
    "/api/v1/boards/{board}/report.pdf",
    "/api/v1/trends",
    "/api/v1/outcomes",
    "/api/v1/practice.pdf",
    "/api/v1/boards/{board}/together",
    "/api/v1/photos",
    "/api/v1/checks/{check}",
    "/api/v1/checks/{check}/again",
    "/api/v1/checks/{check}/walls",
    "/api/v1/checks/{check}/corrections",
    "/api/v1/settings",
    "/api/v1/export.json",
    "/api/v1/export.csv",
    "/api/v1/import",
    "/api/v1/classes",
    "/api/v1/classes/join",
    "/api/v1/classes/{classroom}",
    "/api/v1/classes/{classroom}/code",
    "/api/v1/classes/{classroom}/members",
    "/api/v1/classes/{classroom}/members/{someone}",
    "/api/v1/classes/{classroom}/instructors",
    "/api/v1/classes/{classroom}/shows-all",
    "/api/v1/classes/{classroom}/progress",
    "/api/v1/classes/{classroom}/assignments",
    "/api/v1/classes/{classroom}/export.csv",
    "/api/v1/classes/{classroom}/export.json",
    "/api/v1/assignments",
    "/api/v1/assignments/{assignment}",
    "/api/v1/assignments/{assignment}/closed",
    "/api/v1/assignments/{assignment}/boards",
    "/api/v1/boards/{board}/assignment",
    "/api/v1/review",
    "/api/v1/boards/{board}/reviews",
    "/api/v1/reviews/{review}/seen",
    "/api/v1/remarks",
    "/api/v1/remarks/{remark}",
)
"""What a token of anybody's may ask for; the use cases decide by who the person is in which class."""

AT_HOME = ("/devices", "/devices/offer", "/devices/token", "/devices/{device}/drop", "/sign-out", "/leave")
INSTRUCTOR = (
    "/people",
    "/people/invite",
    "/classes/new",
    "/classes/{classroom}/name",
    "/classes/{classroom}/code",
    "/classes/{classroom}/close",
    "/classes/{classroom}/share",
    "/classes/{classroom}/members/{someone}/remove",
    "/classes/{classroom}/remove",
    "/classes/{classroom}/export.csv",
    "/classes/{classroom}/export.json",
    "/classes/{classroom}/assignments",
    "/assignments/{assignment}/change",
    "/assignments/{assignment}/close",
    "/assignments/{assignment}/remove",
)
OWNER = ("/people/{someone}/recover", "/people/{someone}/remove")
BY_ROLE: dict[Role, Standing] = {
    "student": Standing.AT_HOME,
    "instructor": Standing.INSTRUCTOR,
    "owner": Standing.OWNER,
}

NEEDED: dict[str, Standing] = (
    dict.fromkeys(ANYBODY, Standing.STRANGER)
    | dict.fromkeys(PAIRED, Standing.PAIRED)
    | dict.fromkeys(AT_HOME, Standing.AT_HOME)
    | dict.fromkeys(INSTRUCTOR, Standing.INSTRUCTOR)
    | dict.fromkeys(OWNER, Standing.OWNER)
)
"""What each route asks for."""


def admit(request: Request) -> None:
    """Let a request pass, its person noted, or raise HTTPException: 401 for strangers, 403 for paired ones."""
    standing, person = _who(request)
    needed = NEEDED.get(request.scope["route"].path)
    if needed is None:
        raise NotFoundError
    if standing < needed:
        stranger = standing is Standing.STRANGER
        raise HTTPException(401 if stranger else 403, _why_not(stranger, desk_of(request).for_class))
    request.state.person, request.state.standing = person, standing


def _who(request: Request) -> tuple[Standing, Person | None]:
    """How near the one who asks is, and for whom they act."""
    desk, secret = desk_of(request), _secret(request)
    if secret:
        try:
            person, kind = person_with(secret, desk.ports)
        except NotFoundError:
            return Standing.STRANGER, None
        return (BY_ROLE[person.role] if kind == "browser" else Standing.PAIRED), person
    if desk.for_class:
        return Standing.STRANGER, None
    if request.client is not None and request.client.host in LOOPBACK_CLIENTS:
        return Standing.AT_HOME, who_is(SOLO, desk.ports)
    return Standing.STRANGER, None


def _why_not(stranger: bool, for_class: bool) -> str:
    if for_class:
        return text("account.not_signed_in" if stranger else "error.not_yours")
    return text("pair.not_paired" if stranger else "pair.at_the_computer")


def may_invite(person: Person, role: Role) -> bool:
    """Owners invite anybody, instructors students."""
    return person.role == "owner" or (person.role == "instructor" and role == "student")


def with_cookie(answer: Response, request: Request, secret: str) -> Response:
    """The answer with the secret as a cookie that no script can read and no other site's form sends along.

    Once given over https, also by a web server in front that takes it off, it is never sent without.
    """
    behind_https = desk_of(request).address == f"https://{request.headers.get('host', '')}/"
    secure = behind_https or request.url.scheme == "https"
    answer.set_cookie(COOKIE, secret, max_age=A_YEAR_S, httponly=True, samesite="lax", secure=secure)
    return answer


def _secret(request: Request) -> str:
    """What a program or a phone shows of itself; a wrong one is worse than none, wherever it comes from."""
    kind, _, token = request.headers.get("authorization", "").partition(" ")
    return token.strip() if kind.lower() == "bearer" else request.cookies.get(COOKIE, "")
