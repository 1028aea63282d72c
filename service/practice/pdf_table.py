"""Tables on a sheet: a heading, thin lines, numbers to the right, a mark before a verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.practice.pdf_page import MM_PER_POINT, Anchor, Point, Sheet, fitted, verdict_mark
from vision.answer.palette import INK, LOOKS, MUTED, Colour

RULE: Colour = (205, 205, 200)
ROW_MM = 4.6
LEAST_ROW_MM = 3.0


@dataclass(frozen=True)
class Column:
    """A heading, a width in mm, which way its cells are set, and whether they are verdicts with their mark."""

    heading: str
    width: float
    anchor: Anchor = "start"
    marked: bool = False


def draw_table(
    sheet: Sheet, at: Point, columns: Sequence[Column], rows: Sequence[Sequence[str]], *, room: float | None = None
) -> float:
    """A table from the point `at` (top left) down, its rows made lower to fit in `room` mm; where it ends."""
    row_mm = row_height(len(rows), room)
    size = row_mm * 0.62 / MM_PER_POINT
    x, y = at
    _draw_row(sheet, (x, y), columns, [column.heading for column in columns], row_mm, size, MUTED)
    for row in rows:
        y += row_mm
        sheet.line([(x, y), (x + sum(column.width for column in columns), y)], 0.1, colour=RULE)
        _draw_row(sheet, (x, y), columns, row, row_mm, size, INK)
    return y + row_mm


def row_height(rows: int, room: float | None) -> float:
    """Height of a row, mm, so that so many rows and their heading fit in the room."""
    return ROW_MM if room is None else max(min(ROW_MM, room / (rows + 1)), LEAST_ROW_MM)


def _draw_row(
    sheet: Sheet, at: Point, columns: Sequence[Column], cells: Sequence[str], row_mm: float, size: float, colour: Colour
) -> None:
    x, y = at
    for column, cell in zip(columns, cells, strict=True):
        _draw_cell(sheet, (x, y), column, cell, row_mm, size, colour)
        x += column.width


def _draw_cell(sheet: Sheet, at: Point, column: Column, cell: str, row_mm: float, size: float, colour: Colour) -> None:
    x, y = at
    inset = row_mm * 0.9 if column.marked and cell in LOOKS else 0.0
    if inset:
        verdict_mark(sheet, (x + row_mm * 0.4, y + row_mm * 0.5), cell, row_mm * 0.3)
    words = fitted(cell, column.width - inset - 1.0, size)
    place = {"start": x + inset, "middle": x + column.width / 2, "end": x + column.width - 1.0}[column.anchor]
    sheet.text((place, y + row_mm * 0.7), words, size, colour=colour, anchor=column.anchor)
