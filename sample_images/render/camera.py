"""The phone's camera: a pinhole with Brown-Conrady distortion, integer pixel = pixel centre, y down."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .params import CardSet, Params, Shot

Array = NDArray[np.float64]
DIAGONAL_35MM = float(np.hypot(36, 24))
SETTLE = 8
"""Fixed-point steps of the inverse distortion; each gains about two digits at |k| < 0.05."""


@dataclass(frozen=True)
class Camera:
    """`axes` (3, 3) has the image's right, image's down and viewing direction as rows; `eye` (3,) mm.

    World: X = x of the end frame, Y = -y, Z = height above the end.
    """

    f_px: float
    k1: float
    k2: float
    px: tuple[int, int]
    axes: Array
    eye: Array
    distance: float

    def coarser(self, times: int) -> Camera:
        """The same camera with `times` fewer pixels each way, which must divide the frame."""
        return replace(self, f_px=self.f_px / times, px=(self.px[0] // times, self.px[1] // times))

    @property
    def f35(self) -> float:
        """Focal length in 35 mm equivalents, by the diagonal, mm."""
        return self.f_px * DIAGONAL_35MM / float(np.hypot(*self.px))

    @property
    def centre(self) -> Array:
        """Principal point (2,), px: the middle of the frame."""
        return (np.array(self.px, float) - 1) / 2

    def project(self, end_points: Array) -> Array:
        """Pixels (n, 2) of points (n, 3) given as x, y, height in the end frame, mm."""
        return self.centre + self.f_px * self._distorted(self._normalised(end_points))

    def project_pinhole(self, end_points: Array) -> Array:
        """As `project`, without the lens distortion: where the path tracer puts them."""
        return self.centre + self.f_px * self._normalised(end_points)

    def pinhole_source(self) -> Array:
        """For every pixel of the photo (rows, cols, 2), where in the pinhole picture its light comes from, px."""
        cols, rows = np.meshgrid(np.arange(self.px[0], dtype=float), np.arange(self.px[1], dtype=float))
        wanted = (np.stack([cols, rows], -1) - self.centre) / self.f_px
        guess = wanted.copy()
        for _ in range(SETTLE):
            guess = wanted / self._swell(guess)
        return self.centre + self.f_px * guess

    def _normalised(self, end_points: Array) -> Array:
        world = np.asarray(end_points, float) * (1, -1, 1)
        seen = (world - self.eye) @ self.axes.T
        return seen[:, :2] / seen[:, 2:]

    def _distorted(self, points: Array) -> Array:
        return points * self._swell(points)

    def _swell(self, points: Array) -> Array:
        r2 = np.sum(points**2, axis=-1, keepdims=True)
        return 1 + self.k1 * r2 + self.k2 * r2**2


def place(scene: Params, subject: Array) -> Camera:
    """A camera that sees all of `subject` (n, 3; end frame), at the wanted scale or the largest there is room for."""
    shot = scene.shot
    middle = (subject.min(0) + subject.max(0)) / 2
    scale = shot.px_per_mm
    for _ in range(12):
        camera = _aimed(shot, scale * shot.distance, middle)
        overflow = _overflow(camera, subject)
        if overflow <= 1:
            return _shifted(camera, subject, shot)
        scale /= overflow * 1.005
    return camera


def _aimed(shot: Shot, f_px: float, middle: Array) -> Camera:
    tilt, azimuth, roll = np.radians([shot.tilt, shot.azimuth, shot.roll])
    back = np.array([np.sin(tilt) * np.cos(azimuth), np.sin(tilt) * np.sin(azimuth), np.cos(tilt)])
    forward = -back
    right = np.array([1.0, 0, 0]) - forward[0] * forward
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    axes = np.array([np.cos(roll) * right + np.sin(roll) * down, np.cos(roll) * down - np.sin(roll) * right, forward])
    return Camera(f_px, shot.k1, shot.k2, shot.px, axes, middle * (1, -1, 1) + shot.distance * back, shot.distance)


def _overflow(camera: Camera, subject: Array) -> float:
    """How far the subject reaches, 1 = to the border less 4 % of the frame."""
    reach = np.abs(camera.project(subject) - camera.centre) / (np.array(camera.px) * 0.46)
    return float(reach.max())


def _shifted(camera: Camera, subject: Array, shot: Shot) -> Camera:
    """The camera moved sideways within the room that is left, as nobody centres a photo."""
    room = np.array(camera.px) * 0.46 - np.abs(camera.project(subject) - camera.centre).max(0)
    move = np.clip(room, 0, 0.12 * np.array(camera.px)) * shot.aim * camera.distance / camera.f_px * 0.9
    return Camera(
        camera.f_px,
        camera.k1,
        camera.k2,
        camera.px,
        camera.axes,
        camera.eye + move[0] * camera.axes[0] + move[1] * camera.axes[1],
        camera.distance,
    )


@dataclass(frozen=True)
class CardPose:
    """Where the card lies: `centre` (3,) of its pattern and its unit vectors right and down, in the end frame."""

    centre: Array
    right: Array
    down: Array

    def points(self, card_points: Array) -> Array:
        """End-frame points (n, 3) of card points (n, 2), mm right and down from the pattern's centre."""
        flat = np.asarray(card_points, float)
        return self.centre + flat[:, :1] * self.right + flat[:, 1:2] * self.down


def card_pose(card: CardSet, board_width: float, reach: tuple[float, float]) -> CardPose:
    """The pose that leaves `card.gap` between the card's nearest corner and the show face.

    `reach` is half the width and half the height of the sheet, mm.
    """
    turn, lean_x, lean_y = np.radians([card.turn, card.tilt[0], card.tilt[1]])
    right = np.array([np.cos(turn), np.sin(turn), np.tan(lean_y)])
    down = np.array([-np.sin(turn), np.cos(turn), np.tan(lean_x)])
    right = right / np.linalg.norm(right)
    down = down - (down @ right) * right
    down /= np.linalg.norm(down)
    nearest = abs(right[1]) * reach[0] + down[1] * reach[1]
    return CardPose(np.array([board_width / 2 + card.shift, -card.gap - nearest, card.height]), right, down)
