"""Drawings that a command writes: in which format, and never over a photo."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import get_args

from calibration.sheet.card_sheet import FileFormat
from service.errors import UsageError
from service.output import check_folder, check_output, write_file


def drawing_format(path: Path, what: str, formats: Sequence[FileFormat] = get_args(FileFormat)) -> FileFormat:
    """The one of `formats` that the file's name asks for.

    Raises UsageError when it asks for another, told of `what` is to be written, and when there is no such folder.
    """
    for file_format in formats:
        if path.suffix.lower() == f".{file_format}":
            check_folder(path)
            return file_format
    *others, last = (f".{each}" for each in sorted(formats))
    kinds = f"{', '.join(others)} or {last}" if others else last
    raise UsageError(f"{what} is written as {kinds}, not as {path.name!r}.")


def write_drawing(path: Path, data: bytes, photos: Iterable[Path] = ()) -> None:
    """Write a drawing; a file that holds it already is left as it is, for a PNG of it must not pass for a photo.

    Raises UsageError where that would destroy one of `photos` or any image that we did not draw, and when the file
    cannot be written.
    """
    if path.is_file() and path.read_bytes() == data:
        return
    check_output(path, photos)
    write_file(path, data)
