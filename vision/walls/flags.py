"""What qualifies a measured wall: torn, rough, faint, a line beside it."""

from __future__ import annotations

import numpy as np

from vision.walls.measure import MeasuredWall
from vision.walls.parts import EDGE, INK, KERF, LINE

ROUGH_MM = 0.045
"""Scatter of the edge about its line, one standard deviation, from which a wall is called rough."""
TORN_MM = 0.12
"""Distance from the line from which a stretch of the edge is called torn."""
_TORN_POINTS = 2
_LINE_DARK = 0.25
_LINE_NEAR_MM = 0.5
FAINT_DEG = 0.2
"""Standard uncertainty of the direction from which a wall is called faint."""


def kerf_mm(wall: MeasuredWall) -> float | None:
    """Width of the kerf beside the wall, or None once the waste is gone or where a person placed the line."""
    return None if wall.wall.kerf_mm is None or wall.picture is None else float(wall.picture.parameters[KERF])


def flags_of(wall: MeasuredWall) -> tuple[str, ...]:
    """Keys of `outcome.FLAGS` that hold for the wall."""
    if wall.picture is None:
        return ("placed_by_hand",)
    torn = np.abs(wall.line.residuals(wall.y, wall.x)) > TORN_MM
    p = wall.picture.parameters
    holds = {
        "tear_out": int(torn.sum()) >= _TORN_POINTS,
        "line_beside": bool(p[INK].max() > _LINE_DARK and abs(p[LINE] - p[EDGE]) < _LINE_NEAR_MM),
        "rough": wall.line.scatter > ROUGH_MM,
        "faint_edge": np.degrees(wall.line.slope_u) > FAINT_DEG,
    }
    return tuple(name for name, true in holds.items() if true)
