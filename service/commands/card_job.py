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
    file_format = options.format or _format_of(options.output)
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


def _format_of(path: Path | None) -> FileFormat:
    """The kind of file that a name asks for; PDF when it does not say."""
    suffix = path.suffix.lower().removeprefix(".") if path else ""
    for file_format in get_args(FileFormat):
        if suffix in ("", file_format):
            return file_format
    raise UsageError(f"a card is written as .pdf, .png or .svg, not as {suffix!r}. Say which with --format.")
