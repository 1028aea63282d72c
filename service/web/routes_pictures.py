"""Stored pictures, served so that no browser takes them for anything else."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter
from starlette.responses import FileResponse, Response

from service.domain.check import Check
from service.domain.mistakes import NotFoundError
from service.use_cases.keep_log import look_at_check, thumbnail_of_board
from service.web.desk import Asking, AtDesk

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
    if thumbnail_of_board(person.id, board, desk.ports) != name:
        raise NotFoundError
    return stored_file(desk, name, f"board-{board}")


@router.get("/pictures/{check}/{which}/{name}")
def picture(desk: AtDesk, person: Asking, check: str, which: Which, name: str) -> Response:
    """One picture of a check that the person may see; `name` makes the address change with the picture."""
    stored = _stored(look_at_check(person.id, check, desk.ports), which, name)
    if not stored:
        raise NotFoundError
    return stored_file(desk, stored, f"{which}-{check}")


def stored_file(desk: AtDesk, stored: str, kept_as: str) -> Response:
    """A stored file; `kept_as` is the name, without ending, under which a browser would keep it."""
    ending = stored.rsplit(".", 1)[1]
    headers = STRICT | {"content-disposition": f'inline; filename="{kept_as}.{ending}"'}
    return FileResponse(desk.files.path_of(stored), media_type=TYPES[ending], headers=headers)


def _stored(check: Check, which: Which, name: str) -> str:
    """That name, if a picture of the check has it: of its answer or of the program's own; else empty."""
    if which == "original":
        return name if name == check.photo.name else ""
    answers = [answer for answer in (check.answer, check.original) if answer is not None]
    found = [str(getattr(answer.pictures, which)) for answer in answers]
    return next((stored for stored in found if stored == name), "")
