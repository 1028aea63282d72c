"""The sketch by depth: what is black is what overlaps, everything lies on the page, one scale for all."""

import numpy as np
import pytest

from calibration.sheet.card_sheet import render_drawing
from calibration.sheet.drawing import BLACK, Area, Text
from calibration.sheet.pdf import text_width_mm
from tests.vision.faces import end_measurement, face_measurement, random_true_board, true_board
from vision.board.judge import judge_board
from vision.board.sketch import HEIGHT_MM, LINE_MM, PANEL_MM, WIDEST_MM, draw_board, magnification
from vision.joint.settling import wall_signs


def report(board):
    return judge_board(end_measurement(board), [face_measurement(board, view) for view in ("show", "transfer")])


def enclosed(loop):
    """The area that a loop encloses, mm2 (the shoelace formula)."""
    x, y = np.array(loop).T
    return abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2.0


def black_loops(drawing):
    """Loops in black but for the scale bar and its ends, which come first, and the pins' edges, lines of one size."""
    _, _, _, *areas = [shape for shape in drawing.shapes if isinstance(shape, Area) and shape.grey == BLACK]
    loops = [loop for area in areas for loop in area.loops]
    return [loop for loop in loops if abs(enclosed(loop) - HEIGHT_MM * LINE_MM) > 1e-6]


def test_the_black_area_is_what_overlaps_at_the_two_faces():
    board = true_board([0.1, 0.02, -0.1, -0.05], [-0.2, 0.05, 0.2, 0.0])
    made = report(board)
    times, shift = magnification(made), made.joint.prediction.settle_mm
    push = wall_signs(4) * shift
    depths = (np.arange(20000) + 0.5) / 20000
    ends = np.array([wall.overlap_at(0.0).value for wall in made.shape.walls])
    roots = np.array([wall.overlap_at(wall.depth_mm).value for wall in made.shape.walls])
    show = np.maximum(ends + np.outer(depths, roots - ends) + push, 0.0).mean(axis=0).sum()
    expected = times * HEIGHT_MM * (show + np.maximum(push, 0.0).sum())
    # The midpoint rule is good to 1e-8 here, times 50 mm times a magnification of at most 200.
    assert sum(enclosed(loop) for loop in black_loops(draw_board(made))) == pytest.approx(expected, abs=1e-3)


def test_errors_are_drawn_as_large_as_their_panels_allow():
    rng = np.random.default_rng(1)
    for _ in range(5):
        made = report(random_true_board(rng))
        loops = black_loops(draw_board(made))
        widths = [np.ptp(np.array(loop)[:, 0]) for loop in loops]
        assert max(widths) <= WIDEST_MM + 1e-9
    assert magnification(report(true_board([0.0] * 4, [0.0] * 4))) == 200
    assert magnification(report(true_board([0.0, 8.0, 0.0, 0.0], [0.0] * 4, pin_mm=30.0))) == 1


@pytest.mark.parametrize("tails", [1, 5])
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_everything_lies_on_the_page(tails, units):
    drawing = draw_board(report(true_board([0.1, -0.2] * tails, [0.1] * 2 * tails)), units)
    for shape in drawing.shapes:
        if isinstance(shape, Text):
            assert shape.at[0] + text_width_mm(shape) <= drawing.width_mm
            assert shape.at[1] <= drawing.height_mm
        else:
            points = np.concatenate([np.array(loop) for loop in shape.loops])
            assert (points >= 0.0).all()
            assert (points <= [drawing.width_mm, drawing.height_mm]).all()


def test_words_of_a_socket_stay_below_their_panel():
    drawing = draw_board(report(true_board([0.1, 0.2, 0.2, 0.1], [0.1] * 4)), "inch")
    said = [shape for shape in drawing.shapes if isinstance(shape, Text)][3:]
    assert {"left half pin", "pin between tails 1 and 2", "right half pin"} <= {text.words for text in said}
    assert all(text_width_mm(text) <= PANEL_MM for text in said)


def test_the_same_board_makes_the_same_file():
    board = true_board([0.1, 0.02, -0.1, -0.05], [-0.2, 0.05, 0.2, 0.0])
    assert render_drawing(draw_board(report(board)), "svg") == render_drawing(draw_board(report(board)), "svg")
