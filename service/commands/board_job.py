"""`tailproof board`: one answer from photos of a board's end and faces."""

from __future__ import annotations

import argparse
import json
import os
import sys
from pathlib import Path
from typing import get_args

from calibration.sheet.card_sheet import FileFormat, render_drawing
from service.answers.board_text import board_text
from service.answers.paint import wants_colour
from service.answers.table import caution_text, refusal_text
from service.commands.check_job import settings_from
from service.errors import UsageError
from service.measuring.board_check import BoardPhotos, BoardResult, RefusedBoard, check_board
from service.output import check_output, write_file
from service.status import Status
from vision.board.sketch import draw_board

SKETCH_DPI = 150
"""Of a sketch as PNG: to look at, not to measure from."""


def run_board(options: argparse.Namespace) -> int:
    """Check the board on the command line and return the exit status. Raises UsageError."""
    photos = BoardPhotos(options.end, options.show, options.transfer)
    if not list(photos.faces()):
        raise UsageError("give a photo of a face with --show or --transfer; the end alone is for `tailproof check`.")
    sketch = None if options.sketch is None else _format_of(options.sketch)
    result = check_board(photos, settings_from(options))
    print(json.dumps(result.to_dict()) if options.json else _as_text(result, options), flush=True)
    if sketch is not None and isinstance(result, BoardResult):
        _draw(result, options, sketch)
    return Status.REFUSED if isinstance(result, RefusedBoard) or result.refused else Status.MEASURED


def _format_of(path: Path) -> FileFormat:
    for file_format in get_args(FileFormat):
        if path.suffix.lower() == f".{file_format}":
            return file_format
    raise UsageError(f"--sketch draws .pdf, .png or .svg files, not {path.name!r}.")


def _draw(result: BoardResult, options: argparse.Namespace, file_format: FileFormat) -> None:
    """The sketch as a file, that of an earlier run replaced if it is the same. Raises UsageError."""
    data = render_drawing(draw_board(result.report, options.units), file_format, SKETCH_DPI)
    if not (options.sketch.is_file() and options.sketch.read_bytes() == data):
        check_output(options.sketch, map(Path, result.photos.files.values()))
        write_file(options.sketch, data)


def _as_text(result: BoardResult | RefusedBoard, options: argparse.Namespace) -> str:
    colour = wants_colour(sys.stdout, os.environ)
    if isinstance(result, RefusedBoard):
        named = "" if result.file is None else f"{result.file}:\n"
        return named + refusal_text(result.refusal, colour=colour)
    text = board_text(result.report, result.refused, options.units, colour=colour, explain=options.explain)
    return f"{text}\n\n{caution_text()}"
