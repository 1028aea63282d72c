"""Stored pictures, served so that no browser takes them for anything else."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter
from starlette.responses import FileResponse, RedirectResponse, Response

from service.domain.check import Check
from service.domain.mistakes import NotFoundError
from service.use_cases.keep_log import look_at_check, thumbnail_of_board
from service.web.desk import Asking, AtDesk, Desk

router = APIRouter(include_in_schema=False)

Which = Literal["overlay", "screen", "thumbnail", "original"]
TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp", "heic": "image/heic"}
STRICT = {
    "content-security-policy": "default-src 'none'; sandbox",
    "cache-control": "private, max-age=31536000, immutable",
}
"""A picture is nothing but a picture; its address names its content, so it never changes."""


@router.get("/boards/{board}/thumbnail/{name}")
def thumbnail(desk: AtDesk, person: Asking, board: str, name: str) -> Response:
    """The small picture that stands for a board."""
    now = thumbnail_of_board(person.id, board, desk.ports)
    return present_picture(desk, name, now, f"/boards/{board}/thumbnail", f"board-{board}")


@router.get("/pictures/{check}/{which}/{name}")
def picture(desk: AtDesk, person: Asking, check: str, which: Which, name: str) -> Response:
    """One picture of a check that the person may see; `name` makes the address change with the picture."""
    now = _stored(look_at_check(person.id, check, desk.ports), which, name)
    return present_picture(desk, name, now, f"/pictures/{check}/{which}", f"{which}-{check}")


def present_picture(desk: Desk, name: str, now: str, address: str, kept_as: str) -> Response:
    """The picture `name`; of a page older than the picture `now`, which took its place, on to that one.

    `address` is where both are, without their name, and `kept_as` as in `stored_file`. Raises NotFoundError when there
    is none `now`.
    """
    if not now:
        raise NotFoundError
    return stored_file(desk, now, kept_as) if name == now else RedirectResponse(f"{address}/{now}")


def stored_file(desk: Desk, stored: str, kept_as: str) -> Response:
    """A stored file; `kept_as` is the name, without ending, under which a browser would keep it."""
    ending = stored.rsplit(".", 1)[1]
    headers = STRICT | {"content-disposition": f'inline; filename="{kept_as}.{ending}"'}
    return FileResponse(desk.files.path_of(stored), media_type=TYPES[ending], headers=headers)


def _stored(check: Check, which: Which, name: str) -> str:
    """That name, if a picture of the check has it; else that of its answer, or empty where it could be either's.

    A corrected check has the program's own answer beside the other.
    """
    if which == "original":
        return name if name == check.photo.name else ""
    answers = [answer for answer in (check.answer, check.original) if answer is not None]
    found = [str(getattr(answer.pictures, which)) for answer in answers]
    return name if name in found else found[0] if len(found) == 1 else ""
