"""The printed card as a picture in exact millimetres: OpenCV's own ChArUco board on a white sheet."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from .params import CardSet
from .wood import Image, colour

PX_PER_MM = 40
"""Squares and marker modules of both cards are whole numbers of pixels at this resolution."""
PAPER, INK = 0.80, 0.045


@dataclass(frozen=True)
class Design:
    """Squares along x and y, square and marker side in mm, first marker id."""

    squares: tuple[int, int]
    square_mm: float
    marker_mm: float
    first_id: int

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the pattern without its margin."""
        return self.squares[0] * self.square_mm, self.squares[1] * self.square_mm


DESIGNS = {"short": Design((12, 4), 10.0, 7.0, 0), "long": Design((20, 4), 12.0, 8.4, 48)}


def opencv_board(kind: str) -> cv2.aruco.CharucoBoard:
    """The card as OpenCV knows it, in the current (not legacy) pattern."""
    design = DESIGNS[kind]
    markers = design.squares[0] * design.squares[1] // 2
    ids = np.arange(design.first_id, design.first_id + markers)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    return cv2.aruco.CharucoBoard(design.squares, design.square_mm, design.marker_mm, dictionary, ids)


def half_sheet(card: CardSet) -> tuple[float, float]:
    """Half the width and half the height of the sheet, margin included, mm."""
    width, height = DESIGNS[card.kind].size_mm
    return width / 2 + card.margin, height / 2 + card.margin


def sheet(card: CardSet, rng: np.random.Generator) -> Image:
    """Reflectance (rows, cols, 3) of the sheet, row 0 at the edge away from the board; sized whole pixels."""
    width, height = (round(v * PX_PER_MM) for v in DESIGNS[card.kind].size_mm)
    pattern = opencv_board(card.kind).generateImage((width, height), marginSize=0)
    edge = margin_px(card)
    picture = np.full((height + 2 * edge, width + 2 * edge), 255, np.uint8)
    picture[edge:-edge, edge:-edge] = pattern
    if card.arrow:
        _draw_arrow(picture, edge)
    return _printed(picture, rng)


def margin_px(card: CardSet) -> int:
    """The margin in whole pixels of the picture."""
    return round(card.margin * PX_PER_MM)


def _draw_arrow(picture: NDArray[np.uint8], edge: int) -> None:
    """A small triangle in the lower margin that points at the board."""
    rows, cols = picture.shape
    tip = np.array([cols // 2, rows - edge // 5])
    half = int(edge * 0.3)
    corners = tip + np.array([(0, 0), (-half, -2 * half), (half, -2 * half)])
    cv2.fillConvexPoly(picture, corners.astype(np.int32), 40, cv2.LINE_AA)


def _printed(picture: NDArray[np.uint8], rng: np.random.Generator) -> Image:
    """Ink and paper: toner a little uneven, paper a little grainy."""
    blank = picture.astype(np.float32) / 255
    grain = cv2.GaussianBlur(rng.normal(size=picture.shape).astype(np.float32), (0, 0), 4)
    grain *= 0.012 / grain.std()
    tone = INK + (PAPER - INK) * blank + grain * (0.4 + blank)
    return np.repeat(tone[..., None], 3, axis=2) * colour(1, 0.995, 0.975)
