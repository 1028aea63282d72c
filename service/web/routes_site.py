"""Help, settings, the card to print, and what makes the site an app on a phone."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from service.texts import text
from service.use_cases.keep_log import choose_units
from service.version import version
from service.web.desk import Asking, AtDesk
from service.web.policy import Standing
from service.web.shell import PAGE, worker_script

router = APIRouter(include_in_schema=False)


@router.get("/help")
def help_page(request: Request, desk: AtDesk, person: Asking) -> Response:
    """How to set up, what the answer means, and what to take care of."""
    return desk.templates.TemplateResponse(request, "help.html", {"person": person, "here": "help"})


@router.get("/cards/{kind}-{paper}.pdf")
def card_to_print(kind: Literal["short", "long"], paper: Literal["a4", "letter"]) -> Response:
    """The card as a PDF."""
    from calibration.sheet.card_sheet import render_sheet

    named = {"content-disposition": f'inline; filename="tailproof-{kind}-{paper}.pdf"'}
    return Response(render_sheet(kind, paper, "pdf"), media_type="application/pdf", headers=named)


@router.get("/settings")
def settings_page(
    request: Request, desk: AtDesk, person: Asking, said: str = "", boards: int = 0, checks: int = 0, known: int = 0
) -> Response:
    """Units, export and import; `said` what was just done, with its counts."""
    sentences = {
        "saved": text("settings.saved"),
        "imported": text("settings.imported", boards=boards, checks=checks, known=known),
    }
    shown = {
        "person": person,
        "here": "settings",
        "said": sentences.get(said, ""),
        "version": version(),
        "data": desk.data if request.state.standing >= (Standing.OWNER if desk.for_class else Standing.AT_HOME) else "",
        "at_home": request.state.standing >= Standing.AT_HOME,
        "sees_people": request.state.standing >= Standing.INSTRUCTOR,
        "for_class": desk.for_class,
    }
    return desk.templates.TemplateResponse(request, "settings.html", shown)


@router.post("/settings")
def change_settings(desk: AtDesk, person: Asking, units: Annotated[Literal["mm", "inch"], Form()]) -> Response:
    """Other units."""
    choose_units(person.id, units, desk.ports)
    return RedirectResponse("/settings?said=saved", 303)


@router.get(PAGE)
def without_network(request: Request, desk: AtDesk) -> Response:
    """The page to send from that a phone stores: it holds nothing of anybody's."""
    return desk.templates.TemplateResponse(request, "without_network.html", {"here": "check"})


@router.get("/signed-in")
def signed_in(person: Asking) -> JSONResponse:
    """Whose photos can be sent now: a phone asks before it sends what it kept."""
    return JSONResponse({"person": person.id})


@router.get("/sw.js")
def service_worker() -> Response:
    """What makes the page to send from open without the network; browsers look for a new one at every visit."""
    return Response(worker_script(), media_type="text/javascript", headers={"cache-control": "no-cache"})


@router.get("/app.webmanifest")
def manifest() -> Response:
    """What a phone needs to put the site on its home screen."""
    icons = [{"src": f"/static/icon-{size}.png", "sizes": f"{size}x{size}", "type": "image/png"} for size in (192, 512)]
    icons.append({"src": "/static/icon-512.png", "sizes": "512x512", "type": "image/png", "purpose": "maskable"})
    described = {"name": text("site.name"), "short_name": text("site.name"), "start_url": "/", "scope": "/", "id": "/"}
    colours = {"background_color": "#f4efe6", "theme_color": "#2f3a36"}
    described |= {"display": "standalone", "lang": "en", "description": text("check.lead")}
    return JSONResponse(described | colours | {"icons": icons}, media_type="application/manifest+json")
