"""Photos of ends beside the card, painted with exact truth: card, wood, kerfs or sockets, gap, bench, camera, noise.

Card and end are painted in their own planes with edges blurred in closed form, then seen through
`calibration.plane.project`'s camera. Lengths mm, light linear, angles degrees; everything random comes from the seed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from calibration.card import CARDS, DICTIONARY_NAME, MARGIN_MM, Card
from calibration.plane import PARAMETERS, PlaneMap, rotation_matrix
from calibration.prints.shape import EXACT, PrintShape
from vision.lie.card_lie import CardLie, TiltedView
from vision.photo.photo import Lens, Photo
from vision.photo.strip import Frame

Floats = NDArray[np.float64]
Light = NDArray[np.float32]

TEXTURE_PX_PER_MM = 25
"""Finer than any photo here; a whole number of pixels to every card cell of 1.0 and 1.2 mm."""
WHITE, BLACK, GAP, KERF, BENCH = 0.8, 0.03, 0.015, 0.02, np.array([0.10, 0.10, 0.10])
FLOOR_SHARE, SIDE_SHARE, LINE_SHARE = 0.40, 0.25, np.array([0.25, 0.28, 0.40])
GAP_MM, AROUND_MM = 0.8, 5.0
_KNOTS = 40


@dataclass(frozen=True)
class Scene:
    """What is photographed. `leans_deg` and `places_mm` (at mid thickness) go wall by wall, left to right."""

    leans_deg: tuple[float, ...] = (0.3, -0.2, 0.0, 0.5, -0.4, 0.1)
    places_mm: tuple[float, ...] = (7.0, 23.0, 33.0, 49.0, 59.0, 75.0)
    width_mm: float = 82.0
    thickness_mm: float = 18.0
    cleared: bool = False
    kerf_mm: float = 0.6
    rough_mm: float = 0.01
    drill: bool = False
    """Practice cuts that make no tails: `places_mm` and `leans_deg` are those of the kerfs' middles."""
    bow_mm: float = 0.0
    """How far every wall stands off its straight line half-way through the board."""
    lines: tuple[int, ...] = ()
    """Walls with a drawn line 0.3 mm inside the tail."""
    board: bool = True
    board_left_mm: float = 18.0
    board_turn_deg: float = 0.4
    lie: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """Height (mm) of the end above the card, in the middle of its show edge, and its rise (deg) along and across."""
    card_edge: int = 0
    """The edge of the card that faces the board, as quarter turns (`vision.photo.card_turn`)."""
    card_side: str = "show"
    """The face that the card lies along."""
    depth_mm: float = 18.0
    slope: float = 0.125
    """How the tails narrow toward the baseline, run over rise: their sides hide beneath them."""
    wood: tuple[float, float, float] = (0.52, 0.40, 0.27)
    card: str = "short"
    dictionary: str = DICTIONARY_NAME
    print_scale: tuple[float, float] = (1.0, 1.0)
    print_skew_deg: float = 0.0
    """How the card came out of the printer: true over nominal size in x and y, departure of its right angle."""
    covered_mm: tuple[float, float, float, float] | None = None
    """Left, top, right, bottom of what hides part of the card."""
    size_px: tuple[int, int] = (2400, 1700)
    px_per_mm: float = 15.0
    focal_px: float = 4000.0
    tilt_deg: tuple[float, float] = (2.0, -3.0)
    roll_deg: float = 1.0
    k1: float = 0.005
    k2: float = 0.0
    aim_mm: tuple[float, float] = (60.0, 33.0)
    """The point of the card's plane in the middle of the picture."""
    blur_px: float = 1.0
    noise: float = 0.008
    """Standard deviation of the stored levels (0 to 1)."""
    exposure: float = 1.0
    quarter_turns: int = 0
    tells_focal: bool = True
    seed: int = 1


@dataclass(frozen=True)
class Rendered:
    """A photo and its truth: `x_show`, `x_transfer` (walls,) in the end frame; `plane` is for zero `quarter_turns`."""

    photo: Photo
    scene: Scene
    plane: PlaneMap
    frame: Frame
    lean_deg: Floats
    x_show: Floats
    x_transfer: Floats


@cache
def rendered(scene: Scene) -> Rendered:
    """The photo of `scene` with its truth, rendered once in a test run."""
    return render(scene)


def camera(scene: Scene) -> PlaneMap:
    """The true map between card plane and picture."""
    vector = np.radians([*scene.tilt_deg, scene.roll_deg])
    distance = scene.focal_px / scene.px_per_mm
    shift = np.array([0.0, 0.0, distance]) - rotation_matrix(vector)[:, :2] @ np.array(scene.aim_mm)
    theta = np.concatenate([vector, shift, [np.log(scene.focal_px), scene.k1, scene.k2, 0.0, 0.0]])
    centre = (np.array(scene.size_px, float) - 1.0) / 2.0
    return PlaneMap(theta, centre, np.zeros((PARAMETERS, PARAMETERS)))


def printed(scene: Scene) -> PrintShape:
    """The true shape of the scene's card."""
    x_scale, y_scale = scene.print_scale
    return replace(EXACT, x_scale=x_scale, y_scale=y_scale, skew_rad=float(np.radians(scene.print_skew_deg)))


def end_frame(scene: Scene) -> Frame:
    """The end's frame in the card's plane."""
    top = CARDS[scene.card].height_mm + MARGIN_MM + GAP_MM
    turn = np.radians(scene.board_turn_deg)
    frame = Frame.turned(np.array([scene.board_left_mm, top + max(0.0, -np.tan(turn)) * scene.width_mm]), float(turn))
    if scene.card_side == "transfer":
        frame = frame.moved(scene.width_mm, scene.thickness_mm, np.pi)
    return _beyond_edge(frame, scene)


def _beyond_edge(frame: Frame, scene: Scene) -> Frame:
    """The frame of an end below the card, carried round to lie beyond another of the card's edges."""
    size = np.array([CARDS[scene.card].width_mm, CARDS[scene.card].height_mm])
    round_middle = Frame.turned(size / 2.0, -scene.card_edge * np.pi / 2.0)
    outward = (size[0] - size[1]) / 2.0 * (scene.card_edge % 2)
    origin = round_middle.to_plane((frame.origin - size / 2.0)[None] + [0.0, outward])[0]
    axes = np.column_stack([round_middle.right, round_middle.down])
    return Frame(origin, axes @ frame.right, axes @ frame.down)


def end_view(scene: Scene) -> TiltedView:
    """The true camera over an end that lies against the card as the scene says."""
    height, along, across = scene.lie
    lie = CardLie(height, float(np.tan(np.radians(along))), float(np.tan(np.radians(across))))
    return TiltedView(camera(scene), end_frame(scene).moved(scene.width_mm / 2.0, 0.0, 0.0), lie)


def render(scene: Scene) -> Rendered:
    """The photo of `scene` with its truth."""
    rng = np.random.default_rng(scene.seed)
    plane, frame = camera(scene), end_frame(scene)
    sigma_mm = scene.blur_px / scene.px_per_mm
    light = np.broadcast_to(BENCH.astype(np.float32), (scene.size_px[1], scene.size_px[0], 3)).copy()
    card = _Sheet(*_painted_card(scene, sigma_mm), printed(scene).nominal_points)
    sheets = [card]
    if scene.board:
        view = end_view(scene)
        lying = _Sheet(
            *_painted_end(scene, rng, sigma_mm, plane, frame), lambda seen: frame.from_plane(view.true_points(seen))
        )
        sheets.append(lying)
    for sheet in sheets:
        sheet.lay_on(light, plane)
    lean = np.array(scene.leans_deg)
    swing = np.tan(np.radians(lean)) * scene.thickness_mm / 2.0
    lens = Lens(focal_px=scene.focal_px * 1.005, focal_u_px=scene.focal_px * 0.02) if scene.tells_focal else Lens()
    rgb = np.ascontiguousarray(np.rot90(_developed(light, scene, rng), scene.quarter_turns))
    places = np.array(scene.places_mm)
    return Rendered(Photo(rgb, lens), scene, plane, frame, lean, places - swing, places + swing)


@dataclass(frozen=True)
class _Sheet:
    """A painted piece of the plane: `texture` (rows, columns, 3), its `origin` (2,) and how plane mm become its own."""

    texture: Light
    origin: Floats
    own: Callable[[Floats], Floats]

    def lay_on(self, light: Light, plane: PlaneMap) -> None:
        """Replace the pixels of `light` that the sheet covers."""
        height, width = light.shape[:2]
        where = (_plane_of_pixels(plane, width, height, self.own) - self.origin) * TEXTURE_PX_PER_MM - 0.5
        rows, columns = self.texture.shape[:2]
        x, y = where[..., 0].astype(np.float32), where[..., 1].astype(np.float32)
        inside = (x >= 0.0) & (y >= 0.0) & (x <= columns - 1) & (y <= rows - 1)
        lines, posts = np.nonzero(inside.any(axis=1))[0], np.nonzero(inside.any(axis=0))[0]
        box = np.s_[lines[0] : lines[-1] + 1, posts[0] : posts[-1] + 1]
        seen = cv2.remap(self.texture, x[box], y[box], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        np.copyto(light[box], seen, where=inside[box][..., None])


def _plane_of_pixels(plane: PlaneMap, width: int, height: int, own: Callable[[Floats], Floats]) -> Light:
    """Sheet mm (height, width, 2) of every pixel, cubic between knots: good to a ten-thousandth."""
    step = float(_KNOTS)
    x, y = np.arange(-2 * step, width + 3 * step, step), np.arange(-2 * step, height + 3 * step, step)
    knots = np.stack(np.meshgrid(x, y), axis=-1)
    values = own(plane.to_plane(knots.reshape(-1, 2))).reshape(knots.shape)
    across, down = _spline(np.arange(width), x), _spline(np.arange(height), y)
    parts = [(down @ values[..., axis] @ across.T) for axis in (0, 1)]
    return np.stack(parts, axis=-1)


def _spline(places: NDArray[np.int_], knots: Floats) -> Floats:
    """Weights (places, knots) of cubic Lagrange interpolation on even knots."""
    position = (places - knots[0]) / (knots[1] - knots[0])
    low = np.floor(position).astype(int)
    t = position - low
    weights = np.zeros((len(places), len(knots)))
    rows = np.arange(len(places))
    before, after = t - 1, t - 2
    shares = (-t * before * after / 6, (t + 1) * before * after / 2, -(t + 1) * t * after / 2, t * (t + 1) * before / 6)
    for offset, share in zip((-1, 0, 1, 2), shares, strict=True):
        weights[rows, low + offset] = share
    return weights


def _painted_card(scene: Scene, sigma_mm: float) -> tuple[Light, Floats]:
    card, unit = CARDS[scene.card], TEXTURE_PX_PER_MM
    width, height = round(card.width_mm * unit), round(card.height_mm * unit)
    board = _board(card, scene.dictionary)
    margin = round(MARGIN_MM * unit)
    picture = board.generateImage((width + 2 * margin, height + 2 * margin), marginSize=margin)
    level = np.where(picture > 127, WHITE, BLACK).astype(np.float32)
    if scene.covered_mm is not None:
        left, top, right, bottom = ((np.array(scene.covered_mm) + MARGIN_MM) * unit).round().astype(int)
        level[top:bottom, left:right] = 0.2
    around = round(5.0 * sigma_mm * unit)
    level = cv2.copyMakeBorder(level, *[around] * 4, cv2.BORDER_CONSTANT, value=float(BENCH[0]))
    level = cv2.GaussianBlur(level, None, sigma_mm * unit)
    return np.repeat(level[..., None], 3, axis=2), np.full(2, -(margin + around) / unit)


def _board(card: Card, dictionary: str) -> cv2.aruco.CharucoBoard:
    named = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary))
    ids = np.array(card.marker_ids)
    return cv2.aruco.CharucoBoard((card.squares_x, card.squares_y), card.square_mm, card.marker_mm, named, ids)


def _painted_end(
    scene: Scene, rng: np.random.Generator, sigma_mm: float, plane: PlaneMap, frame: Frame
) -> tuple[Light, Floats]:
    """The end with the gap before it and the bench around it, in the end frame."""
    origin = np.array([-AROUND_MM, -GAP_MM])
    unit = TEXTURE_PX_PER_MM
    x = origin[0] + (np.arange(round((scene.width_mm + 2 * AROUND_MM) * unit)) + 0.5) / unit
    y = origin[1] + (np.arange(round((scene.thickness_mm + GAP_MM + AROUND_MM) * unit)) + 0.5) / unit
    across = _between(x, 0.0, scene.width_mm, sigma_mm)
    surface = across * _between(y, 0.0, scene.thickness_mm, sigma_mm)[:, None]
    share = np.ones((len(y), len(x), 3), np.float32)
    edges = _edges(scene, rng, y)
    _draw_lines(share, scene, edges, x, sigma_mm)
    before = (y < 0.0)[:, None]
    if scene.cleared:
        deep = _deep_grid(scene, x, y, frame.from_plane(plane.nadir_mm[None])[0], plane.distance_mm)
        before = before | (deep[1] < 0.0)[:, None]
        cover = _clear(share, scene, edges, x, *deep, sigma_mm, surface)
    else:
        cover = _saw(share, _kerfs(scene, edges, rng, y), x, sigma_mm, surface)
    gap = (across * before)[..., None]
    behind = (gap * GAP + (1.0 - gap) * BENCH).astype(np.float32)
    wood = np.array(scene.wood, np.float32) * _grain(rng, len(y), len(x))[..., None]
    return share * wood + behind * (1.0 - cover[..., None]), origin


def _between(x: Floats, left: Floats | float, right: Floats | float, sigma: float) -> Floats:
    """1 between two edges, 0 outside, blurred by a Gaussian."""
    return np.asarray(ndtr((x - left) / sigma) - ndtr((x - right) / sigma))


def _edges(scene: Scene, rng: np.random.Generator, y: Floats) -> list[Floats]:
    """Every wall's x (rows,), with roughness alike over about 0.3 mm."""
    middle = scene.thickness_mm / 2.0
    edges = []
    for place, lean in zip(scene.places_mm, scene.leans_deg, strict=True):
        rough = cv2.GaussianBlur(rng.standard_normal((len(y), 1)), (1, 61), 0.3 * TEXTURE_PX_PER_MM).ravel()
        bow = scene.bow_mm * (1.0 - (y / middle - 1.0) ** 2)
        edges.append(place + np.tan(np.radians(lean)) * (y - middle) + bow + scene.rough_mm * rough / rough.std())
    return edges


def _kerfs(scene: Scene, edges: list[Floats], rng: np.random.Generator, y: Floats) -> list[tuple[Floats, Floats]]:
    """Left and right edge of every kerf: in the waste beside a wall or, in a drill, about its middle."""
    kerf = scene.kerf_mm
    if scene.drill:
        return [(a - kerf / 2.0, b + kerf / 2.0) for a, b in zip(edges, _edges(scene, rng, y), strict=True)]
    return [(edge - kerf, edge) if index % 2 == 0 else (edge, edge + kerf) for index, edge in enumerate(edges)]


def _saw(share: Light, kerfs: list[tuple[Floats, Floats]], x: Floats, sigma: float, surface: Floats) -> Light:
    """Kerfs in the surface; returns what wood covers."""
    for left, right in kerfs:
        near = (x > left.min() - 6.0 * sigma) & (x < right.max() + 6.0 * sigma)
        inside = _between(x[near], left[:, None], right[:, None], sigma).astype(np.float32)[..., None]
        share[:, near] = share[:, near] * (1.0 - inside) + KERF * inside
    cover = surface.astype(np.float32)
    share *= cover[..., None]
    return cover


def _draw_lines(share: Light, scene: Scene, edges: list[Floats], x: Floats, sigma: float) -> None:
    """Lines square to the face, 0.25 mm wide."""
    for index in scene.lines:
        middle = scene.places_mm[index] + (0.3 if index % 2 == 0 else -0.3)
        ink = _between(x, middle - 0.125, middle + 0.125, sigma)[None, :, None]
        share *= (1.0 - ink * (1.0 - LINE_SHARE)).astype(np.float32)


def _deep_grid(scene: Scene, x: Floats, y: Floats, nadir: Floats, distance: float) -> tuple[Floats, Floats]:
    """Where the rays through `x` and `y` of the end's plane meet the plane of the sockets' floors."""
    stretch = (distance + scene.depth_mm) / distance
    return nadir[0] + (x - nadir[0]) * stretch, nadir[1] + (y - nadir[1]) * stretch


def _clear(
    share: Light,
    scene: Scene,
    edges: list[Floats],
    x: Floats,
    deep_x: Floats,
    deep_y: Floats,
    sigma: float,
    surface: Floats,
) -> Light:
    """Sockets in place of the waste: floors drawn toward the nadir, sides of tails dark; returns what wood covers."""
    pairs = [(left[:, None], right[:, None]) for left, right in zip(edges[::2], edges[1::2], strict=True)]
    tails = surface * np.sum([_between(x, left, right, sigma) for left, right in pairs], axis=0)
    narrower = scene.slope * scene.depth_mm
    on_tail = np.any([(deep_x > left + narrower) & (deep_x < right - narrower) for left, right in pairs], axis=0)
    on_board = _between(deep_y, 0.0, scene.thickness_mm, sigma)[:, None] * _between(deep_x, 0.0, scene.width_mm, sigma)
    floor = (1.0 - tails) * on_board
    share *= tails.astype(np.float32)[..., None]
    share += (floor * np.where(on_tail, SIDE_SHARE, FLOOR_SHARE)).astype(np.float32)[..., None]
    return (tails + floor).astype(np.float32)


def _grain(rng: np.random.Generator, rows: int, columns: int) -> Light:
    """Mild growth rings and mottling, about 1."""
    coarse = rng.standard_normal((rows // 8 + 2, columns // 8 + 2)).astype(np.float32)
    mottle = cv2.resize(cv2.GaussianBlur(coarse, None, 1.5), (columns, rows), interpolation=cv2.INTER_CUBIC)
    ring = np.sin(np.arange(rows)[:, None] / TEXTURE_PX_PER_MM * 2.0 + rng.uniform(0.0, 6.0) + 0.5 * mottle)
    return (1.0 + 0.04 * mottle / mottle.std() + 0.04 * ring).astype(np.float32)


def _developed(light: Light, scene: Scene, rng: np.random.Generator) -> NDArray[np.uint8]:
    """sRGB levels with noise."""
    index = np.clip(light * (4095.0 * scene.exposure), 0.0, 4095.0).astype(np.uint16)
    level = _SRGB[index]
    level += rng.standard_normal(level.shape, dtype=np.float32) * np.float32(255.0 * scene.noise)
    return np.clip(level + 0.5, 0.0, 255.0).astype(np.uint8)


def _srgb_table() -> Light:
    """Levels 0 to 255 of linear light (IEC 61966-2-1)."""
    light = np.linspace(0.0, 1.0, 4096)
    level = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1.0 / 2.4) - 0.055)
    return (255.0 * level).astype(np.float32)


_SRGB = _srgb_table()
