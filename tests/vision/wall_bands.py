"""Synthetic bands across one wall, with edges known exactly: for the tests of the wall model."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.photo.edge_profile import EdgeProfile
from vision.walls.lights import Bands

Floats = NDArray[np.float64]

PROFILE = EdgeProfile(blur=0.06, overshoot=0.3, halo=0.09)
WOOD = np.array([1.0, 0.97, 0.94])
BENCH = 0.05
"""Light of a dark bench, relative to the wood."""


@dataclass(frozen=True)
class Scene:
    """A wall's edge in its band: mm and mm per mm; `line` is the place of a drawn line's middle, None for no line.

    `ring` is how much darker the wood grows over the last millimetre before the edge, more so toward the far face;
    `shoulder` is how far past the edge the floor ends, but for the last two millimetres, where it is not seen at all.
    `ink` is the share of the wood's light that the line takes away, less than nothing where it is the lighter one.
    """

    edge: float = 0.03
    slope: float = 0.01
    kerf: float | None = 0.6
    line: float | None = None
    line_width: float = 0.3
    floor: float = 0.5
    noise: float = 0.01
    rough: float = 0.0
    ring: float = 0.0
    shoulder: float | None = None
    ink: tuple[float, float, float] = (0.65, 0.6, 0.05)


def seen(scene: Scene, rng: np.random.Generator, *, rows: int, unit: float, length: float = 16.0) -> Bands:
    """The one band of `scene` at `unit` samples per mm, with independent noise in every sample."""
    along = np.linspace(-length / 2.0, length / 2.0, rows)
    across = np.arange(-1.4, 1.4, 1.0 / unit)
    edge = (scene.edge + scene.slope * along + scene.rough * rng.normal(size=rows))[:, None]
    tail = PROFILE.step(edge - across)
    late = scene.ring * np.clip(1.0 - (edge - across), 0.0, 1.0) * (0.5 + along / length)[:, None]
    light = (tail * (1.0 - late))[:, None] * WOOD[:, None]
    if scene.line is not None:
        right = np.minimum(scene.line + scene.line_width / 2.0, edge)
        left = np.minimum(scene.line - scene.line_width / 2.0, edge)
        strip = PROFILE.step(right - across) - PROFILE.step(left - across)
        light = light - strip[:, None] * (WOOD * np.array(scene.ink))[:, None]
    if scene.kerf is None:
        light = light + _floor(scene, tail, along, across)[:, None] * WOOD[:, None]
    else:
        waste = PROFILE.step(across - edge - scene.kerf)
        light = light + waste[:, None] * WOOD[:, None] + 0.06 * (1.0 - tail - waste)[:, None]
    noisy = (light + scene.noise * rng.normal(size=light.shape)).astype(np.float32)
    return Bands(noisy[None], along, across[None], np.ones((1, len(across)), bool))


def _floor(scene: Scene, tail: Floats, along: Floats, across: Floats) -> Floats:
    """Light (rows, columns) of what lies past the `tail` (rows, columns), relative to the wood."""
    if scene.shoulder is None:
        return np.asarray((1.0 - tail) * scene.floor)
    beyond = np.where((along < along[-1] - 2.0)[:, None], PROFILE.step(across - scene.edge - scene.shoulder), 1.0)
    return np.asarray((1.0 - tail) * (scene.floor + (BENCH - scene.floor) * beyond))


def together(bands: list[Bands]) -> Bands:
    """Bands over the same rows side by side; narrow ones are filled up with nonsense that is not `seen`."""
    widest = max(band.across.shape[1] for band in bands)

    def filled(array: NDArray[np.generic], value: float) -> NDArray[np.generic]:
        room = [(0, 0)] * (array.ndim - 1) + [(0, widest - array.shape[-1])]
        return np.pad(array, room, constant_values=value)

    light, seen = (np.concatenate([filled(getattr(b, name), 0.0) for b in bands]) for name in ("light", "seen"))
    across = np.concatenate([filled(band.across, 1.3) for band in bands])
    return Bands(np.where(seen[:, None, None], light, np.float32(5.0)), bands[0].along, across, seen)
