"""What stands where on the printed sheet: the card to cut out, the print check and three lines of instruction.

Everything is in mm from the page's top left corner. The card keeps `MARGIN_MM` of bare paper round its squares; above
that, farthest from the board, a strip stays on the card that names it and points to the edge for the show face.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.card import MARGIN_MM, MARKER_CELLS, Card
from calibration.sheet.drawing import (
    DARK,
    MID,
    PALE,
    Area,
    Drawing,
    Point,
    Shape,
    Text,
    arrow,
    cells_area,
    cross,
    dashes,
    merged,
    rectangle,
    stroke,
)

Paper = Literal["a4", "letter"]

PAPERS_MM: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of each paper held upright, mm (ISO 216; ANSI/ASME Y14.1 size A)."""

PRINTER_MARGIN_MM = 5.0
"""Nothing is drawn nearer to the paper's edge: common printers reach to 4.2 mm (1/6 inch) or closer."""

STRIP_MM = 9.0
"""Height of the strip on the card above its white margin, mm."""

CHECK_MM = 100.0
"""Length of the bars of the print check, mm."""

CHECK_CORNERS = {"A": (0.0, 1.0), "B": (1.0, 1.0), "C": (1.0, 0.0), "D": (0.0, 0.0)}
"""Where the corners of its square lie, across and down from its upper left one, in sides: A bottom left, then
counter-clockwise."""

_BAR_MM, _CROSS_MM, _CROSS_LINE_MM = 2.0, 3.5, 0.2
_CUT_LINE_MM, _CUT_OVERRUN_MM = 0.15, 4.0
_TEXT_MM, _SMALL_MM, _LINE_MM = 3.3, 2.8, 4.8

_HEADING_MM = 10.0
"""From the heading's top to the card's upper cut line."""

_CHECK_FOOT_MM = 6.0
"""What the letters of the print check need below its square."""

_STEPS_GAP_MM, _STEPS_MM = 14.0, 64.0
"""Room between the square of the print check and the instructions, and their width."""

_STEPS = (
    ("Print", ("On matt paper, at 100 % (actual size),", "never fitted to the page.")),
    (
        "Check",
        (
            "With a rule or caliper: note AB and AD",
            "(100 mm), AC and BD (141.4 mm) for the",
            "print check, also when they are right.",
        ),
    ),
    (
        "Glue and cut",
        (
            "Glue it to a flat block, cut along the",
            "lines, and set it flush with the end,",
            "its arrows towards the show face.",
        ),
    ),
)


@dataclass(frozen=True)
class SheetPlan:
    """The places on the page that must be true to size: page size, squares' corner and the check's points, mm."""

    width_mm: float
    height_mm: float
    squares_corner: Point
    check_corner: Point

    def check_point(self, name: str) -> Point:
        """Where the print check's point "A", "B", "C" or "D" lies on the page, mm (see `CHECK_CORNERS`)."""
        across, down = CHECK_CORNERS[name]
        return self.check_corner[0] + across * CHECK_MM, self.check_corner[1] + down * CHECK_MM

    def cut_box(self, card: Card) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the card once cut out."""
        left, top = self.squares_corner
        right, bottom = left + card.width_mm + MARGIN_MM, top + card.height_mm + MARGIN_MM
        return left - MARGIN_MM, top - MARGIN_MM - STRIP_MM, right, bottom


def plan_sheet(card: Card, paper: Paper) -> SheetPlan:
    """Place card and print check on the paper, turned to landscape when the card needs it.

    Raises ValueError naming `paper` when there is no such paper.
    """
    if paper not in PAPERS_MM:
        raise ValueError(f"paper must be one of {', '.join(PAPERS_MM)}, got {paper!r}")
    width, height = PAPERS_MM[paper]
    landscape = card.width_mm + 2 * (MARGIN_MM + _CUT_OVERRUN_MM + PRINTER_MARGIN_MM) > width
    width, height = (height, width) if landscape else (width, height)
    card_mm, gap_mm = STRIP_MM + 2 * MARGIN_MM + card.height_mm, 14.0 if landscape else 26.0
    card_top = (height - card_mm - gap_mm - CHECK_MM - _CHECK_FOOT_MM + _HEADING_MM) / 2
    check_left = (width - CHECK_MM - _STEPS_GAP_MM - _STEPS_MM) / 2
    squares = ((width - card.width_mm) / 2, card_top + STRIP_MM + MARGIN_MM)
    return SheetPlan(width, height, squares, (check_left, card_top + card_mm + gap_mm))


def draw_sheet(card: Card, paper: Paper, marker_cells: NDArray[np.bool_]) -> Drawing:
    """The whole sheet; `marker_cells` are the dark cells of the card's markers, (n, 7, 7) in order of their ids.

    Raises ValueError naming `paper` when there is no such paper.
    """
    plan = plan_sheet(card, paper)
    shapes: list[Shape] = [
        *_heading(card, plan),
        *_cut_lines(card, plan),
        *_strip(card, plan),
        *_edge_note(card, plan),
        merged(_board(card, plan, marker_cells)),
        *_print_check(plan),
        *_instructions(plan),
    ]
    return Drawing(f"Tailproof {card.kind} card", plan.width_mm, plan.height_mm, tuple(shapes))


def _board(card: Card, plan: SheetPlan, marker_cells: NDArray[np.bool_]) -> Iterator[Area]:
    """The black squares and the dark parts of the markers, none of which share an edge."""
    left, top = plan.squares_corner
    side = card.square_mm
    for column, row in card.black_squares:
        x, y = left + column * side, top + row * side
        yield rectangle(x, y, x + side, y + side)
    for dark, (x, y) in zip(marker_cells, card.marker_corner_points_mm[:, 0].tolist(), strict=True):
        yield cells_area(dark, (left + x, top + y), card.marker_mm / MARKER_CELLS)


def _heading(card: Card, plan: SheetPlan) -> Iterator[Text]:
    cut_left, cut_top, _, _ = plan.cut_box(card)
    left, baseline = min(cut_left, plan.check_corner[0]), cut_top - _CUT_OVERRUN_MM - 2.0
    yield Text(f"Tailproof {card.kind} card", (left, baseline), 5.0, bold=True)
    words = f"squares {card.square_mm:g} mm  ·  boards up to {card.max_board_mm:g} mm wide"
    yield Text(words, (plan.width_mm - left, baseline), _TEXT_MM, "end", grey=DARK)


def _cut_lines(card: Card, plan: SheetPlan) -> Iterator[Area]:
    left, top, right, bottom = plan.cut_box(card)
    for x in (left, right):
        yield stroke((x, top - _CUT_OVERRUN_MM), (x, bottom + _CUT_OVERRUN_MM), _CUT_LINE_MM, MID)
    for y in (top, bottom):
        yield stroke((left - _CUT_OVERRUN_MM, y), (right + _CUT_OVERRUN_MM, y), _CUT_LINE_MM, MID)


def _strip(card: Card, plan: SheetPlan) -> Iterator[Shape]:
    """What stays on the card: its name and scale, and which edge goes against the show face."""
    left, top, right, _ = plan.cut_box(card)
    middle = (left + right) / 2
    name = f"Tailproof {card.kind} card  ·  squares {card.square_mm:g} mm"
    yield Text(name, (middle, top + 4.1), _SMALL_MM, "middle", bold=True)
    rule = "The arrows point to the edge that goes against the show face."
    yield Text(rule, (middle, top + 8.0), _SMALL_MM, "middle", grey=DARK)
    for x in (left + MARGIN_MM + 5.0, right - MARGIN_MM - 5.0):
        yield arrow((x, top + STRIP_MM), 1, STRIP_MM - 1.5)


def _edge_note(card: Card, plan: SheetPlan) -> Iterator[Shape]:
    left, _, right, bottom = plan.cut_box(card)
    middle = (left + right) / 2
    words = "this edge goes against the show face"
    yield Text(words, (middle, bottom + 4.4), _SMALL_MM, "middle", grey=DARK)
    for x in (middle - 28.0, middle + 28.0):
        yield arrow((x, bottom + 1.0), -1, 4.0, DARK)


def _print_check(plan: SheetPlan) -> Iterator[Shape]:
    """Two scale bars at right angles, and a cross at each corner of their square for its diagonals."""
    corners = {name: plan.check_point(name) for name in "ABCD"}
    yield from dashes(corners["A"], corners["C"], 60, 0.15, PALE)
    yield from dashes(corners["B"], corners["D"], 60, 0.15, PALE)
    yield from _bars(*corners["A"])
    for name, corner in corners.items():
        yield from _cross(name, corner)
    yield from _check_labels(*corners["A"])


def _bars(x: float, y: float) -> Iterator[Area]:
    """Ten-millimetre blocks, one row below A-B and one left of A-D, each closed by a thin line."""
    step = CHECK_MM / 10
    level = [rectangle(x + i * step, y, x + (i + 1) * step, y + _BAR_MM) for i in range(0, 10, 2)]
    upright = [rectangle(x - _BAR_MM, y - (i + 1) * step, x, y - i * step) for i in range(0, 10, 2)]
    yield merged(level + upright)
    for inset in (0.0, _BAR_MM):
        yield stroke((x, y + inset), (x + CHECK_MM, y + inset), _CROSS_LINE_MM)
        yield stroke((x - inset, y), (x - inset, y - CHECK_MM), _CROSS_LINE_MM)


def _cross(name: str, at: Point) -> Iterator[Shape]:
    """A cross centred on the point, with its letter outside the square."""
    x, y = at
    yield cross(at, _CROSS_MM, _CROSS_LINE_MM)
    outward_x = 1 if name in "BC" else -1
    outward_y = 1 if name in "AB" else -1
    baseline = y + outward_y * 4.2 + 1.3
    yield Text(name, (x + outward_x * 4.2, baseline), _TEXT_MM, "middle", bold=True)


def _check_labels(x: float, y: float) -> Iterator[Text]:
    middle = CHECK_MM / 2
    yield Text("100 mm", (x + middle, y - 2.0), _SMALL_MM, "middle", grey=DARK)
    yield Text("100 mm", (x + 4.0, y - middle), _SMALL_MM, "middle", upward=True, grey=DARK)
    yield Text("diagonals 141.4 mm", (x + middle, y - middle - 18.0), _SMALL_MM, "middle", grey=DARK)


def _instructions(plan: SheetPlan) -> Iterator[Text]:
    left, y = plan.check_point("C")
    left, y = left + _STEPS_GAP_MM, y + 16.0
    for number, (head, lines) in enumerate(_STEPS, start=1):
        yield Text(str(number), (left, y), 6.0, bold=True, grey=MID)
        yield Text(head, (left + 6.5, y), 4.2, bold=True)
        for line in lines:
            y += _LINE_MM
            yield Text(line, (left + 6.5, y), _TEXT_MM, grey=DARK)
        y += 2.2 * _LINE_MM
