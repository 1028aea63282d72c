"""Simulated photos of a card by one phone, as corners only: lens, print, focus and stabiliser drawn from a seed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.camera.bundle import View, card_matrix
from calibration.camera.model import Floats, image_points, rotation_matrix, rotation_vector
from calibration.card import CARDS
from calibration.lens_prior import FOCUS_U, STABILISER_SHARE

POINTS = CARDS["short"].corner_points_mm
SIZE = (4000, 3000)
CENTRE = (np.array(SIZE) - 1.0) / 2.0
FOCAL_PX, SIGMA_PX, DISTANCE_MM = 5500.0, 0.06, 320.0

PLAN: tuple[tuple[tuple[float, float], float, tuple[float, float]], ...] = (
    ((0, 0), 0, (-900, -700)),
    ((22, 0), 0, (600, 500)),
    ((-22, 5), 90, (0, 0)),
    ((3, 24), 0, (700, -700)),
    ((0, -24), 10, (-600, 600)),
    ((15, 15), 45, (0, 0)),
    ((-16, 15), -30, (300, 300)),
    ((16, -14), 90, (900, 0)),
    ((-14, -17), 0, (0, -800)),
    ((5, 3), 90, (-1100, 0)),
)
"""Tilts about the picture's x and y in degrees, roll in degrees, and where in the picture (px from its middle)."""


@dataclass(frozen=True)
class Phone:
    """The truth: lens (8,) and the card's (log aspect, skew) (2,)."""

    lens: Floats
    shape: Floats


def drawn_phone(rng: np.random.Generator) -> Phone:
    """A phone and a print such as people have."""
    draw = rng.standard_normal(7) * [0.02, 0.02, 0.008, 20.0, 20.0, 0.003, 0.001]
    draw[0] += np.log(FOCAL_PX)
    return Phone(np.concatenate([draw[:5], np.zeros(3)]), draw[5:])


def pose(tilt_deg: Floats, roll_deg: float, aim_px: Floats, distance_mm: float = DISTANCE_MM) -> Floats:
    """The pose (6,) of the card so tilted and rolled, its middle `aim_px` from the picture's."""
    first, second, third = (
        rotation_matrix(np.radians(angle) * axis) for angle, axis in zip((*tilt_deg, roll_deg), np.eye(3), strict=True)
    )
    matrix = first @ second @ third
    middle = np.array([*(np.asarray(aim_px) * distance_mm / FOCAL_PX), distance_mm])
    return np.concatenate([rotation_vector(matrix), middle - matrix[:, :2] @ POINTS.mean(axis=0)])


def card_views(phone: Phone, rng: np.random.Generator, *, moving: bool = True, photos: int = len(PLAN)) -> list[View]:
    """Views by `PLAN`, a little off it each time; `moving` lets focus and stabiliser move from photo to photo."""
    views = []
    for number, (tilt, roll, aim) in enumerate(PLAN[:photos]):
        distance = DISTANCE_MM * (1.0 + 0.05 * rng.standard_normal())
        shaken = np.array(tilt) + 3.0 * rng.standard_normal(2), roll + 5.0 * float(rng.standard_normal())
        where = pose(*shaken, np.array(aim) + 50.0 * rng.standard_normal(2), distance)
        views.append(_view(phone, where, rng, moving, f"photo-{number}.jpg"))
    return views


def _view(phone: Phone, where: Floats, rng: np.random.Generator, moving: bool, name: str) -> View:
    lens = phone.lens.copy()
    stabiliser = STABILISER_SHARE * SIZE[0]
    lens[[0, 3, 4]] += float(moving) * rng.standard_normal(3) * [FOCUS_U, stabiliser, stabiliser]
    pixels = image_points(where, lens, CENTRE, POINTS @ card_matrix(*phone.shape.tolist()).T)
    inside = ((pixels > 0.0) & (pixels < SIZE)).all(axis=1)
    seen = pixels[inside] + SIGMA_PX * rng.standard_normal((int(inside.sum()), 2))
    return View(POINTS[inside], seen, name)
