"""Bring a database's tables up to date, one migration after the other, each in a transaction with its record."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DatabaseError, OperationalError

from service.errors import UsageError

FOLDER = Path(__file__).with_name("migrations")


def migrate(engine: Engine) -> None:
    """All migrations that are not in yet.

    Raises UsageError when the database cannot be reached, is damaged or none, or was migrated by a newer program.
    """
    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    try:
        with engine.connect() as connection:
            _check_known(connection, config)
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
    except OperationalError as error:
        raise UsageError(f"the database {_where(engine)} cannot be used: {_first_line(error)}") from error
    except DatabaseError as error:
        what_to_do = "Put a copy in its place, or move it away: an empty log is then begun."
        told = f"is damaged, or none ({_first_line(error)}). {what_to_do}"
        raise UsageError(f"the database {_where(engine)} {told}") from error


def _check_known(connection: Connection, config: Config) -> None:
    """Raise UsageError for a database that a newer program has migrated."""
    present = MigrationContext.configure(connection).get_current_heads()
    connection.rollback()
    known = {step.revision for step in ScriptDirectory.from_config(config).walk_revisions()}
    if set(present) - known:
        what_to_do = "Install that version, or put a copy of the time before in its place."
        raise UsageError(f"the database {_where(connection.engine)} was written by a newer Tailproof. {what_to_do}")


def _where(engine: Engine) -> str:
    return engine.url.render_as_string(hide_password=True)


def _first_line(error: DatabaseError) -> str:
    return str(error.orig).strip().splitlines()[0] if str(error.orig).strip() else "it does not answer."
