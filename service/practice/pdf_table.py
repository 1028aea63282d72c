"""Tables on a sheet: a heading, thin lines, numbers to the right, a mark before a verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.practice.pdf_page import MM_PER_POINT, Anchor, Point, Sheet, fitted, text_width, verdict_mark
from vision.answer.palette import INK, LOOKS, MUTED, Colour

RULE: Colour = (205, 205, 200)
ROW_MM = 4.6
LEAST_ROW_MM = 3.0
CELL_GAP_MM = 1.0
"""Room after a cell's words, at least."""
_LETTERS = 0.62
"""Size of the letters over the height of their row."""
_MARK = 0.9
"""Room for a verdict's mark over the height of its row."""


@dataclass(frozen=True)
class Column:
    """A heading, a width in mm, which way its cells are set, and whether they are verdicts with their mark."""

    heading: str
    width: float = 0.0
    anchor: Anchor = "start"
    marked: bool = False


def draw_table(
    sheet: Sheet, at: Point, columns: Sequence[Column], rows: Sequence[Sequence[str]], row_mm: float = ROW_MM
) -> float:
    """A table from the point `at` (top left) down, its rows `row_mm` high; where it ends."""
    size = letters(row_mm)
    x, y = at
    _draw_row(sheet, (x, y), columns, [column.heading for column in columns], row_mm, size, MUTED)
    for row in rows:
        y += row_mm
        sheet.line([(x, y), (x + sum(column.width for column in columns), y)], 0.1, colour=RULE)
        _draw_row(sheet, (x, y), columns, row, row_mm, size, INK)
    return y + row_mm


def row_height(rows: int, room: float) -> float:
    """Height of a row, mm, so that so many rows and their heading fit in the room."""
    return max(min(ROW_MM, room / (rows + 1)), LEAST_ROW_MM)


def as_wide_as_needed(columns: Sequence[Column], rows: Sequence[Sequence[str]], row_mm: float) -> list[Column]:
    """The columns, each as wide as its longest cell or heading: no number is cut."""
    cells = zip(*rows, strict=True) if rows else ((),) * len(columns)
    return [replace(column, width=_needed(column, own, row_mm)) for column, own in zip(columns, cells, strict=True)]


def letters(row_mm: float) -> float:
    """Size of the letters, in points, in a row of that height."""
    return row_mm * _LETTERS / MM_PER_POINT


def _needed(column: Column, cells: Sequence[str], row_mm: float) -> float:
    size, mark = letters(row_mm), row_mm * _MARK if column.marked else 0.0
    widths = [text_width(column.heading, size), *(mark + text_width(cell, size) for cell in cells)]
    return max(widths) + CELL_GAP_MM + 0.01


def _draw_row(
    sheet: Sheet, at: Point, columns: Sequence[Column], cells: Sequence[str], row_mm: float, size: float, colour: Colour
) -> None:
    x, y = at
    for column, cell in zip(columns, cells, strict=True):
        _draw_cell(sheet, (x, y), column, cell, row_mm, size, colour)
        x += column.width


def _draw_cell(sheet: Sheet, at: Point, column: Column, cell: str, row_mm: float, size: float, colour: Colour) -> None:
    x, y = at
    inset = row_mm * _MARK if column.marked and cell in LOOKS else 0.0
    if inset:
        verdict_mark(sheet, (x + row_mm * 0.4, y + row_mm * 0.5), cell, row_mm * 0.3)
    words = fitted(cell, column.width - inset - CELL_GAP_MM, size)
    place = {"start": x + inset, "middle": x + column.width / 2, "end": x + column.width - CELL_GAP_MM}[column.anchor]
    sheet.text((place, y + row_mm * 0.7), words, size, colour=colour, anchor=column.anchor)
