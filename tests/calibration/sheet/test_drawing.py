"""Shapes on a page, against closed forms."""

import math

import numpy as np
import pytest

from calibration.sheet.drawing import arrow, cells_area, cross, dashes, merged, rectangle, stroke

IDENTITY = 1e-12
"""Sums and products of a few numbers near 1, exact but for rounding; of numbers near 100 a thousand times as much."""


def signed_area(loop):
    x, y = np.array(loop).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def inside_even_odd(loops, x, y):
    crossings = 0
    for loop in loops:
        for (x0, y0), (x1, y1) in zip(loop, loop[1:] + loop[:1], strict=True):
            if (y0 <= y) != (y1 <= y):
                crossings += x < x0 + (y - y0) * (x1 - x0) / (y1 - y0)
    return crossings % 2 == 1


@pytest.mark.parametrize("seed", range(5))
def test_the_outline_of_cells_holds_the_dark_cells_and_no_others(seed):
    dark = np.random.default_rng(seed).random((7, 9)) < 0.5
    area = cells_area(dark, (3.0, -2.0), 0.5)
    filled = [[inside_even_odd(area.loops, 3.25 + 0.5 * x, -1.75 + 0.5 * y) for x in range(9)] for y in range(7)]
    np.testing.assert_array_equal(filled, dark)


def test_the_outline_of_cells_has_their_area():
    dark = np.random.default_rng(7).random((6, 11)) < 0.6
    total = sum(signed_area(loop) for loop in cells_area(dark, (0.0, 0.0), 1.5).loops)
    assert total == pytest.approx(1.5**2 * dark.sum(), abs=IDENTITY * 1000)


def test_cells_side_by_side_become_one_rectangle():
    (loop,) = cells_area(np.ones((2, 3), dtype=bool), (0.0, 0.0), 2.0).loops
    assert sorted(loop) == [(0, 0), (0, 4), (6, 0), (6, 4)]


def test_a_ring_of_cells_has_an_outer_and_an_inner_outline():
    ring = np.array([[1, 1, 1, 1], [1, 0, 0, 1], [1, 1, 1, 1]], dtype=bool)
    areas = sorted(signed_area(loop) for loop in cells_area(ring, (0.0, 0.0), 1.0).loops)
    assert areas == [-2.0, 12.0]


def test_a_rectangle_has_the_area_between_its_corners():
    (loop,) = rectangle(1.0, 2.0, 4.0, 10.0).loops
    assert signed_area(loop) == 24.0


def test_a_slanting_stroke_is_as_wide_as_asked_and_ends_at_its_ends():
    (loop,) = stroke((1.0, 1.0), (4.0, 5.0), 0.5).loops
    corners = np.array(loop)
    assert abs(signed_area(loop)) == pytest.approx(5 * 0.5, abs=IDENTITY)
    np.testing.assert_allclose((corners[0] + corners[3]) / 2, (1.0, 1.0), atol=IDENTITY)
    np.testing.assert_allclose((corners[1] + corners[2]) / 2, (4.0, 5.0), atol=IDENTITY)


def test_dashes_begin_and_finish_at_the_ends_of_the_line():
    marks = dashes((0.0, 0.0), (9.0, 12.0), 3, 0.1)
    first, last = np.array(marks[0].loops[0]), np.array(marks[-1].loops[0])
    assert len(marks) == 3
    np.testing.assert_allclose((first[0] + first[3]) / 2, (0.0, 0.0), atol=IDENTITY)
    np.testing.assert_allclose((last[1] + last[2]) / 2, (9.0, 12.0), atol=IDENTITY)
    assert math.dist(first[0], first[1]) == pytest.approx(15 / 5, abs=IDENTITY)


@pytest.mark.parametrize(("towards_y", "tail_y"), [(1, 2.0), (-1, 14.0)])
def test_an_arrow_has_its_tip_at_the_place_and_its_tail_behind(towards_y, tail_y):
    (loop,) = arrow((5.0, 8.0), towards_y, 6.0).loops
    assert loop[0] == (5.0, 8.0)
    assert {y for _, y in loop if abs(y - 8.0) > 3.5} == {tail_y}


def test_a_cross_is_two_strokes_that_share_their_middle():
    (loop,) = cross((10.0, 20.0), 3.5, 0.2).loops
    corners = np.array(loop)
    assert abs(signed_area(loop)) == pytest.approx(2 * 7.0 * 0.2 - 0.2**2, abs=IDENTITY * 1000)
    np.testing.assert_allclose(corners.min(axis=0), (6.5, 16.5), atol=IDENTITY)
    np.testing.assert_allclose(corners.max(axis=0), (13.5, 23.5), atol=IDENTITY)


def test_merged_areas_keep_every_loop_and_their_grey():
    both = merged([rectangle(0, 0, 1, 1, 0.5), rectangle(2, 0, 3, 1, 0.5)])
    assert len(both.loops) == 2
    assert both.grey == 0.5
