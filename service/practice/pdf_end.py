"""The end of a board drawn from its numbers: tails and sockets, lean exaggerated, each socket marked."""

from __future__ import annotations

from itertools import pairwise

from service.practice.entries import PracticeBoard, PracticeWall
from service.practice.pdf_charts import Box
from service.practice.pdf_page import Point, Sheet, verdict_mark
from vision.answer.palette import INK, MUTED, Colour

WOOD: Colour = (236, 222, 196)
FACTORS = (1, 2, 5, 10, 20, 50)
REACH = 0.3
"""Of the narrowest space between walls: how far a wall may be drawn off its place."""


def draw_end(sheet: Sheet, box: Box, board: PracticeBoard) -> None:
    """Seen from above the end, show face at the top; walls turned about their middle by an exaggerated lean."""
    inner = box.inside(0.0, 5.0, 0.0, 8.0)
    scale = inner.width / board.width_mm
    factor = exaggeration(board)
    ends = [_wall_ends(wall, board, inner, scale, factor) for wall in board.walls]
    for left, right in zip(ends[0::2], ends[1::2], strict=True):
        sheet.area([left[0], right[0], right[1], left[1]], WOOD, outline=INK)
    _marks(sheet, board, inner, ends)
    sheet.line([(inner.left, inner.top), (inner.right, inner.top)], 0.15, colour=MUTED)
    sheet.line([(inner.left, inner.bottom), (inner.right, inner.bottom)], 0.15, colour=MUTED)
    _captions(sheet, box, factor)


def exaggeration(board: PracticeBoard) -> int:
    """The largest round factor at which no two walls come close to touching."""
    places = [0.0, *(wall.position * board.width_mm for wall in board.walls), board.width_mm]
    space = min(abs(b - a) for a, b in pairwise(places))
    most = max(abs(wall.out_of_square_mm) for wall in board.walls)
    return max([factor for factor in FACTORS if factor * most <= REACH * space * 2.0] or [1])


def _wall_ends(wall: PracticeWall, board: PracticeBoard, box: Box, scale: float, factor: int) -> tuple[Point, Point]:
    """Where the wall meets the show face and the transfer face on the page."""
    middle = box.left + wall.position * board.width_mm * scale
    half = factor * wall.out_of_square_mm * scale / 2.0
    return (middle - half, box.top), (middle + half, box.bottom)


def _marks(sheet: Sheet, board: PracticeBoard, box: Box, ends: list[tuple[Point, Point]]) -> None:
    """Each socket's verdict in its middle, its number below."""
    middles = [(top[0] + bottom[0]) / 2.0 for top, bottom in ends]
    edges = [box.left, *middles, box.right]
    for number, (left, right, socket) in enumerate(zip(edges[0::2], edges[1::2], board.sockets, strict=True), start=1):
        x = (left + right) / 2.0
        verdict_mark(sheet, (x, box.top + box.height / 2.0), socket.verdict, min(2.4, (right - left) * 0.3))
        sheet.text((x, box.bottom + 3.5), str(number), 7.0, anchor="middle")


def _captions(sheet: Sheet, box: Box, factor: int) -> None:
    sheet.text((box.left, box.top + 3.5), "show face", 7.0, colour=MUTED)
    lean = f"lean drawn {factor} times as large" if factor > 1 else "lean drawn as it is"
    sheet.text((box.right, box.top + 3.5), lean, 7.0, colour=MUTED, anchor="end")
    sheet.text((box.left, box.bottom - 0.5), "transfer face; numbers are those of the table", 7.0, colour=MUTED)
