"""All ports of the use cases on one database and one data folder."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Engine

from service.storage.kept_things import KeptThings
from service.storage.passwords import Passwords
from service.storage.photo_files import PhotoFiles
from service.storage.unit_of_work import reading, writing
from service.uploads.clean import clean_upload
from service.use_cases.ports import JobRunner, Ports

PHOTOS = "photos"


class NobodyWorks:
    """A runner for those who only look or who work themselves."""

    def wake(self) -> None:
        """Nobody to wake."""


def open_ports(engine: Engine, data: Path, runner: JobRunner | None = None) -> Ports:
    """Ports to that database and to the photos in `data`; nothing is connected or made yet."""
    photos = PhotoFiles(data / PHOTOS)
    works = runner or NobodyWorks()
    makers = clean_upload, utc_now, new_id, new_secret
    return Ports(writing(engine), reading(engine), photos, works, *makers, Passwords(), KeptThings(data))


def utc_now() -> datetime:
    """The moment, in UTC."""
    return datetime.now(UTC)


def new_id() -> str:
    """A name for a row that nobody can guess."""
    return secrets.token_urlsafe(12)


def new_secret() -> str:
    """256 random bits, as text."""
    return secrets.token_urlsafe(32)
