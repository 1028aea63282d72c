"""`tailproof card`: the sheet to print."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import get_args

from calibration.sheet.card_sheet import FileFormat, render_sheet
from service.commands.drawing_file import drawing_format, write_drawing
from service.status import Status


def run_card(options: argparse.Namespace) -> int:
    """Write the card of the command line and say where. Raises UsageError when the file cannot be written."""
    file_format = _format_of(options)
    path = options.output or Path(f"tailproof-card-{options.kind}-{options.paper}.{file_format}")
    data = render_sheet(options.kind, options.paper, file_format)
    write_drawing(path, data)
    print(f"Wrote {path}. Print it at 100 %, on matt paper, then measure it once: tailproof print-check.")
    return Status.MEASURED


def _format_of(options: argparse.Namespace) -> FileFormat:
    """The kind of file asked for, by --format or by the file's name; PDF when neither says. Raises UsageError."""
    asked: FileFormat | None = options.format
    if options.output is None:
        return asked or "pdf"
    return drawing_format(options.output, "a card", (asked,) if asked else get_args(FileFormat))
