"""One running service per data folder: its lock, and the name that its workers go by."""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import IO

from service.errors import UsageError

LOCK, NAME = "service.lock", "service.name"


def lock_folder(data: Path) -> IO[str]:
    """Hold the folder for this process for as long as the file stays open.

    Raises UsageError when another holds it, or nothing can be written there.
    """
    try:
        file = (data / LOCK).open("a")
    except OSError as error:
        raise _unusable(data / LOCK, error) from error
    try:
        _lock(file)
    except OSError as error:
        file.close()
        raise UsageError(
            f"{data} is in use by another `tailproof serve`. Stop that one, or name another --data."
        ) from (error)
    return file


def instance_name(data: Path) -> str:
    """A name that this data folder keeps, unlike that of any other service on the same database. Raises UsageError."""
    path = data / NAME
    try:
        if not path.is_file():
            path.write_text(secrets.token_hex(8), encoding="ascii")
        return path.read_text(encoding="ascii").strip()
    except OSError as error:
        raise _unusable(path, error) from error


def _unusable(path: Path, error: OSError) -> UsageError:
    why = error.strerror or error
    return UsageError(f"{path} cannot be read and written ({why}). Let this user write there, or name another --data.")


def _lock(file: IO[str]) -> None:
    try:
        import fcntl
    except ImportError:  # Windows
        import msvcrt

        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    else:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
