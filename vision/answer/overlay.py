"""The result drawn on the photo: walls, datum, sockets with their verdicts, and leans large enough to be seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibration.card import CARDS
from vision.answer import sketch
from vision.answer.page import BESIDE_SCALE, Head, Page, block_rows, canvas_of, head, middles, scale_bar, text_px
from vision.answer.palette import INK, MUTED, PAPER, Look, look_of
from vision.answer.result import Report, socket_edges_mm
from vision.answer.sketch import Stroke, Text
from vision.answer.view import View, view_end
from vision.answer.words import Units, board_sentence, format_error, format_size, socket_name
from vision.end.report import Measurement, Wall
from vision.joint.seating import Socket
from vision.photo.photo import Photo

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

EXAGGERATIONS = (20, 10, 5, 2, 1)
LARGEST_DRAWN_MM = 4.0
"""How far an exaggerated wall may run from square before a smaller factor is taken."""
LEAST_APART_MM = 0.8
"""How near two exaggerated walls may come to each other."""
CARD_REACH_SPARE_MM = 7.0
"""Room for the card's margin and the gap between card and end."""
MARKER_DROP_MM = 4.4
"""From the transfer face down to the middle of a socket's marker."""
BLOCK_EMS = 4.4
"""Height of a socket's block of words, in text sizes."""
LONGEST_WORDS = "squeeze up to 0.000 mm"


@dataclass(frozen=True)
class _Drawing(Page):
    """One overlay in the making: leans are drawn `factor` times as large, each socket's words stand in its row."""

    factor: int
    rows: Sequence[int]


def draw_overlay(photo: Photo, report: Report, *, units: Units = "mm", card_side: str = "show") -> Pixels:
    """A picture (h, w, 3) of the end and its card with the verdict over it and the result drawn on it.

    `card_side` says along which face, `show` or `transfer`, the card lies. The photo itself is not touched.
    """
    drawing, texts = _blank(photo, report, units, card_side)
    _draw_squares(drawing, report)
    _draw_walls(drawing, report)
    _ring_placed(drawing, report.measurement)
    texts += _draw_sockets(drawing, report, units) + _name_tails(drawing, report.measurement)
    sketch.write(drawing.canvas, texts)
    return drawing.canvas


def exaggeration(walls: Sequence[Wall]) -> int:
    """How many times larger to draw the leans: the most at which no wall runs far or comes near its neighbour."""
    return next((factor for factor in EXAGGERATIONS if _drawable(walls, factor)), 1)


def _drawable(walls: Sequence[Wall], factor: int) -> bool:
    runs = [factor * wall.out_of_square.value for wall in walls]
    ends = [wall.x_transfer.value - run for wall, run in zip(walls, runs, strict=True)]
    apart = all(right - left >= LEAST_APART_MM for left, right in pairwise(ends))
    return apart and max(map(abs, runs), default=0.0) <= LARGEST_DRAWN_MM


def _blank(photo: Photo, report: Report, units: Units, card_side: str) -> tuple[_Drawing, list[Text]]:
    """The photo's part on paper, with as much room above and below as the words need; the words above."""
    measurement = report.measurement
    view = view_end(photo, measurement, card_reach_mm=card_reach_mm(measurement, card_side))
    em_px, factor = text_px(view), exaggeration(measurement.walls)
    above = _head(report, units, factor, em_px, view.width_px)
    leaders = [float(x) for x in view.place(_marks_mm(measurement))[:, 0]]
    rows = block_rows(leaders, _middles(view, measurement, em_px), _block_px(em_px))
    canvas = canvas_of(view, above.height_px, round((0.7 + (max(rows) + 1) * BLOCK_EMS) * em_px))
    drawing = _Drawing(canvas, view, above.height_px, em_px, factor, rows)
    return drawing, above.texts + scale_bar(drawing, units)


def card_reach_mm(measurement: Measurement, card_side: str) -> float:
    """How far the card reaches out from the show face; negative when it lies along the transfer face."""
    reach_mm = CARDS[measurement.card.kind].height_mm + CARD_REACH_SPARE_MM
    return reach_mm if card_side == "show" else -reach_mm


def _head(report: Report, units: Units, factor: int, em_px: int, width_px: int) -> Head:
    """The verdict, the board and the key to the drawing."""
    measurement = report.measurement
    sizes = [format_size(size.value, units) for size in (measurement.width, measurement.thickness)]
    key = f"White: walls.  Black dashes: square.  Colour: leans drawn {factor} times as large."
    below = (f"{sizes[0]} wide, {sizes[1]} thick, {measurement.stage}", key, *_by_hand(measurement))
    return head(board_sentence(report.prediction), below, width_px, em_px, room=BESIDE_SCALE)


def _by_hand(measurement: Measurement) -> tuple[str, ...]:
    """That a person corrected the walls; nothing for an answer as the program gave it."""
    if not measurement.corrections:
        return ()
    rings = "  Rings: ends placed by hand." if measurement.corrections.placed else ""
    return (f"Corrected: these walls are not as the program found them.{rings}",)


def _ring_placed(drawing: _Drawing, measurement: Measurement) -> None:
    """A ring round both ends of every wall that was placed by hand."""
    for index in measurement.corrections.placed:
        wall = measurement.walls[index]
        stroke = Stroke(INK, drawing.em_px / 10, (), 1.0)
        for end in ((wall.x_show.value, 0.0), (wall.x_transfer.value, measurement.thickness.value)):
            sketch.draw_ring(drawing.canvas, drawing.at(*end), 0.4 * drawing.em_px, stroke)


def _draw_squares(drawing: _Drawing, report: Report) -> None:
    """The datum, and for every wall the line square to it through the point that the pin is scribed from."""
    measurement = report.measurement
    width_mm, deep_mm = measurement.width.value, measurement.thickness.value
    thin = drawing.em_px / 14
    drawing.line((-3.0, 0.0), (width_mm + 3.0, 0.0), Stroke(INK, thin))
    for wall in measurement.walls:
        x_mm = wall.x_transfer.value
        dashes = Stroke(INK, thin, (4.0, 4.0), 1.0)
        drawing.line((x_mm, deep_mm), (x_mm, -1.5), dashes)


def _draw_walls(drawing: _Drawing, report: Report) -> None:
    """Every wall where it is, and its lean `factor` times larger as a wedge in its socket's colour."""
    deep_mm = report.measurement.thickness.value
    for index, wall in enumerate(report.measurement.walls):
        look = look_of(report.prediction.sockets[(index + 1) // 2].verdict)
        root = drawing.at(wall.x_transfer.value, deep_mm)
        square = drawing.at(wall.x_transfer.value, 0.0)
        leaning = drawing.at(wall.x_transfer.value - drawing.factor * wall.out_of_square.value, 0.0)
        sketch.fill(drawing.canvas, np.array([root, square, leaning]), look.colour, 0.55)
        sketch.draw_line(drawing.canvas, root, leaning, Stroke(look.colour, drawing.em_px / 9, look.dash))
        real = drawing.at(wall.x_show.value, 0.0)
        sketch.draw_line(drawing.canvas, root, real, Stroke(PAPER, drawing.em_px / 16, (), 1.0))


def _draw_sockets(drawing: _Drawing, report: Report, units: Units) -> list[Text]:
    """A bar, a marker and a block of words for every socket, the words in the room below the picture."""
    sockets, limit_mm = report.prediction.sockets, report.prediction.limits.gap_mm
    texts: list[Text] = []
    for place, socket in zip(_places(drawing, report.measurement), sockets, strict=True):
        words = (_short_name(socket.index, len(sockets)), _amount(socket, limit_mm, units))
        texts += _draw_socket(drawing, place, look_of(socket.verdict), *words)
    return texts


def _short_name(index: int, sockets: int) -> str:
    return socket_name(index, sockets).removeprefix("pin ")


def _name_tails(drawing: _Drawing, measurement: Measurement) -> list[Text]:
    """`tail 1` and so on, in the middle of each tail."""
    em, walls = drawing.em_px, measurement.walls
    texts = []
    for left, right in zip(walls[0::2], walls[1::2], strict=True):
        middle_mm = (left.x_transfer.value + right.x_transfer.value) / 2
        at = drawing.at(middle_mm, measurement.thickness.value / 2)
        texts.append(Text(f"tail {left.tail + 1}", (float(at[0]), float(at[1])), em, PAPER, "mm", round(em / 9)))
    return texts


@dataclass(frozen=True)
class _Place:
    """Where one socket is drawn: its ends at the transfer face, its marker, and the middle top of its words (px)."""

    ends: tuple[Floats, Floats]
    marker: Floats
    words: Floats


def _places(drawing: _Drawing, measurement: Measurement) -> list[_Place]:
    """Places for all sockets, their words in rows that keep them apart."""
    em, deep_mm = drawing.em_px, measurement.thickness.value
    top_px = drawing.below_px + 0.7 * em
    middles_px = _middles(drawing.view, measurement, em)
    places = []
    for edge, middle, row in zip(_edges(measurement), middles_px, drawing.rows, strict=True):
        ends = (drawing.at(edge[0], deep_mm + 0.8), drawing.at(edge[1], deep_mm + 0.8))
        marker = drawing.at(sum(edge) / 2, deep_mm + MARKER_DROP_MM)
        places.append(_Place(ends, marker, np.array([middle, top_px + row * BLOCK_EMS * em])))
    return places


def _edges(measurement: Measurement) -> list[tuple[float, float]]:
    return socket_edges_mm(measurement.walls, measurement.width.value)


def _middles(view: View, measurement: Measurement, em_px: int) -> list[float]:
    """Where each socket's words are centred (px)."""
    return middles(view, _marks_mm(measurement), _block_px(em_px))


def _marks_mm(measurement: Measurement) -> Floats:
    """The middle of every socket's marker (n, 2) in the end frame."""
    low_mm = measurement.thickness.value + MARKER_DROP_MM
    return np.array([[sum(edge) / 2, low_mm] for edge in _edges(measurement)])


def _block_px(em_px: int) -> float:
    return sketch.text_width(LONGEST_WORDS, em_px) + 0.8 * em_px


def _draw_socket(drawing: _Drawing, place: _Place, look: Look, name: str, amount: str) -> list[Text]:
    em, (x, y) = drawing.em_px, map(float, place.words)
    clear = round(em / 5)  # keeps another socket's leader off the words
    leader = Stroke(MUTED, em / 16, (), 0.0)
    sketch.draw_line(drawing.canvas, place.marker, np.array([place.marker[0], y - 0.15 * em]), leader)
    sketch.draw_line(drawing.canvas, *place.ends, Stroke(look.colour, em / 5, look.dash))
    sketch.draw_marker(drawing.canvas, place.marker, 0.62 * em, look)
    return [
        sketch.marker_sign(place.marker, 0.62 * em, look),
        Text(name, (x, y), round(0.85 * em), MUTED, "ma", clear),
        Text(look.word.upper(), (x, y + 1.2 * em), em, INK, "ma", clear),
        Text(amount, (x, y + 2.5 * em), em, MUTED, "ma", clear),
    ]


def _amount(socket: Socket, gap_limit_mm: float, units: Units) -> str:
    """What the verdict rests on; while it is open, the worst that the photo leaves possible."""
    if socket.verdict == "too close to call":
        gap_mm, squeeze_mm = socket.gap_possible_mm[1], socket.squeeze_possible_mm[1]
        tight = squeeze_mm / socket.squeeze_limit_mm > gap_mm / gap_limit_mm
        return f"{_which(tight)} up to {format_error(squeeze_mm if tight else gap_mm, units)}"
    tight = socket.verdict == "splitting" or (socket.verdict == "seats" and socket.squeeze.value > socket.gap.value)
    return f"{_which(tight)} {format_error(socket.squeeze.value if tight else socket.gap.value, units)}"


def _which(tight: bool) -> str:
    return "squeeze" if tight else "gap"
