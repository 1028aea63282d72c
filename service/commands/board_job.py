"""`tailproof board`: one answer from photos of a board's end and faces."""

from __future__ import annotations

import argparse
import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from calibration.sheet.card_sheet import FileFormat, render_drawing
from service.answers.board_text import board_text
from service.answers.paint import wants_colour
from service.answers.table import caution_text, refusal_text
from service.commands.check_job import settings_from
from service.commands.drawing_file import drawing_format, write_drawing
from service.commands.layout_asked import layout_asked
from service.errors import UsageError
from service.measuring.board_check import BoardPhotos, BoardResult, RefusedBoard, check_board
from service.measuring.copies import copies
from service.measuring.reading import load_photo
from service.output import check_output, overlay_paths, write_overlay
from service.status import Status
from vision.board.sketch import draw_board

if TYPE_CHECKING:
    from service.commands.layout_job import LayoutAsked

SKETCH_DPI = 150
"""Of a sketch as PNG: to look at, not to measure from."""


def run_board(options: argparse.Namespace) -> int:
    """Check the board on the command line and return the exit status. Raises UsageError."""
    photos = BoardPhotos(options.end, options.show, options.transfer)
    if not list(photos.faces()):
        raise UsageError("give a photo of a face with --show or --transfer; the end alone is for `tailproof check`.")
    if copies([Path(file) for file in photos.files.values()]):
        raise UsageError("the same photo was given twice; end, show face and transfer face each want one of their own.")
    sketch = None if options.sketch is None else drawing_format(options.sketch, "a sketch")
    overlay = None if options.overlay is None else _overlay_path(options.overlay, photos)
    asked = layout_asked(options)
    result = check_board(photos, settings_from(options))
    shown = json.dumps(_as_dict(result, asked)) if options.json else _as_text(result, options, asked)
    print(shown, flush=True)
    if isinstance(result, RefusedBoard):
        return Status.REFUSED
    if sketch is not None:
        _draw(result, options, sketch)
    if overlay is not None:
        _write_overlay(result, options, overlay)
    return Status.REFUSED if result.refused else Status.MEASURED


def _overlay_path(target: str, photos: BoardPhotos) -> Path:
    path = overlay_paths(target, [photos.end])[0]
    check_output(path, map(Path, photos.files.values()))
    return path


def _draw(result: BoardResult, options: argparse.Namespace, file_format: FileFormat) -> None:
    """The sketch as a file, that of an earlier run replaced if it is the same. Raises UsageError."""
    data = render_drawing(draw_board(result.report, options.units), file_format, SKETCH_DPI)
    write_drawing(options.sketch, data, map(Path, result.photos.files.values()))


def _write_overlay(result: BoardResult, options: argparse.Namespace, path: Path) -> None:
    from vision.board.overlay import draw_board_photos

    measured = {view: Path(file) for view, file in result.photos.files.items() if view not in result.refused}
    photos = {view: load_photo(file) for view, file in measured.items()}
    picture = draw_board_photos(photos, result.report, units=options.units, card_side=options.card_side)
    write_overlay(path, picture)


def _as_dict(result: BoardResult | RefusedBoard, asked: LayoutAsked | None) -> dict[str, Any]:
    if asked is None or isinstance(result, RefusedBoard):
        return result.to_dict()
    from service.commands.layout_job import board_with_layout

    return board_with_layout(result.to_dict(), result.report, asked)


def _as_text(result: BoardResult | RefusedBoard, options: argparse.Namespace, asked: LayoutAsked | None) -> str:
    colour = wants_colour(sys.stdout, os.environ)
    if isinstance(result, RefusedBoard):
        named = "" if result.file is None else f"{result.file}:\n"
        return named + refusal_text(result.refusal, colour=colour)
    text = board_text(result.report, result.refused, options.units, colour=colour, explain=options.explain)
    return "\n\n".join([text, *_layout_blocks(result, asked), caution_text()])


def _layout_blocks(result: BoardResult, asked: LayoutAsked | None) -> list[str]:
    if asked is None:
        return []
    from service.commands.layout_job import Subject

    return asked.shown(Subject.of_board(result.report))
