"""What the student drew on the end: layout lines beside the walls, hatching on the waste, stray strokes."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from .params import Board, Marks
from .wall import Wall
from .wood import END_PX_PER_MM, Image, colour, noise

INKS = {
    "graphite": (0.10, 0.10, 0.105),
    "knife": (0.03, 0.025, 0.02),
    "red": (0.42, 0.025, 0.03),
    "blue": (0.03, 0.06, 0.28),
    "black": (0.02, 0.02, 0.025),
}
COVER = {"graphite": 0.75, "knife": 0.8, "red": 0.8, "blue": 0.85, "black": 0.92}


def draw(end: Image, board: Board, marks: Marks, walls: list[Wall], rng: np.random.Generator) -> Image:
    """The end's picture with its marks; what the saw took away of them is simply not there in the solid."""
    picture = end.copy()
    if marks.pen != "none":
        for wall in walls:
            picture = _blend(picture, _layout_line(picture.shape[:2], board, marks, wall, rng), marks.pen)
    if marks.hatch:
        pen = marks.pen if marks.pen in ("graphite", "red", "blue") else "graphite"
        picture = _blend(picture, _hatching(picture.shape[:2], board, walls, rng), pen)
    return _scratched(picture, marks, rng)


def shine(end: Image, board: Board, marks: Marks, walls: list[Wall], rng: np.random.Generator) -> Image:
    """How glossy each place of the end is, 0 to 1: the wood's gloss, and the ink's where a line was drawn.

    With `rng` as it was for `draw`, the lines fall where they fell there.
    """
    cover = np.zeros(end.shape[:2], np.float32)
    for wall in walls:
        cover = np.maximum(cover, _layout_line(cover.shape, board, marks, wall, rng))
    return marks.gloss + (marks.pen_gloss - marks.gloss) * cover


def line_x(wall: Wall, thickness: float, y: NDArray[np.float64]) -> NDArray[np.float64]:
    """x of the middle of the drawn line at `y`, mm: square but for the hand's own small skew."""
    return wall.nominal + np.tan(np.radians(wall.skew)) * (y - thickness / 2)


def _layout_line(shape: tuple[int, int], board: Board, marks: Marks, wall: Wall, rng: np.random.Generator) -> Image:
    """Cover (0..1) of one line; a pen's width wanders a little where it bleeds into the pores."""
    y = (np.arange(shape[0]) + 0.5) / END_PX_PER_MM
    x = (np.arange(shape[1]) + 0.5) / END_PX_PER_MM
    wander = 0.10 * noise((shape[0], 8), (1.0, 0.5 * END_PX_PER_MM), rng)[:, :1]
    half = marks.pen_width / 2 * (1 + (wander if marks.pen != "knife" else 0.3 * wander))
    distance = np.abs(x[None, :] - line_x(wall, board.thickness, y)[:, None])
    cover = np.clip(0.5 + (half - distance) * END_PX_PER_MM, 0, 1).astype(np.float32)
    patchy = 0.35 if marks.pen == "graphite" else 0.12
    return cover * np.clip(1 - patchy * np.abs(noise(shape, 4, rng)), 0, 1)


def _hatching(shape: tuple[int, int], board: Board, walls: list[Wall], rng: np.random.Generator) -> Image:
    """Strokes across each piece of waste, loosely kept inside it."""
    cover = np.zeros(shape, np.uint8)
    edges = [0.0, *(wall.x_mid for wall in walls), board.width]
    for left, right in zip(edges[::2], edges[1::2], strict=True):
        for start in np.arange(rng.uniform(0, 1.5), board.thickness, rng.uniform(1.4, 3.0)):
            ends = [(left + rng.normal(0.4, 0.2), start), (right - rng.normal(0.4, 0.2), start + rng.normal(2.5, 0.3))]
            _stroke(cover, ends)
    soft = cv2.GaussianBlur(cover, (0, 0), 1.5).astype(np.float32) / 255
    return soft * np.clip(0.8 + 0.3 * noise(shape, 4, rng), 0, 1)


def _stroke(cover: NDArray[np.uint8], ends: list[tuple[float, float]]) -> None:
    first, last = [tuple(int(v * END_PX_PER_MM * 16) for v in point) for point in ends]
    cv2.line(cover, first, last, 255, 9, cv2.LINE_AA, 4)


def _blend(picture: Image, cover: Image, pen: str) -> Image:
    """Ink over wood; a little of the wood shines through."""
    alpha = (cover * COVER[pen])[..., None]
    return picture * (1 - alpha) + colour(*INKS[pen]) * alpha


def _scratched(picture: Image, marks: Marks, rng: np.random.Generator) -> Image:
    """Scratches, a few dark and a few bright, at any angle."""
    cover = np.zeros(picture.shape[:2], np.uint8)
    for _ in range(rng.poisson(5 * marks.marks)):
        start = rng.uniform(0, 1, 2) * picture.shape[1::-1] / END_PX_PER_MM
        _thin(cover, start, start + rng.normal(0, 5, 2))
    alpha = cv2.GaussianBlur(cover, (0, 0), 0.8).astype(np.float32)[..., None] / 255
    return picture * (1 + alpha * rng.choice([-0.45, 0.35]))


def _thin(cover: NDArray[np.uint8], start: NDArray[np.float64], end: NDArray[np.float64]) -> None:
    first, last = [tuple(int(v) for v in point * END_PX_PER_MM * 16) for point in (start, end)]
    cv2.line(cover, first, last, 200, 2, cv2.LINE_AA, 4)
