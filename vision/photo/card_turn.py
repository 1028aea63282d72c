"""The card turned: which of its edges faces the board, and how the board is looked for beyond it.

The search for the end knows the board beyond the card's bottom edge only. A turned card is shown to it as if that edge
were the bottom, and what it finds is told in the card's own frame again, so that the card's errors keep their signs.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.camera.model import rotation_matrix, rotation_vector
from calibration.card import Card
from calibration.plane import POSE, PlaneMap
from vision.photo.strip import Frame

Floats = NDArray[np.float64]

BOTTOM, RIGHT, TOP, LEFT = range(4)
"""The card's edges, as quarter turns of the card by which each comes to face the board."""
UNUSUAL = (TOP, RIGHT, LEFT)
"""The edges looked beyond when nothing is found where the arrow points, the likeliest first."""


class Facing(NamedTuple):
    """The card as the search sees it, one edge at the bottom: `plane` maps its points, `frame` tells where it lies.

    Beside a short edge the card counts as wide as it is long, since the board still is.
    """

    plane: PlaneMap
    card: Card
    frame: Frame

    @classmethod
    def by(cls, plane: PlaneMap, card: Card, edge: int) -> Facing:
        """The card of `plane` with `edge` (quarter turns) facing the board."""
        seen = card if edge % 2 == 0 else replace(card, squares_y=card.squares_x)
        middle = np.array([card.width_mm, card.height_mm]) / 2.0
        turned = Frame.turned(middle, -edge * np.pi / 2.0)
        reach = card.height_mm / 2.0 if edge % 2 == 0 else card.width_mm / 2.0
        origin = turned.to_plane(np.array([[-seen.width_mm / 2.0, reach - seen.height_mm]]))[0]
        frame = replace(turned, origin=origin)
        return cls(_seen_in(plane, frame), seen, frame)

    @property
    def foot(self) -> Floats:
        """The middle (2,) of the squares' edge that faces the board, in the card's own frame (mm, as printed)."""
        middle = np.array([[self.card.width_mm / 2.0, self.card.height_mm]])
        return self.frame.to_plane(self.plane.card.true_points(middle))[0]

    def to_card(self, found: Frame) -> Frame:
        """A frame of the search, in the card's own frame."""
        axes = np.column_stack([self.frame.right, self.frame.down])
        origin = self.frame.to_plane(found.origin[None])[0]
        return Frame(origin, axes @ found.right, axes @ found.down)


def _seen_in(plane: PlaneMap, frame: Frame) -> PlaneMap:
    """The map of `plane` for points told in `frame`; its covariance stays that of the card's own frame."""
    matrix = rotation_matrix(plane.theta[:3])
    turn = np.eye(3)
    turn[:2, :2] = np.column_stack([frame.right, frame.down])
    theta = plane.theta.copy()
    theta[POSE] = np.concatenate([rotation_vector(matrix @ turn), plane.theta[3:6] + matrix[:, :2] @ frame.origin])
    return plane.with_theta(theta)


def quarter_turns(frame: Frame) -> int:
    """Quarter turns (0 to 3) from the end's axes to the card's, of an end `frame` told in the card's frame.

    The half turn of an end whose card lies along the transfer face counts as well.
    """
    angle = -np.arctan2(frame.right[1], frame.right[0])
    return int(np.rint(angle / (np.pi / 2.0))) % 4
