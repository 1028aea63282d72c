"""Samples across the card's upright edges, from which the photo's edge profile is learned."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.plane import PlaneMap
from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import srgb_to_linear

Floats = NDArray[np.float64]

_REACH_PX, _LONG_REACH_PX = 5.0, 16.0
"""How far to either side of an edge samples are taken: in a sharp photo, and when that turns out too short."""
_LONG_RISE_PX = 4.5
"""Rise of an edge (px) from which samples are taken farther out."""
_TABLE = srgb_to_linear(np.arange(256) / 255.0)


def learn_edge_profile(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card) -> EdgeProfile | None:
    """The photo's edge profile in px across the card's upright edges; None when too few can be seen."""
    profile = _profile_within(rgb, plane, card, _REACH_PX)
    if profile is not None and profile.rise > _LONG_RISE_PX:
        margin_px = 0.36 * (card.square_mm - card.marker_mm) * _middle_scale(plane, card)
        return _profile_within(rgb, plane, card, min(_LONG_REACH_PX, margin_px)) or profile
    return profile


def _profile_within(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, reach_px: float) -> EdgeProfile | None:
    unit = _middle_scale(plane, card)
    x, y, edge = _edge_grid(card, unit, reach_px)
    pixels = np.rint(plane.card_to_image(np.column_stack([x.ravel(), y.ravel()]))).astype(int)
    height, width = rgb.shape[:2]
    seen = np.asarray(((pixels >= 0) & (pixels < [width, height])).all(axis=1))
    pixels = np.where(seen[:, None], pixels, 0)
    light = _TABLE[rgb[pixels[:, 1], pixels[:, 0]]].mean(axis=1).reshape(x.shape)
    distance = (plane.to_card(pixels.astype(float))[:, 0].reshape(x.shape) - edge) * unit
    return _profile_of(distance, light, seen.reshape(x.shape), 0.7 * reach_px)


def _middle_scale(plane: PlaneMap, card: Card) -> float:
    """Pixels per mm in the middle of the card."""
    return plane.px_per_mm(np.array([card.width_mm, card.height_mm]) / 2.0)


def _edge_grid(card: Card, unit: float, reach_px: float) -> tuple[Floats, Floats, Floats]:
    """Points (edges, samples) across every upright edge between two squares, and the edge's x."""
    across = np.arange(-reach_px, reach_px + 0.01, 0.1 * reach_px) / unit
    along = np.linspace(0.2, 0.8, 9) * card.square_mm
    du, dv = (grid.ravel() for grid in np.meshgrid(across, along))
    columns, rows = np.meshgrid(np.arange(1, card.squares_x), np.arange(card.squares_y))
    edge = (columns.ravel() * card.square_mm)[:, None] + np.zeros(len(du))
    return edge + du, (rows.ravel() * card.square_mm)[:, None] + dv, edge


def _profile_of(distance: Floats, light: Floats, seen: NDArray[np.bool_], level_px: float) -> EdgeProfile | None:
    """The profile of samples (edges, samples); the levels on either side are read beyond `level_px`."""
    distances, levels = [], []
    for d, value, inside in zip(distance, light, seen, strict=True):
        left, right = value[d < -level_px], value[d > level_px]
        if not inside.all() or min(len(left), len(right)) < 5:
            continue
        low, high = np.median(left), np.median(right)
        if abs(high - low) > 0.05:
            distances.append(d)
            levels.append((value - low) / (high - low))
    if len(distances) < 8:
        return None
    return EdgeProfile.from_samples(np.concatenate(distances), np.concatenate(levels))
