"""A sketch of every pin in its socket by depth, the errors drawn many times as large.

One column a socket, the end at the top and the baseline at the bottom: above as it shows at the show face, below at the
transfer face. Pins are drawn with upright sides, since slope changes nothing of the fit; what the walls do against them
is to be seen. Tails are grey, pins pale, wood that overlaps is black, a gap is white.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from calibration.sheet.drawing import BLACK, PALE, Area, Drawing, Loop, Point, Shape, Text, rectangle, stroke
from vision.answer.words import Units, format_error, format_size, socket_name
from vision.board.judge import BoardReport
from vision.joint.settling import wall_signs

PANEL_MM, HEIGHT_MM, APART_MM, MARGIN_MM = 46.0, 50.0, 6.0, 12.0
"""A panel's width and height, what lies between panels and around them, in mm of the page."""
PIN_MM = 20.0
WIDEST_MM = 9.0
"""How wide the largest error is drawn at most: three quarters of what is left of a panel beside its pin."""
PIN_GREY = 0.87
LINE_MM, TEXT_MM = 0.25, 3.0
MAGNIFICATIONS = (200, 100, 50, 20, 10, 5, 2, 1)

_NAME = "Pins in their sockets by depth"
_BARS_MM = (2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
"""What a scale bar may stand for."""
_TITLE_MM, _LEAST_MM = 32.0, 150.0
_BELOW_MM = 8.0
_ROWS = ("show", "transfer")


@dataclass(frozen=True)
class _Side:
    """One wall of a socket at one face: how far it reaches into the pin at end and baseline (mm), and on which side."""

    at_end: float
    at_root: float
    left: bool


def draw_board(report: BoardReport, units: Units = "mm") -> Drawing:
    """The sketch of all sockets as a page of its own size."""
    sockets = len(report.joint.sockets)
    width = 2 * MARGIN_MM + max(sockets * (PANEL_MM + APART_MM) - APART_MM, _LEAST_MM)
    height = 2 * MARGIN_MM + _TITLE_MM + 2 * (HEIGHT_MM + _BELOW_MM)
    times = magnification(report)
    shapes: list[Shape] = [*_title(report, times, units)]
    for index in range(sockets):
        left = MARGIN_MM + index * (PANEL_MM + APART_MM)
        shapes += _column(report, index, left, times, units)
    return Drawing(_NAME, width, height, tuple(shapes))


def magnification(report: BoardReport) -> int:
    """How many times as large errors are drawn: the largest round number that leaves them in their panels."""
    largest = max(max(abs(s.at_end), abs(s.at_root)) for s in _all_sides(report))
    return next((times for times in MAGNIFICATIONS if largest * times <= WIDEST_MM), MAGNIFICATIONS[-1])


def _all_sides(report: BoardReport) -> Iterator[_Side]:
    for index in range(len(report.joint.sockets)):
        for face in _ROWS:
            yield from _sides(report, index, face)


def _sides(report: BoardReport, index: int, face: str) -> list[_Side]:
    """The walls of socket `index` at a face, once the boards have settled; half pins have one."""
    walls, shape = report.shape.walls, report.shape
    pushes = wall_signs(len(walls)) * report.joint.prediction.settle_mm
    sides = []
    for wall in (2 * index - 1, 2 * index):
        if 0 <= wall < len(walls):
            reach = [walls[wall].overlap_at(z).value if face == "show" else 0.0 for z in (0.0, shape.depth.value)]
            sides.append(_Side(reach[0] + pushes[wall], reach[1] + pushes[wall], left=wall % 2 == 1))
    return sides


def _title(report: BoardReport, times: int, units: Units) -> Iterator[Shape]:
    depth = format_size(report.shape.depth.value, units)
    yield Text(_NAME, (MARGIN_MM, MARGIN_MM + 5.0), 5.0, bold=True)
    said = (
        f"End at the top, baseline {depth} below it. Errors {times} times as large.",
        "Grey: tails. Pale: pins. Black: wood that overlaps. White: a gap.",
    )
    for line, words in enumerate(said):
        yield Text(words, (MARGIN_MM, MARGIN_MM + 10.0 + 4.0 * line), TEXT_MM)
    yield from _scale_bar(times, units)


def _scale_bar(times: int, units: Units) -> Iterator[Shape]:
    """A round error, as large as errors are drawn, with what it stands for beside it."""
    error_mm = next((bar for bar in _BARS_MM if bar * times <= WIDEST_MM), _BARS_MM[-1])
    left, y = MARGIN_MM + _LEAST_MM - 30.0, MARGIN_MM + 4.0
    right = left + error_mm * times
    yield stroke((left, y), (right, y), 2 * LINE_MM)
    for end in (left, right):
        yield stroke((end, y - 1.0), (end, y + 1.0), LINE_MM)
    yield Text(format_error(error_mm, units), (right + 1.5, y + 0.35 * TEXT_MM), TEXT_MM)


def _column(report: BoardReport, index: int, left: float, times: int, units: Units) -> Iterator[Shape]:
    """One socket's two panels, below its name and its verdict."""
    socket, top = report.joint.sockets[index].socket, MARGIN_MM + _TITLE_MM
    gap, squeeze = (format_error(one.value, units) for one in (socket.gap, socket.squeeze))
    yield Text(socket_name(index, len(report.joint.sockets)), (left, top - 1.2 - 2.8 * TEXT_MM), TEXT_MM, bold=True)
    for line, words in enumerate((f"gap {gap}, squeeze {squeeze}", socket.verdict)):
        yield Text(words, (left, top - 1.2 - 1.4 * line * TEXT_MM), TEXT_MM)
    for row, face in enumerate(_ROWS):
        top = MARGIN_MM + _TITLE_MM + row * (HEIGHT_MM + _BELOW_MM)
        yield from _panel(_sides(report, index, face), left, top, times)
        yield Text(f"at the {face} face", (left, top + HEIGHT_MM + TEXT_MM + 0.6), TEXT_MM)


def _panel(sides: list[_Side], left: float, top: float, times: int) -> Iterator[Area]:
    """A pin between its tails at one face."""
    centre = left + PANEL_MM / 2
    edges = [centre - PIN_MM / 2, centre + PIN_MM / 2]
    alone = {side.left for side in sides}
    pin_left = edges[0] if True in alone else left
    pin_right = edges[1] if False in alone else left + PANEL_MM
    yield rectangle(pin_left, top, pin_right, top + HEIGHT_MM, PIN_GREY)
    for side in sides:
        yield from _wall(side, edges[0] if side.left else edges[1], left if side.left else left + PANEL_MM, top, times)


def _wall(side: _Side, edge: float, border: float, top: float, times: int) -> Iterator[Area]:
    """A tail from the panel's border to its wall, what of it overlaps the pin, and the pin's own edge."""
    inward = times * (1.0 if side.left else -1.0)
    bottom = top + HEIGHT_MM
    wall = ((edge + inward * side.at_end, top), (edge + inward * side.at_root, bottom))
    yield Area(((wall[0], (border, top), (border, bottom), wall[1]),), PALE)
    overlap = _overlap_loop(side, edge, inward, top)
    if overlap is not None:
        yield Area((overlap,), BLACK)
    yield stroke((edge, top), (edge, bottom), LINE_MM)


def _overlap_loop(side: _Side, edge: float, inward: float, top: float) -> Loop | None:
    """Where the wall reaches past the pin's edge: a triangle or a quadrangle; None where it never does."""
    ends = (max(side.at_end, 0.0), max(side.at_root, 0.0))
    if max(ends) == 0.0:
        return None
    bottom = top + HEIGHT_MM
    start, stop = top, bottom
    if min(side.at_end, side.at_root) < 0.0:
        turn = top + HEIGHT_MM * side.at_end / (side.at_end - side.at_root)
        start, stop = (top, turn) if side.at_end > 0.0 else (turn, bottom)
    points: list[Point] = [
        (edge, start),
        (edge + inward * ends[0], start),
        (edge + inward * ends[1], stop),
        (edge, stop),
    ]
    return tuple(dict.fromkeys(points))
