"""The end's frame laid along its two face edges: the show-face edge as datum, steadied by the one parallel to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from vision.end.face_edges import FaceEdge
from vision.end.report import CardSide
from vision.photo.strip import Frame

BOARD_UNPARALLEL_U = np.radians(0.02)
"""How far from parallel the faces of a planed board are, one standard deviation (common practice, no source)."""
_EDGE_DIRECTION_U = np.radians(0.003)
"""What the edge model leaves in a face edge's direction, one standard deviation."""


@dataclass(frozen=True)
class Laid:
    """The end's frame and thickness (mm) as two face edges have them: x along the one at y = 0, y toward the other.

    `direction_u` (rad) is the datum's standard uncertainty, `unparallel` (rad) the edges' angle with its own.
    """

    frame: Frame
    thickness: float
    thickness_u: float
    direction_u: float
    unparallel: float
    unparallel_u: float

    @classmethod
    def by(cls, search: Frame, near: FaceEdge, far: FaceEdge, side: CardSide) -> Laid:
        """By edges told in their `search` frame, the one nearer to the card at y = 0, whichever face's it is."""
        slope, direction_u = _datum_slope(near, far) if side == "show" else _datum_slope(far, near)
        middle = float(np.median(near.x))
        return cls(
            search.moved(0.0, near.line.at(0.0), float(np.arctan(slope))),
            (far.line.at(middle) - near.line.at(middle)) * float(np.cos(np.arctan(slope))),
            float(np.hypot(near.line.u_at(middle), far.line.u_at(middle))),
            direction_u,
            float(np.arctan(far.line.slope) - np.arctan(near.line.slope)),
            float(np.hypot(near.line.slope_u, far.line.slope_u)),
        )


def _datum_slope(show: FaceEdge, transfer: FaceEdge) -> tuple[float, float]:
    """Slope of the datum and its standard uncertainty: the show-face edge, steadied by the edge parallel to it."""
    show_u = np.hypot(show.line.slope_u, _EDGE_DIRECTION_U)
    transfer_u = np.sqrt(transfer.line.slope_u**2 + _EDGE_DIRECTION_U**2 + BOARD_UNPARALLEL_U**2)
    weights = np.array([show_u**-2.0, transfer_u**-2.0])
    slope = float(weights @ [show.line.slope, transfer.line.slope] / weights.sum())
    return slope, float(weights.sum() ** -0.5)
