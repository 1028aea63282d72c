"""A plan drawn at full size: both faces unfolded from the end, to fold over the board and prick through.

Top to bottom: the show face down to its baseline, the end, the transfer face. The waste is grey. Below stand the places
of all lines, the dividers' step as two marks to set them by, and a scale to check the print.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from calibration.sheet.drawing import (
    DARK,
    MID,
    Area,
    Drawing,
    Point,
    Shape,
    Text,
    dashes,
    merged,
    rectangle,
    stroke,
)
from calibration.sheet.layout import PAPERS_MM, Paper
from calibration.units import MM_PER_INCH
from vision.answer.words import Units, format_size
from vision.layout.plan import Plan

WASTE = 0.88
"""Grey of the waste: light enough to write on."""

LINE_MM = 0.15
"""Breadth of a drawn line; its middle is the place."""

TAIL_ROOM_MM = 8.0
"""Wood shown beyond the baseline."""

SCALE_MM = {"mm": 50.0, "inch": 2.0 * MM_PER_INCH}
"""Length of the scale that the print is checked by."""

SCALE_BLOCKS = 5
"""Equal parts of the scale, every other one black: it begins and ends with a black one."""

_SIDE_MM, _TOP_MM, _HEADING_MM, _LABELS_MM, _MARKS_MM = 12.0, 12.0, 14.0, 26.0, 30.0
_TEXT_MM, _SMALL_MM, _TICK_MM = 3.3, 2.8, 4.0


class Places(NamedTuple):
    """Where on the page (mm) the plan's x = 0 is, and the y of all that must be true to size, downward."""

    left: float
    show_top: float
    show_baseline: float
    end_top: float
    end_bottom: float
    transfer_baseline: float
    transfer_bottom: float
    marks: float

    def x(self, x_mm: float) -> float:
        """Where a place along the board's width lies on the page."""
        return self.left + x_mm


def page_mm(plan: Plan, paper: Paper) -> tuple[float, float]:
    """Width and height of the page: the paper, turned where the board needs it, or larger where it does not fit.

    Raises ValueError naming `paper` when there is no such paper.
    """
    if paper not in PAPERS_MM:
        raise ValueError(f"paper must be one of {', '.join(PAPERS_MM)}, got {paper!r}")
    needed = plan.width_mm + 2.0 * _SIDE_MM, _height_mm(plan)
    sizes = (PAPERS_MM[paper], PAPERS_MM[paper][::-1])
    fits = [size for size in sizes if needed[0] <= size[0] and needed[1] <= size[1]]
    return fits[0] if fits else (max(needed[0], sizes[0][0]), max(needed[1], sizes[0][1]))


def fits_paper(plan: Plan, paper: Paper) -> bool:
    """Whether the drawing fits on one sheet of that paper."""
    return page_mm(plan, paper) in (PAPERS_MM[paper], PAPERS_MM[paper][::-1])


def places_on(plan: Plan, paper: Paper) -> Places:
    """Where everything lies on the page."""
    face = plan.depth_mm + TAIL_ROOM_MM
    top = _TOP_MM + _HEADING_MM
    end = top + face
    bottom = end + plan.thickness_mm
    left = (page_mm(plan, paper)[0] - plan.width_mm) / 2.0
    heights = (top, end - plan.depth_mm, end, bottom, bottom + plan.depth_mm, bottom + face)
    return Places(left, *heights, bottom + face + _LABELS_MM + 8.0)


def draw_plan(plan: Plan, paper: Paper = "a4", units: Units = "mm") -> Drawing:
    """The plan as a page to print at 100 %. Raises ValueError naming `paper` when there is no such paper."""
    at = places_on(plan, paper)
    shapes: list[Shape] = [
        *_heading(plan, at, units),
        merged(_waste(plan, at)),
        *_outline(plan, at),
        *_lines(plan, at),
        *_names(at),
        *_labels(plan, at, units),
        *_divider_marks(plan, at, units),
        *_scale(at, units),
    ]
    return Drawing(f"Tailproof plan {plan.name}".rstrip(), *page_mm(plan, paper), tuple(shapes))


def _height_mm(plan: Plan) -> float:
    faces = 2.0 * (plan.depth_mm + TAIL_ROOM_MM) + plan.thickness_mm
    return 2.0 * _TOP_MM + _HEADING_MM + faces + _LABELS_MM + _MARKS_MM


def _heading(plan: Plan, at: Places, units: Units) -> Iterator[Text]:
    sizes = f"{format_size(plan.width_mm, units)} by {format_size(plan.thickness_mm, units)}"
    tails = f"{plan.tails} tail{'s' * (plan.tails > 1)}, slope 1:{1.0 / plan.slope:.3g}"
    yield Text(f"Plan {plan.name}".rstrip(), (at.left, _TOP_MM + 4.0), 5.0, bold=True)
    yield Text(f"{sizes}  ·  {tails}  ·  print at 100 %", (at.left, _TOP_MM + 9.5), _TEXT_MM, grey=DARK)


def _waste(plan: Plan, at: Places) -> Iterator[Area]:
    """The sockets on both faces and the end as one outline each, from the show face's baseline to the transfer's."""
    walls = [(0.0, 0.0), *((line.x_end_mm, line.x_baseline_mm) for line in plan.lines), (plan.width_mm,) * 2]
    for left, right in zip(walls[0::2], walls[1::2], strict=True):
        (le, lb), (re, rb) = ((at.x(end), at.x(root)) for end, root in (left, right))
        rows = (at.show_baseline, at.end_top, at.end_bottom, at.transfer_baseline)
        rights, lefts = (rb, re, re, rb), (lb, le, le, lb)
        yield Area(((*zip(rights, rows, strict=True), *reversed(tuple(zip(lefts, rows, strict=True)))),), WASTE)


def _outline(plan: Plan, at: Places) -> Iterator[Area]:
    """The board's sides, baselines, and the two folds."""
    left, right = at.x(0.0), at.x(plan.width_mm)
    yield merged(stroke((x, at.show_top), (x, at.transfer_bottom), LINE_MM) for x in (left, right))
    yield merged(stroke((left, y), (right, y), LINE_MM) for y in (at.show_baseline, at.transfer_baseline))
    for y in (at.end_top, at.end_bottom):
        yield from dashes((left - 5.0, y), (right + 5.0, y), max(int(plan.width_mm / 4.0), 5), LINE_MM, DARK)


def _lines(plan: Plan, at: Places) -> Iterator[Area]:
    """All walls, sloping on the show face, square across the end, sloping on the transfer face."""
    ends, roots = ([at.x(x) for x in each] for each in zip(*(line[2:] for line in plan.lines), strict=True))
    rows = ((roots, at.show_baseline), (ends, at.end_top), (ends, at.end_bottom), (roots, at.transfer_baseline))
    for (starts, top), (stops, bottom) in pairwise(rows):
        pairs = zip(starts, stops, strict=True)
        yield merged(stroke((start, top), (stop, bottom), LINE_MM) for start, stop in pairs)


def _names(at: Places) -> Iterator[Text]:
    """What each part of the sheet is, upright beside it."""
    x = at.left - 2.5
    spans = (
        ("show face", at.show_top, at.end_top),
        ("end", at.end_top, at.end_bottom),
        ("transfer face", at.end_bottom, at.transfer_bottom),
    )
    for words, top, bottom in spans:
        yield Text(words, (x, (top + bottom) / 2.0), _SMALL_MM, "middle", upward=True, grey=DARK)


def _labels(plan: Plan, at: Places, units: Units) -> Iterator[Shape]:
    """The place of every line from the left edge: left walls in the upper row, right walls in the lower."""
    top = at.transfer_bottom + 1.0
    for line in plan.lines:
        x, low = at.x(line.x_end_mm), line.side == "right"
        foot = top + (13.0 if low else 0.0)
        yield stroke((x, top), (x, foot + 1.5), 0.1, MID)
        yield Text(_place(line.x_end_mm, units), (x + 1.0, foot + 2.5), _SMALL_MM, "end", upward=True)


def _place(x_mm: float, units: Units) -> str:
    return f"{x_mm:.2f}".rstrip("0").rstrip(".") if units == "mm" else format_size(x_mm, "inch").removesuffix(" in")


def _divider_marks(plan: Plan, at: Places, units: Units) -> Iterator[Shape]:
    """Two crosses one step apart, to set the dividers by."""
    y, left = at.marks + 6.0, at.x(0.0)
    step = f"divider step {format_size(plan.step_mm, units)}"
    yield from _span((left, y), plan.step_mm)
    yield Text(step, (left, y + 6.0), _SMALL_MM, grey=DARK)


def _scale(at: Places, units: Units) -> Iterator[Shape]:
    y, left = at.marks + 18.0, at.x(0.0)
    length = SCALE_MM[units]
    block = length / SCALE_BLOCKS
    yield merged(
        rectangle(left + i * block, y - 0.75, left + (i + 1) * block, y + 0.75) for i in range(0, SCALE_BLOCKS, 2)
    )
    words = f"check the print: {_place(length, units)} {'in' if units == 'inch' else 'mm'} long"
    yield Text(words, (left, y + 5.0), _SMALL_MM, grey=DARK)


def _span(start: Point, length_mm: float) -> Iterator[Area]:
    x, y = start
    yield stroke((x, y), (x + length_mm, y), LINE_MM, MID)
    ticks = (x, x + length_mm)
    yield merged(stroke((tick, y - _TICK_MM / 2.0), (tick, y + _TICK_MM / 2.0), LINE_MM) for tick in ticks)
