"""Photos as files of the data folder, named by the hash of their content."""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from service.domain.check import PHOTO_KINDS, StoredPhoto
from service.domain.mistakes import NotFoundError

ENDINGS = dict(zip(PHOTO_KINDS, ("jpg", "png", "webp", "heic"), strict=True))
"""By kind of photo, the ending of its files."""
_NAME = re.compile(r"[0-9a-f]{64}\.(jpg|png|webp|heic)")
_UNFINISHED = ".part-"


@dataclass(frozen=True)
class PhotoFiles:
    """`ports.PhotoStore` below `folder`: two letters of the hash make a folder, so that none grows too large."""

    folder: Path

    def name_of(self, data: bytes, kind: str) -> str:
        """The name that they have, or would have, as a file."""
        return f"{hashlib.sha256(data).hexdigest()}.{ENDINGS[kind]}"

    def put(self, data: bytes, kind: str) -> StoredPhoto:
        """Write whole or not at all; on disk, not only on its way, when it returns."""
        name = self.name_of(data, kind)
        path = self._path(name)
        if not path.is_file():
            path.parent.mkdir(parents=True, exist_ok=True)
            _write_whole(path, data)
        return StoredPhoto(name, kind)

    def read(self, name: str) -> bytes:
        """Raises NotFoundError."""
        try:
            return self._path(name).read_bytes()
        except FileNotFoundError as error:
            raise NotFoundError from error

    def path_of(self, name: str) -> Path:
        """Where the file is. Raises NotFoundError."""
        path = self._path(name)
        if not path.is_file():
            raise NotFoundError
        return path

    def remove(self, names: Iterable[str]) -> None:
        """Files that are not there are no mistake."""
        for name in names:
            self._path(name).unlink(missing_ok=True)

    def names(self, older_than_s: float) -> Iterator[str]:
        """Stored longer ago than that; unfinished files of that age are removed on the way."""
        for path in self.folder.glob("??/*"):
            if time.time() - path.stat().st_mtime < older_than_s:
                continue
            if path.name.startswith(_UNFINISHED):
                path.unlink(missing_ok=True)
            elif _NAME.fullmatch(path.name):
                yield path.name

    def _path(self, name: str) -> Path:
        if not _NAME.fullmatch(name):
            raise NotFoundError
        return self.folder / name[:2] / name


def _write_whole(path: Path, data: bytes) -> None:
    handle, unfinished = tempfile.mkstemp(prefix=_UNFINISHED, dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(unfinished, path)
        _sync_folder(path.parent)
    except BaseException:
        Path(unfinished).unlink(missing_ok=True)
        raise


def _sync_folder(folder: Path) -> None:
    """Make the new name itself last; systems that cannot open a folder do it by themselves."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
