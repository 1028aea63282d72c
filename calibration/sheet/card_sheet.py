"""The sheet to print: either card, on either paper, in the file format asked for."""

from __future__ import annotations

from typing import Literal

from calibration.card import CARDS
from calibration.sheet.drawing import Drawing
from calibration.sheet.layout import PAPERS_MM, Paper, draw_sheet

FileFormat = Literal["pdf", "svg", "png"]

FILE_FORMATS: tuple[str, ...] = ("pdf", "svg", "png")
DPI_RANGE = (100, 600)
"""Dots per inch of a PNG: below, the markers' cells have too few pixels; above, grey edges place a line no better."""


def render_sheet(kind: str, paper: Paper, file_format: FileFormat, dpi: int = 300) -> bytes:
    """The printed sheet of the card `kind` as a file's bytes, true to size; `dpi` counts for PNG alone.

    Raises ValueError naming the parameter when `kind`, `paper`, `file_format` or `dpi` is not one we offer.
    """
    _check_choice("kind", kind, tuple(CARDS))
    _check_choice("paper", paper, tuple(PAPERS_MM))
    _check_choice("file_format", file_format, FILE_FORMATS)
    if not DPI_RANGE[0] <= dpi <= DPI_RANGE[1]:
        raise ValueError(f"dpi must lie between {DPI_RANGE[0]} and {DPI_RANGE[1]}, got {dpi}")
    return _render(kind, paper, file_format, dpi)


def _check_choice(parameter: str, value: str, choices: tuple[str, ...]) -> None:
    if value not in choices:
        raise ValueError(f"{parameter} must be one of {', '.join(choices)}, got {value!r}")


def _render(kind: str, paper: Paper, file_format: FileFormat, dpi: int) -> bytes:
    from calibration.opencv_markers import marker_cells

    return render_drawing(draw_sheet(CARDS[kind], paper, marker_cells(CARDS[kind])), file_format, dpi)


def render_drawing(drawing: Drawing, file_format: FileFormat, dpi: int = 300) -> bytes:
    """Any page as a file's bytes, true to size. Writers are imported here, so that a check never loads them."""
    if file_format == "pdf":
        from calibration.sheet.pdf import write_pdf

        return write_pdf(drawing)
    if file_format == "svg":
        from calibration.sheet.svg import write_svg

        return write_svg(drawing)
    from calibration.sheet.png import write_png

    return write_png(drawing, dpi)
