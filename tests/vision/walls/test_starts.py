"""Where the fits of a wall's picture begin."""

from __future__ import annotations

import numpy as np
import pytest

from vision.end.find_walls import RoughWall
from vision.walls.parts import EDGE, INK, LINE, LINE_WIDTH, SHADE
from vision.walls.shared import Overhead, nothing_known, with_changed
from vision.walls.starts import starts_of

WALL = RoughWall(1, "right", 40.0, 0.01, None)
OVERHEAD = Overhead(60.0, 300.0, 18.0)


@pytest.mark.parametrize(("shade", "expected"), [(0.7, [0.0, 0.1]), (0.0, [])])
def test_a_floor_much_darker_close_to_the_wall_may_be_a_line_beyond_which_the_edge_lies(
    shade: float, expected: list[float]
) -> None:
    """What is left of the tail beyond a line that begins where the edge was found."""
    found = with_changed(nothing_known().mean, (EDGE, 0.05), (SHADE, shade))
    starts = np.array(starts_of(WALL, found, nothing_known(), OVERHEAD, outermost=False))
    width = nothing_known().mean[LINE_WIDTH]
    begins_there = np.abs(starts[:, LINE] - width / 2.0 - 0.05) < 1e-9
    filled = starts[starts[:, INK].any(axis=1) & begins_there]
    # Each with the line on the floor in sight, too, and without.
    assert np.unique(filled[:, EDGE] - 0.05 - width) == pytest.approx(expected)
