"""What went wrong, told as a page or as JSON; nobody ever sees a traceback."""

from __future__ import annotations

import errno
import logging
from collections.abc import Mapping
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.types import Scope

from calibration.outcome import CannotMeasure
from service.domain.mistakes import MistakeError, NoRoomError, NotAllowedError, NotFoundError
from service.texts import text, texts
from service.web.way_back import came_from, sign_in_first

log = logging.getLogger("tailproof")
LABELS = {
    "text": "log.search",
    "units": "settings.units",
    "file": "settings.import",
    "photos": "check.choose",
    "view": "check.photo_shows",
    "role": "people.role",
    "paring": "work.paring",
}
"""Where the texts have the label of a field, unless it is `field.` and its own name."""

GONE = {"board": "error.gone_board", "assignment": "error.gone_assignment"}
"""What is said of something that was chosen in that field and is there no more."""

NO_ROOM = (errno.ENOSPC, errno.EDQUOT)
"""What a full disk says."""


def add_error_pages(app: FastAPI) -> None:
    """Answer every exception that a route raises on purpose."""
    app.add_exception_handler(NotFoundError, _not_found)
    app.add_exception_handler(NotAllowedError, _not_allowed)
    app.add_exception_handler(MistakeError, _mistake)
    app.add_exception_handler(CannotMeasure, _cannot_measure)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_exception_handler(HTTPException, _http)


def wants_json(request: Request) -> bool:
    """Whether a program asks: of the API, or a page's own script."""
    return request.url.path.startswith("/api/") or "application/json" in request.headers.get("accept", "")


def plain_answer(scope: Scope, status: int, sentence: str) -> Response:
    """An answer before any route is reached, when there may be no page to show."""
    if wants_json(Request(scope)):
        return JSONResponse(_body("refused", sentence), status)
    return HTMLResponse(f"<!doctype html><meta charset=utf-8><title>Tailproof</title><p>{sentence}", status)


def _not_found(request: Request, error: Exception) -> Response:
    field = getattr(error, "field", "")
    if field in GONE:
        return _answer(request, 404, _body("not_found", text(GONE[field])) | {"field": field})
    return _answer(request, 404, _body("not_found", text("error.not_found"), text("error.not_found_what_to_do")))


def _not_allowed(request: Request, error: Exception) -> Response:
    return _answer(request, 403, _body("refused", text("error.not_yours")))


def _mistake(request: Request, error: Exception) -> Response:
    assert isinstance(error, MistakeError)
    return _answer(request, 422, _body("mistake", error.sentence) | {"field": error.field})


def _cannot_measure(request: Request, error: Exception) -> Response:
    assert isinstance(error, CannotMeasure)
    refusal = error.refusal
    body = _body(refusal.reason, refusal.message, refusal.what_to_do)
    return _answer(request, 422, body | {"field": "photo"})


def _not_understood(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    field = ".".join(str(part) for part in first["loc"][1:])
    for_program = request.url.path.startswith("/api/")
    where = f"{field}: " if field else ""
    sentence = f"{text('error.bad_request')} {where}{first['msg']}." if for_program else _plainly(field, first)
    return _answer(request, 422, _body("mistake", sentence) | {"field": field})


def _plainly(field: str, found: Mapping[str, Any]) -> str:
    """What is wrong with a field of a page, by the field's own label where there is one."""
    section, _, key = LABELS.get(field, f"field.{field}").partition(".")
    label = texts()[section].get(key)
    if label is None:
        return text("error.bad_request")
    if found["type"] == "string_too_long":
        return text("error.long_field", field=label, most=found["ctx"]["max_length"])
    return text("error.bad_field", field=label)


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        return _not_found(request, error)
    stranger, for_class = error.status_code == 401, request.app.state.desk.for_class
    if stranger and for_class and not wants_json(request):
        return RedirectResponse(sign_in_first(request), 303)
    typed = for_class and request.method == "POST" and not request.url.path.startswith("/api/")
    what_to_do = text("account.sign_in_beside" if typed else "pair.not_paired_what_to_do") if stranger else ""
    answer = _answer(request, error.status_code, _body("refused", str(error.detail), what_to_do))
    answer.headers.update(error.headers or {})
    return answer


def fault_answer(request: Request, error: Exception) -> Response:
    """The answer to a full disk or to a fault of the program's own, which is logged."""
    if isinstance(error, NoRoomError) or (isinstance(error, OSError) and error.errno in NO_ROOM):
        log.error("no room on the disk at %s %s", request.method, request.url.path)
        return _answer(request, 507, _body("no_room", text("error.no_room"), text("error.no_room_what_to_do")))
    log.error("fault at %s %s", request.method, request.url.path, exc_info=error)
    return _answer(request, 500, _body("fault", text("error.fault")))


def _body(reason: str, message: str, what_to_do: str = "") -> dict[str, Any]:
    """The one shape of every error: `reason` for programs, the rest for people."""
    return {"reason": reason, "message": message, "what_to_do": what_to_do}


def _answer(request: Request, status: int, body: dict[str, Any]) -> Response:
    if wants_json(request):
        return JSONResponse(body, status)
    shown = body | {"back": came_from(request)}
    page: Response = request.app.state.desk.templates.TemplateResponse(request, "error.html", shown, status)
    return page
