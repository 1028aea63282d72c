"""What stands round the board: bench tops as pictures, clutter as coloured solids."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from .solid import Array, Mesh, box, grid
from .wood import SPECIES, Image, Rgb, colour, long_grain, noise

PX_PER_MM = 4
SIZE_MM = (640.0, 520.0)


def top(kind: str, rng: np.random.Generator) -> Image:
    """Reflectance of a bench top, SIZE_MM at PX_PER_MM."""
    shape = (round(SIZE_MM[1] * PX_PER_MM), round(SIZE_MM[0] * PX_PER_MM))
    return TOPS[kind](shape, rng).astype(np.float32)


def _planks(shape: tuple[int, int], rng: np.random.Generator) -> Image:
    species = SPECIES[str(rng.choice(["beech", "larch", "elm", "chestnut"]))]
    width = round(rng.uniform(45, 110) * PX_PER_MM)
    rows = [
        long_grain(species, (SIZE_MM[0], width / PX_PER_MM), PX_PER_MM, rng) * rng.uniform(0.7, 1.05)
        for _ in range(shape[0] // width + 1)
    ]
    picture = np.concatenate(rows)[: shape[0]]
    for row in range(0, shape[0], width):
        picture[row : row + 4] *= 0.25
    return picture


def _mat(shape: tuple[int, int], rng: np.random.Generator) -> Image:
    """A cutting mat with a 10 mm grid and old cuts."""
    dye = colour(*[(0.02, 0.13, 0.08), (0.05, 0.07, 0.14), (0.10, 0.10, 0.10)][rng.integers(3)])
    lines = np.zeros(shape, np.uint8)
    for step, value in ((10, 90), (50, 200)):
        lines[:: step * PX_PER_MM] = lines[:, :: step * PX_PER_MM] = value
    for _ in range(60):
        start = rng.uniform(0, 1, 2) * shape[::-1]
        _line(lines, start, start + rng.normal(0, 250, 2), 60)
    return dye * (1 + 0.05 * noise(shape, 2, rng))[..., None] + 0.35 * lines[..., None].astype(np.float32) / 255


def _line(picture: NDArray[np.uint8], start: Array, end: Array, value: int) -> None:
    cv2.line(picture, (int(start[0]), int(start[1])), (int(end[0]), int(end[1])), value, 1, cv2.LINE_AA)


def _granite(shape: tuple[int, int], rng: np.random.Generator) -> Image:
    grains = 0.22 + 0.10 * noise(shape, 2.2, rng) + 0.05 * noise(shape, 6, rng)
    return np.clip(grains, 0.03, 0.7)[..., None] * colour(1, 0.97, 0.95)


def _cloth(shape: tuple[int, int], rng: np.random.Generator) -> Image:
    """A woven cotton cloth with a broad stripe."""
    rows, cols = np.mgrid[: shape[0], : shape[1]].astype(np.float32)
    weave = 1 + 0.12 * np.sin(rows * 1.9) * np.sin(cols * 1.9) + 0.06 * noise(shape, 3, rng)
    stripe = (np.sin(cols / rng.uniform(25, 60)) > 0.75)[..., None]
    base, band = colour(0.40, 0.38, 0.33), colour(0.10, 0.16, 0.28)
    return np.where(stripe, band, base) * weave[..., None]


def _slate(shape: tuple[int, int], rng: np.random.Generator) -> Image:
    tone = 0.045 + 0.010 * noise(shape, (60, 12), rng) + 0.006 * noise(shape, 2, rng)
    return np.clip(tone, 0.012, 0.2)[..., None] * colour(0.92, 1.0, 1.1)


def _paper(shape: tuple[int, int], rng: np.random.Generator) -> Image:
    """Brown wrapping paper with pencil strokes and a ring left by a mug."""
    lines = np.zeros(shape, np.uint8)
    for _ in range(25):
        start = rng.uniform(0, 1, 2) * shape[::-1]
        _line(lines, start, start + rng.normal(0, 120, 2), 200)
    centre = rng.uniform(0.1, 0.9, 2) * shape[::-1]
    cv2.circle(lines, (int(centre[0]), int(centre[1])), 160, 110, 9, cv2.LINE_AA)
    tone = (1 + 0.04 * noise(shape, (14, 3), rng) + 0.05 * noise(shape, 200, rng))[..., None]
    return colour(0.42, 0.27, 0.16) * tone * (1 - 0.7 * lines[..., None].astype(np.float32) / 255)


TOPS = {"planks": _planks, "mat": _mat, "granite": _granite, "cloth": _cloth, "slate": _slate, "paper": _paper}


@dataclass(frozen=True)
class Thing:
    """A piece of clutter in one colour (linear reflectance)."""

    mesh: Mesh
    rgb: Rgb


def clutter(
    count: int, level: float, keep_out: tuple[float, float, float, float], rng: np.random.Generator
) -> list[Thing]:
    """Things that lie at height `level` outside the rectangle x0, y0, x1, y1."""
    makers = (_pencil, _shaving, _offcut, _rule)
    things: list[Thing] = []
    for _ in range(count):
        spot = _free_spot(keep_out, rng)
        made = makers[rng.integers(len(makers))](rng)
        things.append(Thing(_placed(made.mesh, spot, level, rng.uniform(0, 2 * np.pi)), made.rgb))
    return things


def _free_spot(keep_out: tuple[float, float, float, float], rng: np.random.Generator) -> Array:
    x0, y0, x1, y1 = keep_out
    while True:
        spot = rng.uniform((x0 - 70, y0 - 60), (x1 + 70, y1 + 60))
        if not (x0 < spot[0] < x1 and y0 < spot[1] < y1):
            return spot


def _placed(mesh: Mesh, spot: Array, level: float, angle: float) -> Mesh:
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    flat = mesh.points[:, :2] @ turn + spot
    return Mesh(np.c_[flat, mesh.points[:, 2] + level], mesh.quads, mesh.uv)


def _tube(radius: Array, along: Array, sides: int) -> Mesh:
    """A lying round or polygonal bar of varying radius."""
    turn = np.linspace(0, 2 * np.pi, sides + 1)
    ring = np.stack([0 * turn, np.cos(turn), np.sin(turn)], -1)
    lattice = ring * radius[:, None, None] + np.stack([along, 0 * along, 0 * along + radius.max()], -1)[:, None]
    return grid(lattice, lattice[..., :2] / 50)


def _pencil(rng: np.random.Generator) -> Thing:
    length = rng.uniform(50, 150)
    along = np.array([-length / 2, length / 2 - 15, length / 2 - 1, length / 2])
    mesh = _tube(np.array([3.6, 3.6, 0.5, 0.0]), along, 6)
    rgb = [(0.5, 0.28, 0.03), (0.02, 0.10, 0.06), (0.30, 0.02, 0.03)][rng.integers(3)]
    return Thing(mesh, rgb)


def _shaving(rng: np.random.Generator) -> Thing:
    """A plane shaving, curled up like a spring."""
    turn = np.linspace(0, rng.uniform(2, 5) * np.pi, 80)
    radius = rng.uniform(4, 9) * (1 + 0.03 * turn)
    width = rng.uniform(8, 20)
    curl = np.stack([1.5 * turn, radius * np.cos(turn), radius * np.sin(turn) + radius.max()], -1)
    lattice = np.stack([curl, curl + np.array([width, 0, 0])], 1)
    return Thing(grid(lattice, lattice[..., :2] / 50), (0.58, 0.42, 0.25))


def _offcut(rng: np.random.Generator) -> Thing:
    size = rng.uniform((15, 10, 5), (60, 30, 20))
    light = SPECIES[str(rng.choice(list(SPECIES)))].light
    return Thing(box((-size[0] / 2, -size[1] / 2, 0), (size[0] / 2, size[1] / 2, size[2])), light)


def _rule(rng: np.random.Generator) -> Thing:
    """A steel rule lying face down."""
    length = rng.uniform(100, 200)
    return Thing(box((-length / 2, -9, 0), (length / 2, 9, 1)), (0.35, 0.36, 0.37))
