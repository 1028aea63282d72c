"""A JSON file in the data folder: read with its damage told, written whole or not at all."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from calibration.kept_format import NewerFormatError
from service.errors import UsageError

Kept = TypeVar("Kept")


def read_kept(path: Path, parse: Callable[[object], Kept]) -> Kept | None:
    """What `parse` makes of the file; None when there is none. Raises UsageError, saying why, when it cannot be read.

    `parse` raises NewerFormatError or ValueError with a sentence.
    """
    try:
        return parse(json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None
    except OSError as error:
        raise UsageError(f"{path} could not be read ({error.strerror or error}).") from error
    except NewerFormatError as error:
        raise UsageError(f"{path} is {error}. Install the newer version, or move the file away.") from error
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        raise UsageError(f"{path} is not a JSON file ({error}). Correct it, or move it away.") from error
    except ValueError as error:
        raise UsageError(f"{path} cannot be used: {error}. Correct it, or move it away.") from error


def write_kept(path: Path, data: Mapping[str, Any]) -> None:
    """Write the data in place of the file, making its folder. Raises UsageError, saying why, when it cannot."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_whole(path, json.dumps(data, indent=1, ensure_ascii=False) + "\n")
    except OSError as error:
        raise UsageError(f"{path} could not be written ({error.strerror or error}).") from error


def _write_whole(path: Path, text: str) -> None:
    """Write a file beside `path` and put it in its place in one step, so that no reader ever sees half of it."""
    import tempfile  # a photo's check only reads

    handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
