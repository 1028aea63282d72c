"""The sheet to print: either card, on either paper, in the file format asked for."""

from __future__ import annotations

from typing import Literal

from calibration.card import CARDS
from calibration.sheet.drawing import Drawing
from calibration.sheet.layout import PAPERS_MM, Paper, draw_sheet

FileFormat = Literal["pdf", "svg", "png"]

FILE_FORMATS: tuple[str, ...] = ("pdf", "svg", "png")
DPI = 300
"""Dots per inch of a PNG: the markers' cells have pixels enough, and grey edges place a line no better with more."""


def render_sheet(kind: str, paper: Paper, file_format: FileFormat) -> bytes:
    """The printed sheet of the card `kind` as a file's bytes, true to size.

    Raises ValueError naming the parameter when `kind`, `paper` or `file_format` is not one we offer.
    """
    _check_choice("kind", kind, tuple(CARDS))
    _check_choice("paper", paper, tuple(PAPERS_MM))
    _check_choice("file_format", file_format, FILE_FORMATS)
    return _render(kind, paper, file_format)


def _check_choice(parameter: str, value: str, choices: tuple[str, ...]) -> None:
    if value not in choices:
        raise ValueError(f"{parameter} must be one of {', '.join(choices)}, got {value!r}")


def _render(kind: str, paper: Paper, file_format: FileFormat) -> bytes:
    from calibration.opencv_markers import marker_cells

    return render_drawing(draw_sheet(CARDS[kind], paper, marker_cells(CARDS[kind])), file_format)


def render_drawing(drawing: Drawing, file_format: FileFormat, dpi: int = DPI) -> bytes:
    """Any page as a file's bytes, true to size; `dpi` counts for PNG alone.

    Writers are imported here, so that a check never loads them.
    """
    if file_format == "pdf":
        from calibration.sheet.pdf import write_pdf

        return write_pdf(drawing)
    if file_format == "svg":
        from calibration.sheet.svg import write_svg

        return write_svg(drawing)
    from calibration.sheet.png import write_png

    return write_png(drawing, dpi)
