"""Solids as quad meshes in the end frame: x, y, height above the end, mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .params import Params
from .wall import Wall

Array = NDArray[np.float64]
LEVELS = 12
FADE_MM = 0.9
"""Depth over which the arris's roughness and chips give way to the wall's own below."""


@dataclass(frozen=True)
class Mesh:
    """`points` (n, 3) mm, `quads` (m, 4) indices, `uv` (n, 2) texture position (0..1, v up)."""

    points: Array
    quads: NDArray[np.int64]
    uv: Array


def grid(points: Array, uv: Array) -> Mesh:
    """The surface through a lattice of points (rows, cols, 3) with texture positions (rows, cols, 2)."""
    rows, cols = points.shape[:2]
    index = np.arange(rows * cols).reshape(rows, cols)
    quads = np.stack([index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]], -1).reshape(-1, 4)
    return Mesh(points.reshape(-1, 3), quads, uv.reshape(-1, 2))


def join(meshes: list[Mesh]) -> Mesh:
    """One mesh of many."""
    starts = np.cumsum([0, *(len(m.points) for m in meshes[:-1])])
    quads = np.concatenate([m.quads + start for m, start in zip(meshes, starts, strict=True)])
    return Mesh(np.concatenate([m.points for m in meshes]), quads, np.concatenate([m.uv for m in meshes]))


def box(low: tuple[float, float, float], high: tuple[float, float, float], texture_mm: float = 100.0) -> Mesh:
    """An upright box; each side's texture lies flat on it, `texture_mm` to the picture's width."""
    sides = []
    for axis in range(3):
        u_axis, v_axis = [a for a in range(3) if a != axis]
        for value in (low[axis], high[axis]):
            corners = np.zeros((2, 2, 3))
            corners[..., axis] = value
            corners[..., u_axis] = [[low[u_axis], high[u_axis]]] * 2
            corners[..., v_axis] = [[low[v_axis]] * 2, [high[v_axis]] * 2]
            sides.append(grid(corners, corners[..., [u_axis, v_axis]] / texture_mm))
    return join(sides)


def plate(corners: Array) -> Mesh:
    """A flat rectangle from its corners (4, 3): top left, top right, bottom right, bottom left of its picture."""
    lattice = np.array([[corners[3], corners[2]], [corners[0], corners[1]]])
    return grid(lattice, np.array([[[0, 0], [1, 0]], [[0, 1], [1, 1]]], float))


def wrinkled(corners: Array, height_mm: float, rng: np.random.Generator) -> Mesh:
    """A `plate` of paper that stands off what it is glued to by up to `height_mm`: blisters, and one sharp crease.

    Its edges stay down. Every point of the print stays above its place: the paper is taken to stretch over a slope,
    where real paper would be drawn in by half the slope's square, a hundredth of a millimetre a blister.
    """
    u, v = np.meshgrid(np.linspace(0, 1, 121), np.linspace(0, 1, 49))
    blisters = np.zeros_like(u)
    for _ in range(6):
        x, y, wide = rng.uniform(0.1, 0.9), rng.uniform(0.15, 0.85), rng.uniform(0.05, 0.14)
        blisters += rng.uniform(0.4, 1.0) * np.exp(-(((u - x) / wide) ** 2) - ((v - y) / (2.4 * wide)) ** 2)
    fold = np.abs(u - rng.uniform(0.2, 0.8) - rng.uniform(-0.4, 0.4) * (v - 0.5))
    off = np.maximum(blisters / blisters.max(), 0.8 * np.exp(-fold / 0.015))
    off *= height_mm * np.clip(8 * v, 0, 1) * np.clip(8 * (1 - v), 0, 1)
    low, high = [corners[a] + u[..., None] * (corners[b] - corners[a]) for a, b in ((3, 2), (0, 1))]
    return grid(low + v[..., None] * (high - low) + off[..., None] * (0, 0, 1), np.stack([u, v], -1))


def finger(tip: Array, back: Array, radius: float) -> Mesh:
    """A finger lying on the line from `tip` to `back` (3,), round at the tip, a little flattened where it presses."""
    along = (back - tip) / np.linalg.norm(back - tip)
    aside = np.cross(along, [0, 0, 1.0])
    run = np.r_[radius * (1 - np.cos(np.linspace(0, np.pi / 2, 14))), np.linalg.norm(back - tip)]
    girth = np.r_[radius * np.sin(np.linspace(0, np.pi / 2, 14)), 1.1 * radius]
    turn = np.linspace(0, 2 * np.pi, 33)
    across = girth[:, None] * np.cos(turn)
    up = 0.8 * radius + 0.8 * girth[:, None] * np.sin(turn)
    points = tip + run[:, None, None] * along + across[..., None] * aside + up[..., None] * (0, 0, 1)
    return grid(points, np.zeros((*points.shape[:2], 2)))


@dataclass(frozen=True)
class Pieces:
    """The board's surfaces by what covers them: end grain, sawn walls, long-grain faces, socket floors."""

    ends: Mesh
    walls: Mesh
    faces: Mesh
    floor: Mesh


def board_pieces(scene: Params, walls: list[Wall], rng: np.random.Generator, bottom: float) -> Pieces:
    """The sawn or cleared board, standing on `bottom` (height, mm, negative)."""
    board = scene.board
    prisms = [_prism(left, right, board.width, walls[0].y) for left, right in _outlines(scene, walls, rng)]
    stock = box((0, 0, bottom), (board.width, board.thickness, -board.depth))
    return Pieces(
        join([p[0] for p in prisms]),
        join([p[1] for p in prisms]),
        join([*(p[2] for p in prisms), stock]),
        _floor(scene, rng),
    )


def _outlines(scene: Params, walls: list[Wall], rng: np.random.Generator) -> list[tuple[Array, Array]]:
    """Left and right side, each (ny, LEVELS, 3), of every piece that stands above the baseline."""
    y, board = walls[0].y, scene.board
    edges = [_side(y, board.depth, x, 0, 0 * y, rng) for x in (np.zeros_like(y), np.full_like(y, board.width))]
    tail_sides = [_side(y, board.depth, w.x, w.into_tail * w.slope, w.rough, rng, scene.saw.rough) for w in walls]
    if board.stage == "cleared":
        return list(zip(tail_sides[::2], tail_sides[1::2], strict=True))
    waste = [_side(y, board.depth, w.waste, w.into_tail * w.slope, w.waste_rough, rng, scene.saw.rough) for w in walls]
    if scene.drill:
        return list(zip([edges[0], *tail_sides], [*waste, edges[1]], strict=True))
    tails = list(zip(tail_sides[::2], tail_sides[1::2], strict=True))
    bounds = [edges[0], *waste, edges[1]]
    return tails + list(zip(bounds[::2], bounds[1::2], strict=True))


def _side(
    y: Array, depth: float, x: Array, slope: float, rough: Array, rng: np.random.Generator, below: float = 0.0
) -> Array:
    z = depth * np.linspace(0, 1, LEVELS) ** 1.8
    fade = np.exp(-z / FADE_MM)
    deep = below * rng.normal(size=(y.size, 1)) * 0.7 + below * 0.3 * rng.normal(size=(y.size, LEVELS))
    across = (x - rough)[:, None] + rough[:, None] * fade + deep * (1 - fade) + slope * z
    return np.stack([across, np.broadcast_to(y[:, None], across.shape), np.broadcast_to(-z, across.shape)], -1)


def _prism(left: Array, right: Array, width: float, y: Array) -> tuple[Mesh, Mesh, Mesh]:
    """Top, sides and faces of the piece between two sides."""
    top = np.stack([left[:, 0], right[:, 0]], 1)
    top_uv = np.stack([top[..., 0] / width, 1 - top[..., 1] / y[-1]], -1)
    sides = [grid(side, side[..., [1, 2]] / 40) for side in (left, right)]
    faces = [np.stack([left[i], right[i]], 1) for i in (0, -1)]
    return grid(top, top_uv), join(sides), join([grid(face, face[..., [2, 0]] / 100) for face in faces])


def _floor(scene: Params, rng: np.random.Generator) -> Mesh:
    """The bottom of sockets and kerfs: chiselled end grain, a tenth of a millimetre proud of the stock."""
    board = scene.board
    x, y = np.meshgrid(np.linspace(0, board.width, int(board.width) + 1), np.linspace(0, board.thickness, 16))
    height = -board.depth + 0.12 + rng.uniform(-0.1, 0.1, x.shape)
    return grid(np.stack([x, y, height], -1), np.stack([x / board.width, 1 - y / board.thickness], -1))


def kerf_dust(scene: Params, walls: list[Wall], rng: np.random.Generator) -> list[Mesh]:
    """Sawdust that lies in some kerfs, its surface uneven and 1 to 8 mm below the end."""
    if scene.board.stage == "cleared":
        return []
    return [_heap(wall, rng) for wall in walls if rng.random() < scene.marks.kerf_fill]


def _heap(wall: Wall, rng: np.random.Generator) -> Mesh:
    y = wall.y[::8]
    depth = rng.uniform(1, 7) + np.convolve(rng.normal(0, 1.2, y.size + 8), np.ones(9) / 9, "valid")
    height = -np.clip(depth, 0.4, None)
    middle = (wall.x + wall.waste)[::8] / 2 - wall.into_tail * wall.slope * height
    columns = [
        np.stack([middle + side * (wall.kerf / 2 + 0.06), y, height + 0.08 * rng.normal(size=y.size)], -1)
        for side in (-1, -0.3, 0.3, 1)
    ]
    lattice = np.stack(columns, 1)
    return grid(lattice, lattice[..., :2] / 10)


def specks(
    low: tuple[float, float], high: tuple[float, float], count: int, height: float, rng: np.random.Generator
) -> Mesh:
    """`count` grains of sawdust on a level area, as small tilted quads."""
    centre = np.stack([rng.uniform(low[0], high[0], count), rng.uniform(low[1], high[1], count)], -1)
    size, angle = rng.lognormal(np.log(0.12), 0.5, count), rng.uniform(0, 2 * np.pi, count)
    along = np.stack([np.cos(angle), np.sin(angle)], -1) * (size * rng.uniform(1, 2.5, count))[:, None]
    aside = np.stack([-np.sin(angle), np.cos(angle)], -1) * size[:, None]
    flat = centre[:, None] + np.stack([-along - aside, along - aside, along + aside, aside - along], 1) / 2
    tall = height + np.repeat(rng.uniform(0.01, 0.12, (count, 1)), 4, 1) + rng.uniform(0, 0.04, (count, 4))
    points = np.concatenate([flat, tall[..., None]], -1).reshape(-1, 3)
    return Mesh(points, np.arange(4 * count).reshape(-1, 4), np.zeros((4 * count, 2)))
