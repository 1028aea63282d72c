"""Woods: reflectance pictures of end grain and long grain, in linear light, drawn to scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from .params import Board, Marks

Image = NDArray[Any]
"""A picture of float32, rows x cols or rows x cols x 3; OpenCV's own types promise no more than `Any`."""
END_PX_PER_MM = 32
Rgb = tuple[float, float, float]


def colour(red: float, green: float, blue: float) -> Image:
    """A colour (3,), linear, to multiply pictures with."""
    return np.array([red, green, blue], np.float32)


@dataclass(frozen=True)
class Species:
    """How a wood looks: light and dark tone (linear reflectance), ring spacing in mm, and its cells.

    `ring` is how dark late wood gets (0..1); `pores` per mm2, `pore_mm` their radius; `porous_ring` gathers
    them in early wood; `rays` how strongly rays show.
    """

    light: Rgb
    dark: Rgb
    ring_mm: float
    ring: float
    softwood: bool
    pores: float
    pore_mm: float
    porous_ring: bool
    rays: float


SPECIES = {
    "beech": Species((0.46, 0.29, 0.18), (0.27, 0.14, 0.07), 2.6, 0.35, False, 5.0, 0.035, False, 0.7),
    "larch": Species((0.50, 0.31, 0.16), (0.25, 0.10, 0.035), 2.0, 0.95, True, 0.0, 0.03, False, 0.1),
    "elm": Species((0.36, 0.24, 0.14), (0.17, 0.09, 0.045), 2.8, 0.4, False, 3.0, 0.07, True, 0.3),
    "alder": Species((0.45, 0.26, 0.15), (0.29, 0.15, 0.08), 3.4, 0.3, False, 6.0, 0.03, False, 0.15),
    "douglas fir": Species((0.52, 0.32, 0.19), (0.30, 0.11, 0.05), 2.4, 0.9, True, 0.0, 0.03, False, 0.1),
    "sapele": Species((0.22, 0.085, 0.05), (0.11, 0.035, 0.02), 3.6, 0.3, False, 5.0, 0.06, False, 0.2),
    "birch": Species((0.60, 0.46, 0.32), (0.42, 0.29, 0.18), 2.4, 0.3, False, 5.0, 0.04, False, 0.15),
    "chestnut": Species((0.42, 0.27, 0.16), (0.19, 0.10, 0.05), 2.7, 0.45, False, 3.5, 0.1, True, 0.1),
    "holly": Species((0.82, 0.77, 0.66), (0.72, 0.66, 0.53), 1.8, 0.35, False, 3.0, 0.03, False, 0.1),
    "wenge": Species((0.06, 0.04, 0.026), (0.022, 0.014, 0.010), 1.4, 0.7, False, 2.0, 0.07, False, 0.1),
}


def noise(shape: tuple[int, int], scale: float | tuple[float, float], rng: np.random.Generator) -> Image:
    """Smooth noise of unit rms with correlation length `scale` (x, y) in px."""
    sx, sy = (scale, scale) if isinstance(scale, int | float) else scale
    step = (max(1, int(sx / 2)), max(1, int(sy / 2)))
    small: Image = rng.normal(size=(shape[0] // step[1] + 3, shape[1] // step[0] + 3)).astype(np.float32)
    small = cv2.GaussianBlur(small, (0, 0), max(sx / step[0], 0.3), sigmaY=max(sy / step[1], 0.3))
    smooth = cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    return (smooth - smooth.mean()) / smooth.std()


def mix(species: Species, darkness: Image) -> Image:
    """Reflectance between the light (0) and dark (1) tone of a wood."""
    light, dark = colour(*species.light), colour(*species.dark)
    return light + (dark - light) * np.clip(darkness, -0.25, 1.3)[..., None]


def end_grain(board: Board, marks: Marks, rng: np.random.Generator) -> Image:
    """The board's end (rows y from the show face, cols x), END_PX_PER_MM, with rings, rays, pores and saw scratches."""
    species = SPECIES[board.species]
    shape = (round(board.thickness * END_PX_PER_MM), round(board.width * END_PX_PER_MM))
    radius, angle = _polar(board, marks, shape, rng)
    phase, ring = _rings(radius, species, rng)
    dark = species.ring * _ring_tone(phase, species) * (0.75 + 0.25 * np.sin(ring * 2.4))
    dark += 0.10 * noise(shape, 5 * END_PX_PER_MM, rng) + 0.06 * noise(shape, 3, rng)
    dark -= species.rays * _rays(radius, angle, rng)
    dark += 0.75 * _pores(phase, species, shape, rng)
    dark += marks.marks * 0.10 * _tool_marks(shape, rng)
    return mix(species, dark)


def _polar(board: Board, marks: Marks, shape: tuple[int, int], rng: np.random.Generator) -> tuple[Image, Image]:
    """Distance from the pith (mm, a little wavy) and angle about it."""
    along = marks.rings == "along"
    pith_x = board.width * (rng.choice([-2.2, 3.0]) if along else rng.uniform(-0.3, 1.3))
    pith_y = board.thickness * 0.5 if along else rng.choice([-1, 1]) * rng.uniform(10, 70) + board.thickness / 2
    cols, rows = np.meshgrid(np.arange(shape[1], dtype=np.float32), np.arange(shape[0], dtype=np.float32))
    dx, dy = (cols + 0.5) / END_PX_PER_MM - pith_x, (rows + 0.5) / END_PX_PER_MM - pith_y
    wave = 0.6 * noise(shape, 9 * END_PX_PER_MM, rng) + 0.06 * noise(shape, 0.8 * END_PX_PER_MM, rng)
    return np.hypot(dx, dy) + wave, np.arctan2(dy, dx)


def _rings(radius: Image, species: Species, rng: np.random.Generator) -> tuple[Image, Image]:
    """Position within the year's ring (0 = spring, 1 = autumn) and the ring's number."""
    low, high = float(radius.min()), float(radius.max())
    widths = species.ring_mm * rng.uniform(0.45, 1.6, int((high - low) / species.ring_mm * 1.8) + 6)
    bounds = low - widths[0] + np.cumsum(np.r_[0, widths])
    ring = np.clip(np.searchsorted(bounds, radius.ravel()) - 1, 0, len(widths) - 1).reshape(radius.shape)
    phase = (radius - bounds[ring]) / widths[ring]
    return np.clip(phase, 0, 1).astype(np.float32), ring.astype(np.float32)


def _ring_tone(phase: Image, species: Species) -> Image:
    if species.softwood:
        return phase**4 * np.clip((1 - phase) / 0.03, 0, 1)
    if species.porous_ring:
        return 0.5 * np.clip(1 - phase / 0.3, 0, 1) + 0.5 * phase**3
    return 0.35 * phase + np.exp(-(((phase - 0.95) / 0.04) ** 2))


def _rays(radius: Image, angle: Image, rng: np.random.Generator) -> Image:
    """Thin light spokes from the pith, about 0.05 mm wide and some millimetres long."""
    arc = (angle - angle.min()) * float(radius.mean()) / 0.05
    spokes = rng.normal(size=int(arc.max()) + 2).astype(np.float32)
    spoke = np.clip(spokes[arc.astype(np.int64)] - 0.9, 0, 1.5)
    return 0.45 * spoke * np.clip(0.6 + noise(radius.shape, 1.5 * END_PX_PER_MM, rng), 0, 1.5)


def _pores(phase: Image, species: Species, shape: tuple[int, int], rng: np.random.Generator) -> Image:
    """Darkness (0..1) of the vessels, small discs of three sizes; in softwoods but a rare resin canal."""
    chance = np.full(shape, max(species.pores, 0.05) / END_PX_PER_MM**2, np.float32)
    if species.porous_ring:
        chance *= 0.25 + 5.0 * (phase < 0.28)
    picture = np.zeros(shape, np.float32)
    for size in (0.7, 1.0, 1.3):
        holes = (rng.random(shape, dtype=np.float32) < chance / 3).astype(np.float32)
        picture += cv2.filter2D(holes, -1, _disc(species.pore_mm * size * END_PX_PER_MM))
    return np.clip(picture, 0, 1)


def _disc(radius_px: float) -> Image:
    reach = int(np.ceil(radius_px + 1))
    dy, dx = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    return np.clip(radius_px + 0.5 - np.hypot(dx, dy), 0, 1).astype(np.float32)


def _tool_marks(shape: tuple[int, int], rng: np.random.Generator) -> Image:
    """Fine parallel lines of the saw or plane that cut the end, across the thickness and a little askew."""
    long = (1.2 * END_PX_PER_MM * 0.05, 30.0 * END_PX_PER_MM)
    picture = noise(shape, long, rng)
    tilt = np.array([[1, rng.normal(0, 0.15), 0], [0, 1, 0]], np.float32)
    return cv2.warpAffine(picture, tilt, (shape[1], shape[0]), borderMode=cv2.BORDER_REFLECT)


def long_grain(species: Species, size_mm: tuple[float, float], px_per_mm: float, rng: np.random.Generator) -> Image:
    """A face or jaw (rows across the grain, cols along it)."""
    shape = (max(8, round(size_mm[1] * px_per_mm)), max(8, round(size_mm[0] * px_per_mm)))
    rows = np.arange(shape[0], dtype=np.float32)[:, None] / px_per_mm
    cathedral = rows + 3.0 * noise(shape, (60 * px_per_mm, 14 * px_per_mm), rng)
    bands = 0.5 + 0.5 * np.sin(2 * np.pi * cathedral / (2.2 * species.ring_mm))
    dark = 0.5 * species.ring * bands**3 + 0.09 * noise(shape, (12 * px_per_mm, 0.35 * px_per_mm), rng)
    dark += 0.12 * noise(shape, 40 * px_per_mm, rng)
    return mix(species, dark + 0.15)
