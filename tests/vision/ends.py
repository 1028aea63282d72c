"""Scenes measured once in a test run, and made-up walls and line fits, for the tests of the measuring steps."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.card_detect import CardCorners, detect_card
from calibration.lens_prior import LensPrior
from calibration.plane import PlaneMap, solve_plane
from calibration.prints.shape import UNCHECKED
from calibration.quantity import Quantity
from tests.scenes import Scene, rendered
from vision.end.check import measure_end
from vision.end.find_walls import RoughWall
from vision.end.found_end import FoundEnd, locate_end
from vision.end.report import Measurement, Side, Wall
from vision.walls.fit import LineFit
from vision.walls.measure import MeasuredWall
from vision.walls.model import WallPicture
from vision.walls.parts import EDGE, INK, KERF, LINE, PARAMETERS

Floats = NDArray[np.float64]


@cache
def measured(scene: Scene) -> Measurement:
    """The whole check of the scene's photo."""
    return measure_end(rendered(scene).photo)


@cache
def solved(scene: Scene) -> tuple[CardCorners, PlaneMap]:
    """The card in the scene's photo and its plane."""
    photo = rendered(scene).photo
    corners = detect_card(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY))
    size = (photo.width_px, photo.height_px)
    prior = LensPrior.from_focal(scene.focal_px, 0.02, size)
    return corners, solve_plane(corners.points_mm, corners.points_px, size_px=size, lens=prior, card=UNCHECKED)[0]


@cache
def located(scene: Scene, side: str = "show") -> FoundEnd:
    """The end in the scene's photo, the card on the given side."""
    corners, plane = solved(scene)
    told = "transfer" if side == "transfer" else "show"
    return locate_end(rendered(scene).photo.rgb, plane, corners.card, told, scene.card_edge)


def made_wall(
    number: int = 0,
    x_mm: float = 10.0,
    slope: float = 0.0,
    *,
    bumps: Floats | None = None,
    scatter: float = 0.01,
    slope_u: float = 0.0005,
    line_mm: float = 4.0,
    ink: float = 0.0,
    kerf_mm: float | None = 0.6,
) -> MeasuredWall:
    """A wall with edge points every 0.2 mm over 16 mm; `bumps` (n,) are added to them, in mm."""
    side: Side = "left" if number % 2 == 0 else "right"
    parameters = np.zeros(PARAMETERS)
    parameters[EDGE], parameters[LINE], parameters[INK] = 0.0, line_mm, ink
    parameters[KERF] = 0.58
    picture = WallPicture(parameters, 0.0)
    y = np.arange(-8.0, 8.01, 0.2)
    x = x_mm + slope * y + (0.0 if bumps is None else bumps)
    line = LineFit(0.0, x_mm, slope, 0.003, slope_u, scatter, 40.0)
    return MeasuredWall(RoughWall(number // 2, side, x_mm, slope, kerf_mm), line, picture, y, x)


def leaning_walls(x_mm: Floats, lean_deg: Floats, thickness_mm: float = 18.0) -> tuple[Wall, ...]:
    """Walls of a report, without uncertainty, at `x_mm` (n,) half-way through the board."""
    walls = []
    for index, (x, lean) in enumerate(zip(x_mm.tolist(), lean_deg.tolist(), strict=True)):
        out = float(np.tan(np.radians(lean))) * thickness_mm
        ends = Quantity(x - out / 2.0), Quantity(x + out / 2.0)
        side: Side = "left" if index % 2 == 0 else "right"
        walls.append(Wall(index // 2, side, Quantity(lean, {}, "deg"), *ends, Quantity(out), abs(out), 0.6))
    return tuple(walls)
