"""Photos of faces with the card on or beside them, painted with exact truth; see `tests.scenes` for the means."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tests.scenes import (
    BENCH,
    KERF,
    LINE_SHARE,
    TEXTURE_PX_PER_MM,
    WHITE,
    Light,
    Scene,
    _between,
    _developed,
    _grain,
    _painted_card,
    _Sheet,
    camera,
    printed,
)
from vision.face.report import FaceView
from vision.lie.card_lie import CardLie, TiltedView
from vision.photo.photo import Lens, Photo
from vision.photo.strip import Frame

Floats = NDArray[np.float64]

_AROUND_MM, _LONG_MM = 5.0, 75.0
LINE_MM, DRAWN_MM = 0.2, 0.25
"""Widths of the baseline, and of the lines drawn beside cuts."""

_SCENE = Scene(aim_mm=(60.0, 36.0))


@dataclass(frozen=True)
class FaceScene:
    """A face and its photo: `x_at_end_mm`, `slopes` (run over rise) and `past_mm` go cut by cut as on the end.

    `scene` holds camera, card, wood and noise. The card's print lies `above_mm` over the face; the end's left corner,
    as the picture has it, is at `corner_mm` of the card, the board turned by `turn_deg`.
    """

    view: FaceView = "show"
    x_at_end_mm: tuple[float, ...] = (6.0, 26.0, 31.0, 51.0, 56.0, 76.0)
    slopes: tuple[float, ...] = (0.16, 0.14, 0.15, 0.17, 0.125, 0.15)
    past_mm: tuple[float, ...] = (0.0, 0.8, -0.7, 0.05, 1.2, -0.1)
    width_mm: float = 82.0
    depth_mm: float = 15.0
    baseline_deg: float = 0.15
    baseline: bool = True
    graphite: float | None = None
    """Light of a pencilled baseline's graphite over that of white paper; None: the line is cut."""
    cleared: bool = False
    kerf_mm: float = 0.6
    rough_mm: float = 0.01
    lines: tuple[int, ...] = ()
    """Cuts with a drawn line 0.3 mm inside the tail."""
    above_mm: float = 0.3
    corner_mm: tuple[float, float] = (19.0, 64.0)
    turn_deg: float = 1.0
    bench: tuple[float, float, float] = (float(BENCH[0]), float(BENCH[1]), float(BENCH[2]))
    scene: Scene = _SCENE

    def baseline_at(self, x_mm: Floats) -> Floats:
        """Depth of the baseline at x."""
        return np.asarray(self.depth_mm + np.tan(np.radians(self.baseline_deg)) * x_mm)

    def stops_mm(self) -> Floats:
        """Depths at which the cuts stop."""
        x, run = np.array(self.x_at_end_mm), self.ways() * np.array(self.slopes)
        turn = np.tan(np.radians(self.baseline_deg))
        past = np.array(self.past_mm)
        return np.asarray((self.depth_mm + turn * x + past) / (1.0 - turn * run))

    def ways(self) -> Floats:
        """+1 for a left cut, which runs to +x with depth when the tail narrows, -1 for a right one."""
        return np.tile([1.0, -1.0], len(self.x_at_end_mm) // 2 + 1)[: len(self.x_at_end_mm)]


@cache
def face_photo(face: FaceScene) -> Photo:
    """The photo of a face, painted once in a test run."""
    scene, plane = face.scene, camera(face.scene)
    rng = np.random.default_rng(scene.seed)
    sigma_mm = scene.blur_px / scene.px_per_mm
    light = np.broadcast_to(np.array(face.bench, np.float32), (scene.size_px[1], scene.size_px[0], 3)).copy()
    frame = Frame.turned(np.array(face.corner_mm), float(np.radians(face.turn_deg)))
    frame = frame.moved(face.width_mm, 0.0, np.pi)
    view = TiltedView(plane, frame, CardLie(-face.above_mm))
    painted = _painted_face(face, rng, sigma_mm)
    _Sheet(*painted, lambda seen: frame.from_plane(view.true_points(seen))).lay_on(light, plane)
    if scene.card:
        _Sheet(*_painted_card(scene, sigma_mm), printed(scene).nominal_points).lay_on(light, plane)
    lens = Lens(focal_px=scene.focal_px * 1.005, focal_u_px=scene.focal_px * 0.02)
    rgb = np.ascontiguousarray(np.rot90(_developed(light, scene, rng), scene.quarter_turns))
    return Photo(rgb, lens)


def _painted_face(face: FaceScene, rng: np.random.Generator, sigma: float) -> tuple[Light, Floats]:
    """The face and the bench around it, and its origin, in the frame with x to the left of the picture."""
    unit, origin = TEXTURE_PX_PER_MM, np.full(2, -_AROUND_MM)
    u = origin[0] + (np.arange(round((face.width_mm + 2 * _AROUND_MM) * unit)) + 0.5) / unit
    y = origin[1] + (np.arange(round((_LONG_MM + _AROUND_MM) * unit)) + 0.5) / unit
    x = u if face.view == "show" else face.width_mm - u
    cover = (_between(u, 0.0, face.width_mm, sigma) * _between(y, 0.0, 1e3, sigma)[:, None]).astype(np.float32)
    share = np.ones((len(y), len(x), 3), np.float32)
    if face.baseline:
        _draw_baseline(share, face, x, y, sigma)
    for index in face.lines:
        _draw_line(share, face, index, x, y, sigma)
    if face.cleared:
        cover *= _tails(face, x, y, sigma)
    else:
        _saw(share, face, rng, x, y, sigma)
    wood = np.array(face.scene.wood, np.float32) * _grain(rng, len(y), len(x))[..., None]
    return share * wood * cover[..., None] + (1.0 - cover[..., None]) * np.array(face.bench, np.float32), origin


def _draw_baseline(share: Light, face: FaceScene, x: Floats, y: Floats, sigma: float) -> None:
    """A cut shades the wood evenly; graphite hides it behind its own grey."""
    line = 0.5 * _line(y[:, None] - face.baseline_at(x), LINE_MM, sigma)[..., None].astype(np.float32)
    grey = 0.0 if face.graphite is None else face.graphite * WHITE / np.array(face.scene.wood, np.float32)
    share *= 1.0 - line
    share += line * grey


def _line(away: Floats, width_mm: float, sigma: float) -> Floats:
    return _between(away, -width_mm / 2.0, width_mm / 2.0, sigma)


def _wall_x(face: FaceScene, index: int, y: Floats) -> Floats:
    return np.asarray(face.x_at_end_mm[index] + face.ways()[index] * face.slopes[index] * y)


def _draw_line(share: Light, face: FaceScene, index: int, x: Floats, y: Floats, sigma: float) -> None:
    middle = _wall_x(face, index, y) + 0.3 * face.ways()[index]
    ink = _line(x - middle[:, None], DRAWN_MM, sigma) * _between(y, -1.0, face.depth_mm, sigma)[:, None]
    share *= (1.0 - ink[..., None] * (1.0 - LINE_SHARE)).astype(np.float32)


def _saw(share: Light, face: FaceScene, rng: np.random.Generator, x: Floats, y: Floats, sigma: float) -> None:
    for index, stop in enumerate(face.stops_mm()):
        wall = _wall_x(face, index, y) + face.rough_mm * rng.standard_normal(len(y))
        way = face.ways()[index]
        inside = np.abs(x - (wall - way * face.kerf_mm / 2.0)[:, None])
        kerf = (
            _between(inside, -face.kerf_mm / 2.0, face.kerf_mm / 2.0, sigma) * _between(y, -9.0, stop, sigma)[:, None]
        )
        share *= (1.0 - kerf[..., None]).astype(np.float32)
        share += (KERF * kerf)[..., None].astype(np.float32)


def _tails(face: FaceScene, x: Floats, y: Floats, sigma: float) -> Light:
    """What is left of the face's cover with the waste out."""
    below = _between(y[:, None] - face.baseline_at(x), 0.0, 1e3, sigma)
    tails = np.zeros((len(y), len(x)))
    for index in range(0, len(face.x_at_end_mm), 2):
        left, right = (_wall_x(face, index + k, y)[:, None] for k in (0, 1))
        tails += _between(x, left, right, sigma)
    return np.asarray(below + (1.0 - below) * tails, np.float32)
