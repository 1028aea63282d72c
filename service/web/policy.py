"""Who may do what: the one place that decides, for every route, before any route is reached.

A route that is not in the table is for nobody. What belongs to another person is decided by the use cases, which
know whose a board is; they say "not found" to everyone else.
"""

from __future__ import annotations

from enum import IntEnum

from fastapi import Request
from starlette.exceptions import HTTPException

from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.texts import text
from service.use_cases.keep_log import who_is
from service.use_cases.pair_device import person_with
from service.use_cases.solo import SOLO
from service.web.desk import desk_of

COOKIE = "tailproof-device"
LOOPBACK_CLIENTS = {"127.0.0.1", "::1", "::ffff:127.0.0.1"}


class Standing(IntEnum):
    """How near somebody is, each with all that those before may do."""

    STRANGER = 0
    PAIRED = 1
    AT_THE_COMPUTER = 2


ANYBODY = ("/pair/{code}", "/app.webmanifest", "/api/openapi.json")
PAIRED = (
    "/",
    "/photos",
    "/boards",
    "/boards/{board}",
    "/boards/{board}/fits",
    "/boards/{board}/delete",
    "/boards/{board}/thumbnail/{name}",
    "/checks/{check}",
    "/checks/{check}/again",
    "/checks/{check}/delete",
    "/pictures/{check}/{which}/{name}",
    "/help",
    "/cards/{kind}-{paper}.pdf",
    "/settings",
    "/export.json",
    "/export.csv",
    "/import",
    "/api/v1/boards",
    "/api/v1/boards/{board}",
    "/api/v1/boards/{board}/fits",
    "/api/v1/photos",
    "/api/v1/checks/{check}",
    "/api/v1/checks/{check}/again",
    "/api/v1/settings",
    "/api/v1/export.json",
    "/api/v1/export.csv",
    "/api/v1/import",
)
AT_THE_COMPUTER = ("/devices", "/devices/offer", "/devices/token", "/devices/{device}/drop")

NEEDED: dict[str, Standing] = (
    dict.fromkeys(ANYBODY, Standing.STRANGER)
    | dict.fromkeys(PAIRED, Standing.PAIRED)
    | dict.fromkeys(AT_THE_COMPUTER, Standing.AT_THE_COMPUTER)
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
        raise HTTPException(401 if stranger else 403, text("pair.not_paired" if stranger else "pair.at_the_computer"))
    request.state.person, request.state.standing = person, standing


def _who(request: Request) -> tuple[Standing, Person | None]:
    """How near the one who asks is, and for whom they act."""
    ports = desk_of(request).ports
    secret = _secret(request)
    if secret:
        try:
            return Standing.PAIRED, person_with(secret, ports)
        except NotFoundError:
            return Standing.STRANGER, None
    if request.client is not None and request.client.host in LOOPBACK_CLIENTS:
        return Standing.AT_THE_COMPUTER, who_is(SOLO, ports)
    return Standing.STRANGER, None


def _secret(request: Request) -> str:
    """What a program or a phone shows of itself; a wrong one is worse than none, wherever it comes from."""
    kind, _, token = request.headers.get("authorization", "").partition(" ")
    return token.strip() if kind.lower() == "bearer" else request.cookies.get(COOKIE, "")
