"""The printed reference card: a ChArUco board beside the end that gives every pixel its millimetres.

Two sizes exist, told apart by their marker ids. All positions are millimetres in the card frame: origin at the top left
corner of the squares, x to the right, y down, towards the edge that lies against the show face.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

DICTIONARY_NAME = "DICT_5X5_250"
"""Name of the marker dictionary in `cv2.aruco`."""

MARKER_CELLS = 7
"""Cells along a marker's side: five of code and one of black border at each end."""

MARGIN_MM = 3.5
"""White between the squares and the nearest cut edge, mm."""


@dataclass(frozen=True)
class Card:
    """One size of card: `squares_x` by `squares_y` squares, its top left one black, a marker in each white one.

    `max_board_mm` is the width of the widest board that the card serves. Raises ValueError when the board has fewer
    than two squares either way, or a marker does not fit within its square.
    """

    kind: str
    squares_x: int
    squares_y: int
    square_mm: float
    marker_mm: float
    first_id: int
    max_board_mm: float

    def __post_init__(self) -> None:
        if min(self.squares_x, self.squares_y) < 2:
            raise ValueError(f"squares_x and squares_y must be at least 2, got {self.squares_x} and {self.squares_y}")
        if not 0 < self.marker_mm < self.square_mm:
            raise ValueError(f"marker_mm must lie between 0 and square_mm, got {self.marker_mm} of {self.square_mm}")

    @property
    def width_mm(self) -> float:
        """Width of the squares, without the white margin, mm."""
        return self.squares_x * self.square_mm

    @property
    def height_mm(self) -> float:
        """Height of the squares, without the white margin, mm."""
        return self.squares_y * self.square_mm

    @property
    def marker_squares(self) -> tuple[tuple[int, int], ...]:
        """(column, row) of every white square, row by row: the squares that carry a marker."""
        cells = ((x, y) for y in range(self.squares_y) for x in range(self.squares_x))
        return tuple((x, y) for x, y in cells if (x + y) % 2 == 1)

    @property
    def black_squares(self) -> tuple[tuple[int, int], ...]:
        """(column, row) of every black square, row by row."""
        cells = ((x, y) for y in range(self.squares_y) for x in range(self.squares_x))
        return tuple((x, y) for x, y in cells if (x + y) % 2 == 0)

    @property
    def marker_ids(self) -> range:
        """The ids of the markers, in the order of `marker_squares`."""
        return range(self.first_id, self.first_id + self.squares_x * self.squares_y // 2)

    @property
    def corner_points_mm(self) -> NDArray[np.float64]:
        """The chessboard's inner corners, (n, 2) mm, in the order of OpenCV's ChArUco corner ids: row by row."""
        columns, rows = np.meshgrid(np.arange(1, self.squares_x), np.arange(1, self.squares_y))
        return self.square_mm * np.column_stack([columns.ravel(), rows.ravel()]).astype(np.float64)

    @property
    def marker_corner_points_mm(self) -> NDArray[np.float64]:
        """The corners of every marker, (n, 4, 2) mm, in the order of `marker_ids`; clockwise from the top left."""
        inset_mm = (self.square_mm - self.marker_mm) / 2
        origins = self.square_mm * np.array(self.marker_squares, dtype=np.float64) + inset_mm
        around = self.marker_mm * np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=np.float64)
        return origins[:, np.newaxis, :] + around


CARDS: dict[str, Card] = {
    "short": Card("short", 12, 4, 10.0, 7.0, first_id=0, max_board_mm=115.0),
    "long": Card("long", 20, 4, 12.0, 8.4, first_id=48, max_board_mm=230.0),
}
"""Every card we print, by kind. No two share a marker id."""


def card_by_marker_id(marker_id: int) -> Card | None:
    """The card that carries this marker, or None when none of ours does."""
    return next((card for card in CARDS.values() if marker_id in card.marker_ids), None)
