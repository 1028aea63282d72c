"""The app, built from what it is given; nothing exists before `create_app`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from fastapi import FastAPI
from starlette.staticfiles import StaticFiles

from service.storage.photo_files import PhotoFiles
from service.storage.ports import PHOTOS
from service.use_cases.ports import Ports
from service.version import version
from service.web import api, routes_check, routes_data, routes_log, routes_pictures, routes_site
from service.web.desk import Desk
from service.web.errors import add_error_pages
from service.web.guard import Guard
from service.web.looks import FOLDER, make_templates
from vision.decode import MAX_BYTES

LOOPBACK = ("localhost", "127.0.0.1", "::1")
MOST_AT_ONCE = 4
"""Photos of the largest size that one request may bring."""

MOST_TO_IMPORT = 8_000_000_000
"""An export with its photos, about 5 MB a check; it is read board by board from the disk."""


def create_app(ports: Ports, data: Path, hosts: Iterable[str] = LOOPBACK) -> FastAPI:
    """The pages and the API over these ports, with photos below `data`, answering to these host names alone."""
    app = FastAPI(
        title="Tailproof",
        version=version(),
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    app.state.desk = Desk(ports, PhotoFiles(data / PHOTOS), make_templates(), data)
    for module in (routes_check, routes_log, routes_pictures, routes_site, routes_data, api):
        app.include_router(module.router)
    app.include_router(routes_data.api)
    app.mount("/static", StaticFiles(directory=FOLDER / "static"), name="static")
    add_error_pages(app)
    limits = dict.fromkeys(("/import", "/api/v1/import"), MOST_TO_IMPORT)
    app.add_middleware(Guard, hosts=frozenset(hosts), most_bytes=MOST_AT_ONCE * MAX_BYTES, exceptions=limits)
    return app
