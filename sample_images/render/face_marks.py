"""What was drawn on a face: the baseline, the layout of the tails, hatching on the waste."""

from __future__ import annotations

import cv2
import numpy as np

from . import wood
from .face_cuts import FaceCut, across, baseline_depth
from .marks import COVER, INKS
from .params import Face, Params
from .wall import Array
from .wood import Image

PX_PER_MM = 24


def draw(plain: Image, params: Params, sawn: list[FaceCut], rng: np.random.Generator) -> Image:
    """The face's picture (rows from the board's far end to the sawn end) with baseline, tails and hatching."""
    face = params.face
    assert face is not None
    picture = np.array(plain)
    rows = round((sawn[0].depths[-1] + 4) * PX_PER_MM)
    cut = picture[-rows:]
    if face.layout and params.marks.pen not in ("none", "knife"):
        cut = _inked(cut, _tail_lines(cut.shape[:2], params, sawn, rng), params.marks.pen)
    if params.marks.hatch:
        cut = _inked(cut, _hatching(cut.shape[:2], params, sawn, rng), "graphite")
    cut = _inked(cut, _baseline(cut.shape[:2], params, face, rng), "knife" if face.pen == "gauge" else face.pen)
    picture[-rows:] = cut
    return picture


def _grid(shape: tuple[int, int], params: Params) -> tuple[Array, Array]:
    """x of the end frame for every column and depth for every row, mm."""
    x = across(params, (np.arange(shape[1]) + 0.5) / PX_PER_MM)
    return x, (shape[0] - np.arange(shape[0]) - 0.5) / PX_PER_MM


def _baseline(shape: tuple[int, int], params: Params, face: Face, rng: np.random.Generator) -> Image:
    x, depth = _grid(shape, params)
    off = np.abs(depth[:, None] - baseline_depth(params, x)[None, :])
    wander = 1 + 0.1 * wood.noise((8, shape[1]), (0.5 * PX_PER_MM, 1.0), rng)[:1]
    cover = np.clip(0.5 + (face.width / 2 * wander - off) * PX_PER_MM, 0, 1)
    return _patchy(cover.astype(np.float32), 0.3 if face.pen == "graphite" else 0.12, rng)


def _tail_lines(shape: tuple[int, int], params: Params, sawn: list[FaceCut], rng: np.random.Generator) -> Image:
    """The layout's lines, each from the end to the baseline at the slope that was meant."""
    x, depth = _grid(shape, params)
    cover = np.zeros(shape, np.float32)
    for cut in sawn:
        line = cut.wall.nominal + cut.wall.into_tail * params.board.slope * depth
        near = 0.5 + (params.marks.pen_width / 2 - np.abs(x[None, :] - line[:, None])) * PX_PER_MM
        over = rng.uniform(-0.3, 1.0)
        near = np.where((depth < params.board.depth + over)[:, None], near, 0)
        cover = np.maximum(cover, np.clip(near, 0, 1).astype(np.float32))
    return _patchy(cover, 0.3, rng)


def _hatching(shape: tuple[int, int], params: Params, sawn: list[FaceCut], rng: np.random.Generator) -> Image:
    """A few strokes across each piece of waste."""
    cover = np.zeros(shape, np.uint8)
    edges = [0.0, *(cut.wall.nominal for cut in sawn), params.board.width]
    for left, right in zip(edges[::2], edges[1::2], strict=True):
        for start in np.arange(rng.uniform(1, 3), params.board.depth - 2, rng.uniform(2, 4)):
            ends = [(left + 0.5, start), (right - 0.5, start + rng.uniform(0.5, 2.0))]
            _stroke(cover, [(float(across(params, np.array([x]))[0]), depth) for x, depth in ends])
    return _patchy(cv2.GaussianBlur(cover, (0, 0), 1.2).astype(np.float32) / 255, 0.3, rng)


def _stroke(cover: Image, ends: list[tuple[float, float]]) -> None:
    first, last = [(round(x * PX_PER_MM * 16), round((cover.shape[0] - depth * PX_PER_MM) * 16)) for x, depth in ends]
    cv2.line(cover, first, last, 255, 7, cv2.LINE_AA, 4)


def _patchy(cover: Image, patchy: float, rng: np.random.Generator) -> Image:
    return cover * np.clip(1 - patchy * np.abs(wood.noise(cover.shape[:2], 4, rng)), 0, 1)


def _inked(picture: Image, cover: Image, pen: str) -> Image:
    alpha = (cover * COVER[pen])[..., None]
    return picture * (1 - alpha) + wood.colour(*INKS[pen]) * alpha
