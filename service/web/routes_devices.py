"""Pairing phones, letting programs in, and dropping either."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response

from service.domain.device import PAIRING_LASTS, secret_hash
from service.domain.mistakes import NotFoundError
from service.texts import text
from service.use_cases.pair_device import accept_pairing, drop_device, issue_token, list_devices, offer_pairing
from service.web.desk import Asking, AtDesk
from service.web.policy import COOKIE, with_cookie
from service.web.qr import qr_svg

router = APIRouter(include_in_schema=False)


@router.get("/devices")
def devices_page(request: Request, desk: AtDesk, person: Asking) -> Response:
    """All devices."""
    return _devices(request, desk, person)


@router.post("/devices/offer")
def offer(request: Request, desk: AtDesk, person: Asking) -> Response:
    """The page with a fresh code to scan."""
    address = f"{desk.address}pair/{offer_pairing(person.id, desk.ports)}"
    return _devices(request, desk, person, address=address, code=qr_svg(address))


@router.post("/devices/token")
def token(request: Request, desk: AtDesk, person: Asking, name: Annotated[str, Form()] = "") -> Response:
    """The page with a new token, shown once."""
    return _devices(request, desk, person, token=issue_token(person.id, name, desk.ports))


@router.post("/devices/{device}/drop")
def drop(desk: AtDesk, person: Asking, device: str) -> Response:
    """A stranger from now on."""
    drop_device(person.id, device, desk.ports)
    return RedirectResponse("/devices", 303)


@router.get("/pair/{code}")
def pair_page(request: Request, desk: AtDesk, code: str) -> Response:
    """A page with one button: looking at the link, as messengers do, does not use it up."""
    return desk.templates.TemplateResponse(request, "pair.html", {"code": code})


@router.post("/pair/{code}")
def pair(request: Request, desk: AtDesk, code: str) -> Response:
    """Use the code up; the phone keeps a cookie that no script can read."""
    try:
        secret = accept_pairing(code, _device_name(request.headers.get("user-agent", "")), desk.ports)
    except NotFoundError:
        shown = {"code": "", "message": text("pair.gone")}
        return desk.templates.TemplateResponse(request, "pair.html", shown, status_code=410)
    return with_cookie(RedirectResponse("/", 303), request, secret)


def _devices(
    request: Request, desk: AtDesk, person: Asking, *, address: str = "", code: str = "", token: str = ""
) -> Response:
    known = {"person": person, "here": "settings", "devices": list_devices(person.id, desk.ports)}
    shown: dict[str, object] = {"address": address, "code": code, "token": token, "open": bool(desk.address)}
    shown |= {"for_class": desk.for_class, "asking_with": secret_hash(request.cookies.get(COOKIE, ""))}
    minutes = {"minutes": int(PAIRING_LASTS.total_seconds() // 60)}
    return desk.templates.TemplateResponse(request, "devices.html", known | shown | minutes)


def _device_name(agent: str) -> str:
    """What a browser says it runs on, roughly."""
    kinds = (("iPad", "tablet"), ("Tablet", "tablet"), ("Mobi", "phone"), ("Android", "tablet"))
    kind = next((kind for sign, kind in kinds if sign in agent), "computer")
    system = next((name for name in ("iPhone", "iPad", "Android", "Windows", "Mac OS", "Linux") if name in agent), "")
    return " ".join(filter(None, (text(f"devices.{kind}"), f"({system})" if system else "")))
