"""A face's result drawn on its photo: the end's edge, the baseline, every cut's line, and where it stops."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.answer import sketch
from vision.answer.page import Head, Page, canvas_of, head, middles, rows_needed, text_px
from vision.answer.palette import INK, LOOKS, MUTED, PAPER, Look
from vision.answer.sketch import Stroke, Text
from vision.answer.view import MARGIN_MM, View, cut_view
from vision.answer.words import Units, format_error, format_size
from vision.end.report import narrowing
from vision.face.report import FaceKerf, FaceMeasurement, StopVerdict
from vision.face.words import face_sentence, ratio_text, stop_words
from vision.photo.photo import Photo

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

CARD_SHOWN_MM = 32.0
"""How far below the baseline the picture reaches: enough to recognise the card."""
BLOCK_EMS, MOST_WORDS = 4.2, "tail 10 right"
_ALIKE: dict[StopVerdict, str] = {
    "at the baseline": "seats",
    "past the baseline": "splitting",
    "stops short": "loose",
    "too close to call": "too close to call",
}
"""A face's verdicts look like the sockets': good, a flaw, not yet, open."""


@dataclass(frozen=True)
class _Drawing(Page):
    """One overlay in the making: words stand in so many `rows`."""

    rows: int


def look_of_stop(verdict: StopVerdict) -> Look:
    """The look of where a cut stops."""
    return replace(LOOKS[_ALIKE[verdict]], word=verdict)


def draw_face(photo: Photo, measurement: FaceMeasurement, *, units: Units = "mm") -> Pixels:
    """A picture (h, w, 3) of the face, its card at the top, with the result drawn on it."""
    drawing, texts = _blank(photo, measurement, units)
    _draw_lines(drawing, measurement)
    texts += [
        text for number in range(len(measurement.kerfs)) for text in _draw_kerf(drawing, measurement, number, units)
    ]
    sketch.write(drawing.canvas, texts)
    return drawing.canvas


def _blank(photo: Photo, measurement: FaceMeasurement, units: Units) -> tuple[_Drawing, list[Text]]:
    """The photo's part on paper with room for words above and below it, and the words above."""
    width, depth = measurement.width.value, measurement.baseline.depth_left.value
    reach = (-MARGIN_MM, width + MARGIN_MM), (-MARGIN_MM, depth + CARD_SHOWN_MM)
    view = cut_view(photo, measurement.to_image, *reach, up=np.array([[0.0, 0.0], [0.0, depth]]))
    em_px = text_px(view)
    above = _head(measurement, units, em_px, view.width_px)
    rows = rows_needed(sorted(_middles(view, measurement)), sketch.text_width(MOST_WORDS, em_px))
    canvas = canvas_of(view, above.height_px, round((0.7 + rows * BLOCK_EMS) * em_px))
    return _Drawing(canvas, view, above.height_px, em_px, rows), above.texts


def _head(measurement: FaceMeasurement, units: Units, em_px: int, width_px: int) -> Head:
    """The verdict, the board and the key to the drawing."""
    size = format_size(measurement.width.value, units)
    limit = format_error(measurement.past_limit_mm, units)
    key = f"White: cuts.  Black dashes: baseline.  Past or short counts from {limit}."
    below = (f"{measurement.view.capitalize()} face, {size} wide, {measurement.stage}", key)
    return head(face_sentence(measurement, units), below, width_px, em_px)


def _draw_lines(drawing: _Drawing, measurement: FaceMeasurement) -> None:
    """The end's edge, the board's long edges and the baseline."""
    width, baseline, thin = measurement.width.value, measurement.baseline, drawing.em_px / 14
    left, right = baseline.depth_left.value, baseline.depth_right.value
    edges = [((-3.0, 0.0), (width + 3.0, 0.0)), ((0.0, 0.0), (0.0, left)), ((width, 0.0), (width, right))]
    for start, end in edges:
        drawing.line(start, end, Stroke(INK, thin))
    dashes = Stroke(INK, thin, (6.0, 4.0), 1.0)
    drawing.line((0.0, left), (width, right), dashes)


def _draw_kerf(drawing: _Drawing, measurement: FaceMeasurement, number: int, units: Units) -> list[Text]:
    """One cut's line, the stretch past or short of the baseline, its marker, and its words below."""
    kerf, em = measurement.kerfs[number], drawing.em_px
    look, stop = look_of_stop(kerf.verdict), kerf.stop_depth.value
    end, stopped, line = (drawing.at(_x(kerf, depth), depth) for depth in (0.0, stop, stop - kerf.past_baseline.value))
    sketch.draw_line(drawing.canvas, end, stopped, Stroke(PAPER, em / 14, (), 1.0))
    sketch.draw_line(drawing.canvas, line, stopped, Stroke(look.colour, em / 5, look.dash))
    along = (stopped - end) / max(float(np.hypot(*(stopped - end))), 1.0)
    marker = stopped + along * 0.9 * em
    sketch.draw_marker(drawing.canvas, marker, 0.5 * em, look)
    return [sketch.marker_sign(marker, 0.5 * em, look), *_words(drawing, measurement, number, end, units)]


def _words(drawing: _Drawing, measurement: FaceMeasurement, number: int, end: Floats, units: Units) -> list[Text]:
    kerf, em = measurement.kerfs[number], drawing.em_px
    middle = _middles(drawing.view, measurement)[number]
    rank = int(np.argsort(np.argsort(_middles(drawing.view, measurement)))[number])
    row = drawing.rows - 1 - rank % drawing.rows
    y = drawing.below_px + (0.6 + row * BLOCK_EMS) * em
    leader = Stroke(MUTED, em / 16, (), 0.0)
    sketch.draw_line(drawing.canvas, end + np.array([0.0, 0.5 * em]), np.array([middle, y - 0.15 * em]), leader)
    lines = (
        (f"tail {kerf.tail + 1} {kerf.side}", 0.85, MUTED),
        (stop_words(kerf, units), 0.95, INK),
        (f"{ratio_text(kerf.slope.value)}  {kerf.slope_deg.value:.1f}°", 0.85, MUTED),
    )
    clear = round(em / 5)
    return [
        Text(words, (middle, y + index * 1.15 * em), round(size * em), colour, "ma", clear)
        for index, (words, size, colour) in enumerate(lines)
    ]


def _x(kerf: FaceKerf, depth_mm: float) -> float:
    """The wall's place at a depth, mm."""
    return kerf.x_at_end.value + narrowing(kerf.side) * kerf.slope.value * depth_mm


def _middles(view: View, measurement: FaceMeasurement) -> list[float]:
    """Where each cut's words are centred (px)."""
    points = np.array([[kerf.x_at_end.value, 0.0] for kerf in measurement.kerfs])
    return middles(view, points, sketch.text_width(MOST_WORDS, text_px(view)))
