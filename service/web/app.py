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

ROUTERS = (
    routes_check.router,
    routes_log.router,
    routes_pictures.router,
    routes_practice.router,
    routes_site.router,
    routes_data.router,
    routes_devices.router,
    routes_people.router,
    routes_classes.router,
    routes_join_class.router,
    routes_assignments.router,
    routes_review.router,
    routes_correct.router,
    api.router,
    api_classes.router,
    api_corrections.router,
    api_practice.router,
    api_reviews.router,
    routes_data.api,
    routes_together.router,
    routes_together.api,
)
"""Of the pages and the API, in the order in which their addresses are tried."""

LOOPBACK = ("localhost", "127.0.0.1", "::1")
MOST_AT_ONCE = 4
"""Photos of the largest size that one request may bring."""

MOST_TO_IMPORT = 8_000_000_000
"""An export with its photos, about 5 MB a check; it is read board by board from the disk."""


def create_app(ports: Ports, data: Path, address: str = "", *, for_class: bool = False) -> FastAPI:
    """The pages and the API over these ports, with photos below `data`.

    `address` is where others reach it, such as `http://192.168.1.5:8017/` or that of a web server in front, which
    passes the host on; without it, it answers to loopback alone.
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
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=FOLDER / "static"), name="static")
    add_error_pages(app)
    limits = dict.fromkeys(("/import", "/api/v1/import"), MOST_TO_IMPORT)
    app.add_middleware(Guard, hosts=_hosts(address), most_bytes=MOST_AT_ONCE * MAX_BYTES, exceptions=limits)
    return app


def _hosts(address: str) -> frozenset[str]:
    """The names that the service answers to."""
    own = urlsplit(address).hostname
    return frozenset((*LOOPBACK, own) if own else LOOPBACK)
