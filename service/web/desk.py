"""What every route works with, and who is asking."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from fastapi import Depends, Request
from fastapi.templating import Jinja2Templates

from service.domain.person import Person
from service.storage.photo_files import PhotoFiles
from service.use_cases.keep_log import who_is
from service.use_cases.ports import Ports


@dataclass(frozen=True)
class Desk:
    """The ports, the files of stored pictures, the page templates, and where data are kept."""

    ports: Ports
    files: PhotoFiles
    templates: Jinja2Templates
    data: Path


def desk_of(request: Request) -> Desk:
    """The desk that the app was created with."""
    desk: Desk = request.app.state.desk
    return desk


def person_of(request: Request) -> Person:
    """Who is asking: in solo mode the one person there is."""
    from service.use_cases.solo import SOLO

    return who_is(SOLO, desk_of(request).ports)


AtDesk = Annotated[Desk, Depends(desk_of)]
Asking = Annotated[Person, Depends(person_of)]
