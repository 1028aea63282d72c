"""Kept prints on disk: one JSON file in the data folder, written whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from calibration.prints.shape import UNCHECKED, PrintShape
from service.errors import UsageError
from service.kept.kept_file import read_kept, write_kept

if TYPE_CHECKING:
    from calibration.prints.record import PrintRecord

FILE_NAME = "prints.json"
NO_PRINT = "none"
DEFAULT = "default"
"""Names with a meaning of their own: no kept print, and the one that is used unless another is named."""


class PrintStore(NamedTuple):
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
        return read_kept(self.path, _parsed) or {}

    def _write(self, prints: dict[str, PrintRecord]) -> None:
        from calibration.prints.record import prints_to_dict

        write_kept(self.path, prints_to_dict(prints))


def _parsed(data: object) -> dict[str, PrintRecord]:
    from calibration.prints.record import prints_from_dict  # a check without kept prints need not load it

    return prints_from_dict(data)


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
