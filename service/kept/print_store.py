"""Kept prints on disk: one JSON file in the data folder, written whole or not at all."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from calibration.prints.record import NewerFormatError, PrintRecord, prints_from_dict, prints_to_dict
from calibration.prints.shape import UNCHECKED, PrintShape
from service.errors import UsageError

FILE_NAME = "prints.json"
NO_PRINT = "none"
DEFAULT = "default"
"""Names with a meaning of their own: no kept print, and the one that is used unless another is named."""


@dataclass(frozen=True)
class PrintStore:
    """The prints kept in `folder`, which is made when the first is put. All methods raise UsageError, saying why.

    A file that is damaged or newer than this program is never written over.
    """

    folder: Path

    @property
    def path(self) -> Path:
        """The file that holds them."""
        return self.folder / FILE_NAME

    def list(self) -> tuple[PrintRecord, ...]:
        """All kept prints, by name."""
        prints = self._read()
        return tuple(prints[name] for name in sorted(prints))

    def get(self, name: str) -> PrintRecord | None:
        """The print kept under `name`, or None."""
        return self._read().get(name)

    def put(self, record: PrintRecord) -> None:
        """Keep a print under its name, in place of an older one of that name."""
        self._write(self._read() | {record.name: record})

    def forget(self, name: str) -> bool:
        """Remove a print; whether there was one."""
        prints = self._read()
        if prints.pop(name, None) is None:
            return False
        self._write(prints)
        return True

    def _read(self) -> dict[str, PrintRecord]:
        try:
            return prints_from_dict(json.loads(self.path.read_text(encoding="utf-8")))
        except FileNotFoundError:
            return {}
        except OSError as error:
            raise UsageError(f"{self.path} could not be read ({error.strerror or error}).") from error
        except NewerFormatError as error:
            raise UsageError(f"{self.path} is {error}. Install the newer version, or move the file away.") from error
        except ValueError as error:
            raise UsageError(
                f"{self.path} is damaged and has been left as it is. Move it away and measure the prints again."
            ) from error

    def _write(self, prints: Mapping[str, PrintRecord]) -> None:
        text = json.dumps(prints_to_dict(prints), indent=1, ensure_ascii=False) + "\n"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            write_whole(self.path, text)
        except OSError as error:
            raise UsageError(f"{self.path} could not be written ({error.strerror or error}).") from error


def print_named(name: str | None, store: PrintStore) -> PrintShape:
    """The shape to use: of the print kept under `name`; of None, the default one if there is one; else unchecked.

    Raises UsageError when there is no such print, or the kept ones cannot be read.
    """
    if name == NO_PRINT:
        return UNCHECKED
    found = store.get(name or DEFAULT)
    if found is None and name is not None:
        names = ", ".join(record.name for record in store.list()) or "none"
        raise UsageError(f"no print is kept as {name!r}. Kept: {names}.")
    return UNCHECKED if found is None else found.shape


def write_whole(path: Path, text: str) -> None:
    """Write a file beside `path` and put it in its place in one step, so that no reader ever sees half of it."""
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
