"""Bring a database's tables up to date, one migration after the other, each in a transaction with its record."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError

from service.errors import UsageError

FOLDER = Path(__file__).with_name("migrations")


def migrate(engine: Engine) -> None:
    """All migrations that are not in yet. Raises UsageError when the database cannot be reached."""
    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    try:
        with engine.connect() as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
    except OperationalError as error:
        where = engine.url.render_as_string(hide_password=True)
        raise UsageError(f"the database {where} cannot be used: {_first_line(error)}") from error


def _first_line(error: OperationalError) -> str:
    return str(error.orig).strip().splitlines()[0] if str(error.orig).strip() else "it does not answer."
