"""A board drawn on all its photos: every wall by one name and one colour in each, and the photo to doubt marked.

The photos stand below one another, each turned so that x runs to the right: a wall is sought at the same place in all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from vision.answer import sketch
from vision.answer.page import Head, Page, canvas_of, head, stacked, text_px
from vision.answer.palette import INK, LOOKS, MUTED, PAPER, Look, look_of
from vision.answer.result import socket_edges_mm
from vision.answer.sketch import Stroke, Text
from vision.answer.view import MARGIN_MM, View, cut_view, view_end
from vision.answer.words import Units, format_size
from vision.board.judge import BoardReport
from vision.board.views import ViewName
from vision.board.words import agreement_sentences, report_sentence
from vision.end.report import Measurement, narrowing
from vision.face.report import FaceKerf, FaceMeasurement
from vision.photo.photo import Photo

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

CARD_SHOWN_MM = 24.0
"""How much of the card is shown: enough to recognise it."""
NAME_IN_MM, NAME_DOWN_MM = 0.7, 3.0
"""How far a wall's name stands inside its tail, and inward from the edge of the end on a face."""
MARKER_OUT_MM = 3.0
"""How far outside the wood a socket's marker stands."""
TITLE_EMS, FRAME_EMS, GAP_EMS = 2.2, 0.3, 0.5

_TITLES: dict[ViewName, str] = {"end": "End", "show": "Show face", "transfer": "Transfer face"}
_DOUBTED, _ODD = LOOKS["splitting"], LOOKS["too close to call"]
_KEY = "Each wall bears one name in all photos: 1L and 1R are the left and right wall of tail 1."


@dataclass(frozen=True)
class _Line:
    """A wall as one photo shows it: its two ends (mm of that photo's frame), and where its name begins."""

    start: tuple[float, float]
    end: tuple[float, float]
    name_at: tuple[float, float]


@dataclass(frozen=True)
class _Panel:
    """What is drawn of one photo: its walls, the edges of the wood, and where the sockets' markers stand."""

    name: ViewName
    view: View
    walls: list[_Line]
    edges: list[tuple[tuple[float, float], tuple[float, float]]]
    markers: list[tuple[float, float]]


def draw_board_photos(
    photos: Mapping[ViewName, Photo], report: BoardReport, *, units: Units = "mm", card_side: str = "show"
) -> Pixels:
    """A picture (h, w, 3) of the board's photos below one another, with the result drawn on each.

    `photos` are those that were measured, `card_side` the face along which the card lies in the photo of the end.
    """
    panels = [_end_panel(photos["end"], report.end, card_side)]
    panels += [_face_panel(photos[face.view], face) for face in report.faces]
    width_px, em_px = panels[0].view.width_px, text_px(panels[0].view)
    parts = [_titled(_head(report, units, width_px, em_px), width_px)]
    parts += [_drawn(panel, report) for panel in panels]
    return stacked([*parts, _legend(report, width_px, em_px)], round(GAP_EMS * em_px))


def wall_label(tail: int, side: str) -> str:
    """A wall's short name, the tails counted from one: `2L` is the left wall of tail 2."""
    return f"{tail + 1}{side[0].upper()}"


def doubted_views(report: BoardReport) -> set[ViewName]:
    """The photos to mark: the one to doubt, or all of them when nothing tells which it is."""
    doubt = report.agreement.doubt
    if doubt == "either":
        return {"end", *(face.view for face in report.faces)}
    return set() if doubt is None else {doubt}


def odd_walls(report: BoardReport) -> set[tuple[ViewName, int]]:
    """Views and walls that two photos put in different places while they agree in all others."""
    return {
        (view, odd.wall)
        for one in report.agreement.comparisons
        for odd in one.odd
        if odd.wall is not None
        for view in (one.first, one.second)
    }


def _head(report: BoardReport, units: Units, width_px: int, em_px: int) -> Head:
    """Verdict, sizes, key, and whether the photos agree."""
    shape = report.shape
    width, thickness, depth = (format_size(size.value, units) for size in (shape.width, shape.thickness, shape.depth))
    sizes = f"{width} wide, {thickness} thick, baseline {depth} from the end."
    said = [f"{sizes} {_KEY}", *agreement_sentences(report, units)]
    below = [line for words in said for line in sketch.wrapped(words, em_px, width_px - 1.6 * em_px)]
    return head(report_sentence(report), below, width_px, em_px)


def _titled(title: Head, width_px: int) -> Pixels:
    picture = np.full((title.height_px, width_px, 3), PAPER, np.uint8)
    sketch.write(picture, title.texts)
    return picture


def _end_panel(photo: Photo, end: Measurement, card_side: str) -> _Panel:
    """The end: walls from the show face to the transfer face."""
    view = view_end(photo, end, card_reach_mm=CARD_SHOWN_MM if card_side == "show" else -CARD_SHOWN_MM)
    deep = end.thickness.value
    walls = []
    for wall in end.walls:
        inside = narrowing(wall.side) * NAME_IN_MM
        at = ((wall.x_show.value + wall.x_transfer.value) / 2 + inside, deep / 2)
        walls.append(_Line((wall.x_show.value, 0.0), (wall.x_transfer.value, deep), at))
    middles = [sum(edge) / 2 for edge in socket_edges_mm(end.walls, end.width.value)]
    edges = [((-2.0, y), (end.width.value + 2.0, y)) for y in (0.0, deep)]
    return _Panel("end", view, walls, edges, [(x, deep + MARKER_OUT_MM) for x in middles])


def _face_panel(photo: Photo, face: FaceMeasurement) -> _Panel:
    """A face: walls from the end to where their cuts stop, and the baseline."""
    width, left, right = (one.value for one in (face.width, face.baseline.depth_left, face.baseline.depth_right))
    reach = (-MARGIN_MM, width + MARGIN_MM), (-MARGIN_MM, max(left, right) + CARD_SHOWN_MM)
    view = cut_view(photo, face.to_image, *reach, up=_way_up(face, width, left))
    x = [0.0, *(kerf.x_at_end.value for kerf in face.kerfs), width]
    middles = [(a + b) / 2 for a, b in zip(x[0::2], x[1::2], strict=True)]
    edges = [((-2.0, 0.0), (width + 2.0, 0.0)), ((0.0, left), (width, right))]
    markers = [(middle, -MARKER_OUT_MM) for middle in middles]
    return _Panel(face.view, view, [_face_line(kerf) for kerf in face.kerfs], edges, markers)


def _way_up(face: FaceMeasurement, width: float, depth: float) -> Floats:
    """Two points of the face (2, 2) whose way is upward once x runs to the right."""
    corner, along, down = face.to_image(np.array([[0.0, 0.0], [width, 0.0], [0.0, depth]]))
    (ax, ay), (dx, dy) = along - corner, down - corner
    deeper_is_lower = ax * dy - ay * dx > 0.0
    return np.array([[0.0, depth], [0.0, 0.0]] if deeper_is_lower else [[0.0, 0.0], [0.0, depth]])


def _face_line(kerf: FaceKerf) -> _Line:
    way = narrowing(kerf.side)
    x, stop = kerf.x_at_end.value, kerf.stop_depth.value
    run = way * kerf.slope.value
    return _Line((x, 0.0), (x + run * stop, stop), (x + run * NAME_DOWN_MM + way * NAME_IN_MM, NAME_DOWN_MM))


def _drawn(panel: _Panel, report: BoardReport) -> Pixels:
    """The panel as a picture with its title above it, framed when it is in doubt."""
    em = text_px(panel.view)
    top_px = round(TITLE_EMS * em)
    page = Page(canvas_of(panel.view, top_px, 0), panel.view, top_px, em)
    for start, end in panel.edges:
        page.line(start, end, Stroke(INK, em / 14, (6.0, 4.0), 1.0))
    texts = [*_title(page, panel.name, report), *_draw_walls(page, panel, report), *_draw_markers(page, panel, report)]
    sketch.write(page.canvas, texts)
    if panel.name in doubted_views(report):
        _draw_frame(page)
    return page.canvas


def _title(page: Page, name: ViewName, report: BoardReport) -> Iterator[Text]:
    """The view's name, and what is wrong with its photo."""
    em, words = page.em_px, _TITLES[name]
    if name in doubted_views(report):
        centre = np.array([1.6 * em, 1.15 * em])
        sketch.draw_marker(page.canvas, centre, 0.55 * em, _DOUBTED)
        yield sketch.marker_sign(centre, 0.55 * em, _DOUBTED)
        words = f"{words}: {_doubt_words(name, report)}"
    left = 2.8 if name in doubted_views(report) else 0.8
    yield Text(words, (left * em, 0.5 * em), round(1.2 * em))


def _doubt_words(name: ViewName, report: BoardReport) -> str:
    if report.exchanged and name != "end":
        return "named as the other face?"
    if report.agreement.doubt == "either":
        return "this photo or another is wrong"
    return "doubt this photo; it was left out" if name == report.left_out else "doubt this photo"


def _draw_walls(page: Page, panel: _Panel, report: BoardReport) -> Iterator[Text]:
    """Every wall in its socket's colour and with its name; a sign where another photo has it elsewhere."""
    em, odd = page.em_px, odd_walls(report)
    for index, (line, wall) in enumerate(zip(panel.walls, report.end.walls, strict=True)):
        look = _look(report, (index + 1) // 2)
        page.line(line.start, line.end, Stroke(look.colour, em / 9, look.dash))
        at = page.at(*line.name_at)
        anchor = "lm" if wall.side == "left" else "rm"
        name = wall_label(wall.tail, wall.side)
        yield Text(name, (float(at[0]), float(at[1])), round(0.9 * em), PAPER, anchor, round(em / 9))
        if (panel.name, index) in odd:
            yield from _marked(page, line.start, _ODD)


def _draw_markers(page: Page, panel: _Panel, report: BoardReport) -> Iterator[Text]:
    """Every socket's verdict as a marker beside it."""
    for index, at in enumerate(panel.markers):
        yield from _marked(page, at, _look(report, index))


def _marked(page: Page, at_mm: tuple[float, float], look: Look) -> Iterator[Text]:
    centre = page.at(*at_mm)
    sketch.draw_marker(page.canvas, centre, 0.5 * page.em_px, look)
    yield sketch.marker_sign(centre, 0.5 * page.em_px, look)


def _look(report: BoardReport, socket: int) -> Look:
    return look_of(report.joint.sockets[socket].socket.verdict)


def _draw_frame(page: Page) -> None:
    """A frame around the panel, inside its borders."""
    height, width = page.canvas.shape[:2]
    inset = FRAME_EMS * page.em_px / 2
    x, y = (inset, width - 1 - inset), (inset, height - 1 - inset)
    corners = [np.array([x[a], y[b]]) for a, b in ((0, 0), (1, 0), (1, 1), (0, 1), (0, 0))]
    for start, end in pairwise(corners):
        sketch.draw_line(page.canvas, start, end, Stroke(_DOUBTED.colour, FRAME_EMS * page.em_px, (), 0.0))


def _legend(report: BoardReport, width_px: int, em_px: int) -> Pixels:
    """What the markers mean: the verdicts that occur, and the sign of a wall that photos put in different places."""
    strip = np.full((round(2.0 * em_px), width_px, 3), PAPER, np.uint8)
    looks = [(look, look.word) for word, look in LOOKS.items() if word in _verdicts(report)]
    if odd_walls(report):
        looks = [(look, words) for look, words in looks if look is not _ODD]
        looks.append((_ODD, "open; on a wall: photos differ"))
    texts, x = [], 1.4 * em_px
    for look, words in looks:
        centre = np.array([x, em_px])
        sketch.draw_marker(strip, centre, 0.5 * em_px, look)
        texts += [sketch.marker_sign(centre, 0.5 * em_px, look)]
        texts.append(Text(words, (x + 0.9 * em_px, float(em_px)), round(0.85 * em_px), MUTED, "lm"))
        x += 2.6 * em_px + sketch.text_width(words, round(0.85 * em_px))
    sketch.write(strip, texts)
    return strip


def _verdicts(report: BoardReport) -> set[str]:
    return {deep.socket.verdict for deep in report.joint.sockets}
