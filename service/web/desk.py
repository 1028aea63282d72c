"""What every route works with, and who is asking."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

from fastapi import Depends, Request
from fastapi.templating import Jinja2Templates

from service.domain.person import Person
from service.storage.photo_files import PhotoFiles
from service.use_cases.ports import Ports
from service.web.throttle import (
    CODES_WITHIN,
    FROM_AN_ADDRESS_WITHIN,
    MOST_FROM_AN_ADDRESS,
    MOST_WRONG_CODES,
    Throttle,
)


@dataclass(frozen=True)
class Desk:
    """The ports, the files of stored pictures, the page templates, where data are kept, and the address for phones.

    `address` is empty when the service answers on its own computer only; `for_class` when everyone has
    to sign in. `throttle` counts who fails to sign in by name and address, `from_addresses` by address alone,
    `wrong_codes` join codes that no class has.
    """

    ports: Ports
    files: PhotoFiles
    templates: Jinja2Templates
    data: Path
    address: str = ""
    for_class: bool = False
    throttle: Throttle = field(default_factory=Throttle)
    from_addresses: Throttle = field(default_factory=lambda: Throttle(MOST_FROM_AN_ADDRESS, FROM_AN_ADDRESS_WITHIN))
    wrong_codes: Throttle = field(default_factory=lambda: Throttle(MOST_WRONG_CODES, CODES_WITHIN))


def desk_of(request: Request) -> Desk:
    """The desk that the app was created with."""
    desk: Desk = request.app.state.desk
    return desk


def person_of(request: Request) -> Person:
    """The person that `policy.admit` let in."""
    person: Person = request.state.person
    return person


def address_of(request: Request) -> str:
    """Where a request came from itself: no header is believed that claims another address.

    Behind a web server everybody comes from that server's.
    """
    return request.client.host if request.client else ""


AtDesk = Annotated[Desk, Depends(desk_of)]
Asking = Annotated[Person, Depends(person_of)]
