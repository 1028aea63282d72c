"""A face lying up on the bench: its board as meshes, and the scene about it.

The scene's frame is the end's with the board laid down: y = -depth, so that the end is at y = 0 and the card, whose
arrow points to the end, at negative y; heights count from the face. A show face seen so runs from right to left.
"""

from __future__ import annotations

import numpy as np

from . import card, solid, wood
from .camera import card_pose
from .face_cuts import FaceCut, across, baseline_depth, cuts
from .face_marks import PX_PER_MM, draw
from .params import Params
from .scene import Part, Scene, bench_parts, sheet_parts
from .solid import FADE_MM, Array, Mesh

LAYERS = 8
Edge = tuple[Array, Array, Array]
"""x at the face and x at the other face (n,), and what of the first is roughness that fades below, mm."""


def build_face(params: Params) -> Scene:
    """The scene of `params`, which shows a face; nothing but the seed decides what is random in it."""
    assert params.face is not None
    rng = np.random.default_rng([params.seed, 86028157, ("show", "transfer").index(params.face.view)])
    sawn = cuts(params)
    pose = card_pose(params.card, params.board.width, card.half_sheet(params.card))
    level = -params.board.thickness
    length = -float(pose.centre[1]) + card.half_sheet(params.card)[1] + params.face.beyond
    parts = [
        *_board_parts(params, sawn, length, rng),
        *sheet_parts(params, pose, rng),
        *bench_parts(params, pose, rng, level, 25.0),
    ]
    return Scene(params, parts, [cut.wall for cut in sawn], pose, _corners(params, sawn))


def _corners(params: Params, sawn: list[FaceCut]) -> Array:
    """The corners (4, 3) of what is measured: the end's edge, and as far as the face was cut."""
    width, deep = params.board.width, -float(sawn[0].depths[-1])
    return np.array([[0, 0, 0], [width, 0, 0], [width, deep, 0], [0, deep, 0]], float)


def _board_parts(params: Params, sawn: list[FaceCut], length: float, rng: np.random.Generator) -> list[Part]:
    board, species = params.board, wood.SPECIES[params.board.species]
    plain = np.ascontiguousarray(wood.long_grain(species, (length, board.width), PX_PER_MM, rng).transpose(1, 0, 2))
    picture = draw(plain, params, sawn, rng)
    tops, sides, ends = _pieces(params, sawn, length, rng)
    side = wood.long_grain(species, (100, 100), 8, rng)
    grain = wood.end_grain(board, params.marks, rng)
    return [
        Part("face", solid.join(tops), picture, gloss=params.marks.gloss),
        Part("walls", solid.join(sides), side * 0.85),
        Part("ends", solid.join(ends), grain * 0.8),
    ]


def _pieces(
    params: Params, sawn: list[FaceCut], length: float, rng: np.random.Generator
) -> tuple[list[Mesh], list[Mesh], list[Mesh]]:
    """The board's face, its upright long-grain sides and its upright end grain, as meshes."""
    depths, width = sawn[0].depths, params.board.width
    laid = _Laid(params, depths, length)
    tops, sides, ends = [laid.stock()], [], []
    for index, (left, right) in enumerate(_between(sawn, width)):
        is_tail = bool(index % 2)
        start = 0 if is_tail or params.board.stage == "sawn" else _floor_index(params, left, right, depths)
        shift = 0.0 if start == 0 else float(rng.normal(0.0, 0.03))
        tops.append(laid.top(left, right, start, shift))
        sides += [laid.side(edge, start) for edge in (left, right)]
        ends.append(laid.end(left, right, start, shift))
    for cut in sawn:
        left, right = sorted((_tail_edge(cut), _waste_edge(cut)), key=lambda edge: float(edge[0][0]))
        start = cut.stop
        if params.board.stage == "cleared":
            start = max(start, _floor_index(params, left, right, depths))
        tops.append(laid.top(left, right, start))
        ends.append(laid.end(left, right, start))
    return tops, sides, ends


def _tail_edge(cut: FaceCut) -> Edge:
    return cut.x, cut.far, cut.lost


def _waste_edge(cut: FaceCut) -> Edge:
    return cut.waste, cut.far_waste, cut.waste_lost


def _between(sawn: list[FaceCut], width: float) -> list[tuple[Edge, Edge]]:
    """Left and right edge of every piece, from the left: waste, tail, waste and so on."""
    still = np.zeros_like(sawn[0].depths)
    bounds: list[Edge] = [(still, still, still)]
    for cut in sawn:
        pair = [_waste_edge(cut), _tail_edge(cut)]
        bounds += pair if cut.wall.side == "left" else pair[::-1]
    bounds.append((still + width, still + width, still))
    return list(zip(bounds[::2], bounds[1::2], strict=True))


def _floor_index(params: Params, left: Edge, right: Edge, depths: Array) -> int:
    """Where the chisel stopped between two edges: on the baseline."""
    middle = (left[0][:1] + right[0][:1]) / 2
    return int(np.searchsorted(depths, float(baseline_depth(params, middle)[0])))


class _Laid:
    """Makes meshes of edges in the end frame, laid down."""

    def __init__(self, params: Params, depths: Array, length: float) -> None:
        """`depths` (n,) are those of all edges, `length` the board's, mm."""
        self.params, self.depths, self.length = params, depths, length

    def top(self, left: Edge, right: Edge, start: int, shift: float = 0.0) -> Mesh:
        """The face between two edges from the depth of index `start` on, moved there by `shift` mm."""
        y = -self.depths[start:].copy()
        y[0] -= shift
        points = np.stack([self._points(edge[0][start:], y, 0.0) for edge in (left, right)], 1)
        return solid.grid(points, self._uv(points))

    def stock(self) -> Mesh:
        """The face from where nothing was cut to the board's other end, with its sides and underside left out."""
        y = np.array([-self.depths[-1], -self.length])
        points = np.stack([self._points(np.full(2, x), y, 0.0) for x in (0.0, self.params.board.width)], 1)
        return solid.grid(points, self._uv(points))

    def side(self, edge: Edge, start: int) -> Mesh:
        """The upright surface below an edge, rough at the arris; a board's own side goes on to its other end."""
        own = not np.any(edge[2])
        y = -np.r_[self.depths[start:], self.length] if own else -self.depths[start:]
        heights = -self.params.board.thickness * np.linspace(0, 1, LAYERS) ** 1.8
        rows = []
        for height in heights:
            share, fade = -height / self.params.board.thickness, np.exp(height / FADE_MM)
            x = (edge[0] - edge[2]) * (1 - share) + edge[1] * share + edge[2] * fade
            rows.append(self._points(np.r_[x[start:], x[-1]] if own else x[start:], y, height))
        points = np.stack(rows)
        return solid.grid(points, points[..., [1, 2]] / 100)

    def end(self, left: Edge, right: Edge, start: int, shift: float = 0.0) -> Mesh:
        """The upright end of a piece that begins at the depth of index `start`."""
        x = np.array([left[0][start], right[0][start]]), np.array([left[1][start], right[1][start]])
        y = np.full(2, -self.depths[start] - shift)
        low = -self.params.board.thickness
        points = np.stack([self._points(x[0], y, 0.0), self._points(x[1], y, low)])
        return solid.grid(points, np.stack([points[..., 0] / self.params.board.width, points[..., 2] / low], -1))

    def _points(self, x: Array, y: Array, height: float) -> Array:
        return np.stack([across(self.params, x), y, np.full_like(y, height)], -1)

    def _uv(self, points: Array) -> Array:
        return np.stack([points[..., 0] / self.params.board.width, -points[..., 1] / self.length], -1)
