"""`tailproof card`: the sheet to print."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import get_args

from calibration.sheet.card_sheet import FileFormat, render_sheet
from service.errors import UsageError
from service.output import check_output, write_file
from service.status import Status


def run_card(options: argparse.Namespace) -> int:
    """Write the card of the command line and say where. Raises UsageError when the file cannot be written."""
    file_format = _format_of(options)
    path = options.output or Path(f"tailproof-card-{options.kind}-{options.paper}.{file_format}")
    data = render_sheet(options.kind, options.paper, file_format)
    if not _holds(path, data):
        check_output(path)
        write_file(path, data)
    print(f"Wrote {path}. Print it at 100 %, on matt paper, then measure it once: tailproof print-check.")
    return Status.MEASURED


def _holds(path: Path, data: bytes) -> bool:
    """Whether the file is this card already: a PNG of it must not pass for a photo to be kept."""
    return path.is_file() and path.read_bytes() == data


def _format_of(options: argparse.Namespace) -> FileFormat:
    """The kind of file asked for, by --format or by the file's name; PDF when neither says."""
    asked: FileFormat | None = options.format
    if options.output is None:
        return asked or "pdf"
    suffix = options.output.suffix.lower().removeprefix(".")
    for file_format in get_args(FileFormat):
        if suffix == file_format and asked in (None, file_format):
            return file_format
    kinds = f".{asked}" if asked else ".pdf, .png or .svg"
    raise UsageError(f"a card is written as {kinds}, not as {options.output.name!r}.")
