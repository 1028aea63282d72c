"""Photos out of files, one of them while something else is done: the libraries that measure it take as long to load."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from calibration.outcome import refuse
from vision.photo.decode import MAX_BYTES, decode
from vision.photo.photo import Photo

_begun: dict[Path, Future[Photo]] = {}
"""Photos that are being read and that nobody has asked for yet."""


def load_photo(path: Path) -> Photo:
    """The photo in a file. Raises CannotMeasure: unreadable, too large, not an image."""
    begun = _begun.pop(path, None)
    return _decoded(path) if begun is None else begun.result()


@contextmanager
def read_meanwhile(path: Path) -> Iterator[None]:
    """A thread reads the photo in a file, and the first `load_photo` of it gets what came of that."""
    with ThreadPoolExecutor(max_workers=1) as pool:
        _begun[path] = pool.submit(_decoded, path)
        try:
            yield
        finally:
            _begun.pop(path, None)


def _decoded(path: Path) -> Photo:
    return decode(_bytes_of(path), path.name)


def _bytes_of(path: Path) -> bytes:
    """The file's bytes; a file over the limit is not read, nor more than that of one that does not tell its size."""
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise refuse("image_too_large", f"It has {size / 1e6:.0f} MB.")
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as error:
        raise refuse("unreadable_file", _why_unread(path, error)) from error


def _why_unread(path: Path, error: OSError) -> str:
    """Which file it is and what is the matter with it, as a sentence."""
    if isinstance(error, IsADirectoryError) or path.is_dir():
        return f"({path} is a folder: name the photos in it, such as {path / '*.jpg'}.)"
    return f"({path.name}: {error.strerror or error}.)"
