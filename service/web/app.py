"""The app, built from what it is given; nothing exists before `create_app`."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

from fastapi import Depends, FastAPI
from starlette.staticfiles import StaticFiles

from service.storage.photo_files import PhotoFiles
from service.storage.ports import PHOTOS
from service.use_cases.ports import Ports
from service.version import version
from service.web import (
    api,
    api_classes,
    api_corrections,
    api_practice,
    api_reviews,
    routes_assignments,
    routes_check,
    routes_classes,
    routes_correct,
    routes_data,
    routes_devices,
    routes_join_class,
    routes_log,
    routes_people,
    routes_pictures,
    routes_practice,
    routes_review,
    routes_site,
    routes_together,
)
from service.web.desk import Desk
from service.web.errors import add_error_pages
from service.web.guard import Guard
from service.web.looks import FOLDER, make_templates
from service.web.policy import admit
from vision.photo.decode import MAX_BYTES

LOOPBACK = ("localhost", "127.0.0.1", "::1")
MOST_AT_ONCE = 4
"""Photos of the largest size that one request may bring."""

MOST_TO_IMPORT = 8_000_000_000
"""An export with its photos, about 5 MB a check; it is read board by board from the disk."""


def create_app(ports: Ports, data: Path, address: str = "", *, for_class: bool = False) -> FastAPI:
    """The pages and the API over these ports, with photos below `data`.

    `address` is where phones reach it, such as `http://192.168.1.5:8017/`; without it, it answers to loopback alone.
    `for_class` asks everyone to sign in, on this computer as well.
    """
    app = FastAPI(
        title="Tailproof",
        version=version(),
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        dependencies=[Depends(admit)],
    )
    app.state.desk = Desk(ports, PhotoFiles(data / PHOTOS), make_templates(), data, address, for_class)
    for module in (
        routes_check,
        routes_log,
        routes_pictures,
        routes_practice,
        routes_site,
        routes_data,
        routes_devices,
        routes_people,
        routes_classes,
        routes_join_class,
        routes_assignments,
        routes_review,
        routes_correct,
        api,
        api_classes,
        api_corrections,
        api_practice,
        api_reviews,
    ):
        app.include_router(module.router)
    app.include_router(routes_data.api)
    app.include_router(routes_together.router)
    app.include_router(routes_together.api)
    app.mount("/static", StaticFiles(directory=FOLDER / "static"), name="static")
    add_error_pages(app)
    limits = dict.fromkeys(("/import", "/api/v1/import"), MOST_TO_IMPORT)
    app.add_middleware(Guard, hosts=_hosts(address), most_bytes=MOST_AT_ONCE * MAX_BYTES, exceptions=limits)
    return app


def _hosts(address: str) -> frozenset[str]:
    """The names that the service answers to."""
    own = urlsplit(address).hostname
    return frozenset((*LOOPBACK, own) if own else LOOPBACK)
