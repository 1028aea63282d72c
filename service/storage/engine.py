"""The connection to the database: SQLite by default, PostgreSQL by its URL, and their tables brought up to date."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError

from service.errors import UsageError

FILE_NAME = "log.sqlite3"
PATIENCE_S = 30
"""How long a writer waits for its turn."""
SETTINGS = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",  # an accepted photo survives a cut of the mains, not only of the program
    "PRAGMA foreign_keys=ON",
    f"PRAGMA busy_timeout={PATIENCE_S * 1000}",
)


def database_url(given: str | None, data: Path) -> str:
    """The URL to use: the one given, else of a file in the data folder. Raises UsageError for one that is not ours."""
    if given is None:
        return URL.create("sqlite", database=str(data / FILE_NAME)).render_as_string(hide_password=False)
    try:
        url = make_url(given)
    except ArgumentError as error:
        raise UsageError(f"--database: {given!r} is no database URL, such as postgresql://user@host/name.") from error
    kind = url.get_backend_name()
    if kind not in ("sqlite", "postgresql"):
        raise UsageError(f"--database: Tailproof keeps its log in SQLite or PostgreSQL, not in {kind}.")
    plain = url.set(drivername="postgresql+psycopg") if url.drivername == "postgresql" else url
    return plain.render_as_string(hide_password=False)


def open_engine(url: str) -> Engine:
    """An engine for that URL, as careful as each database can be made. Nothing is connected yet."""
    if not url.startswith("sqlite"):
        return create_engine(url, pool_pre_ping=True)
    engine = create_engine(url, connect_args={"timeout": PATIENCE_S})
    event.listen(engine, "connect", _settle)
    event.listen(engine, "begin", _begin)
    return engine


def _settle(connection: Any, record: Any) -> None:
    """Set up one SQLite connection; transactions are begun by us, not by the driver."""
    connection.isolation_level = None
    cursor = connection.cursor()
    for setting in SETTINGS:
        cursor.execute(setting)
    cursor.close()


def _begin(connection: Connection) -> None:
    """A writer takes its turn at once, so that it never has to give up half way; a reader waits for nobody."""
    reading = connection.get_execution_options().get("reading", False)
    connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")
