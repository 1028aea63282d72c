"""A board's end beside the card, drawn as a phone would see it from above; the picture says that it is drawn.

Lengths mm, angles degrees, light linear (0 to 1). Everything is drawn with edges one pixel wide and then blurred
together, so that the card's edges tell how sharp the end's are, as in a photo.
"""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from calibration.card import CARDS, DICTIONARY_NAME, MARGIN_MM
from calibration.plane import rotation_matrix

Floats = NDArray[np.float64]
Light = NDArray[np.float32]
Pixels = NDArray[np.uint8]

WIDTH_PX, HEIGHT_PX, PX_PER_MM, FOCAL_PX = 1480, 986, 11.0, 3800.0
FILM_MM = round(FOCAL_PX * float(np.hypot(36.0, 24.0)) / float(np.hypot(WIDTH_PX, HEIGHT_PX)))
"""The 35 mm equivalent, by which the program learns how far off the camera was (EXIF tag 0xA405)."""
FILM_TAG, EXIF_TABLE = 0xA405, 0x8769
CARD = CARDS["short"]
CARD_PX_PER_MM = 20
WHITE, BLACK, GAP, KERF = 0.78, 0.03, 0.015, 0.02
GAP_MM, KERF_MM = 0.8, 0.6
BLUR_PX, NOISE = 0.9, 2.0
"""Of a sharp photo; the noise in levels of 255."""
ROUGH_MM, ROUGH_EVERY_MM = 0.012, 0.3
"""How far a clean saw cut wanders off its line, and how soon it comes back."""
QUALITY = 90
LABEL, LABEL_MM = "drawn by a program - not a photo", (60.0, -5.2, 1.0)
FONT, LETTERS = cv2.FONT_HERSHEY_SIMPLEX, 0.85
BENCH = (0.16, 0.12, 0.09)
WOODS = {
    "ash": (0.60, 0.50, 0.36),
    "cherry": (0.44, 0.27, 0.16),
    "maple": (0.60, 0.50, 0.37),
    "oak": (0.46, 0.35, 0.22),
    "pine": (0.60, 0.46, 0.28),
    "poplar": (0.50, 0.46, 0.30),
    "walnut": (0.22, 0.14, 0.09),
}
"""Light that freshly sawn end grain gives back in red, green and blue; by eye, no source."""


@dataclass(frozen=True)
class SawnEnd:
    """The end to draw. `places_mm` (half-way through the board) and `leans_deg` go wall by wall from the left.

    Practice cuts are drawn as walls, an even number of them.
    """

    species: str
    width_mm: float
    thickness_mm: float
    places_mm: tuple[float, ...]
    leans_deg: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.places_mm) != len(self.leans_deg) or len(self.places_mm) % 2:
            raise ValueError("places_mm and leans_deg need two walls for every tail")
        if self.species not in WOODS:
            raise ValueError(f"species must be one of {', '.join(WOODS)}, got {self.species}")


def draw_file(end: SawnEnd, seed: int) -> bytes:
    """The picture as a JPEG file that tells its focal length, as a phone's does."""
    exif, file = Image.Exif(), BytesIO()
    exif.get_ifd(EXIF_TABLE)[FILM_TAG] = FILM_MM
    Image.fromarray(draw_end(end, seed)).save(file, "JPEG", quality=QUALITY, exif=exif)
    return file.getvalue()


def draw_end(end: SawnEnd, seed: int) -> Pixels:
    """The picture (HEIGHT_PX, WIDTH_PX, 3); camera, grain, saw marks and noise come from the seed."""
    rng = np.random.default_rng(seed)
    to_image = _camera(rng)
    light = _bench(rng)
    _lay_card(light, to_image)
    _lay_end(light, to_image, end, rng)
    return _labelled(_developed(light, rng), to_image)


def _camera(rng: np.random.Generator) -> Floats:
    """The map (3, 3) from the card's plane, in mm, to pixels: a phone held not quite square-on."""
    turn = rotation_matrix(np.radians(rng.uniform(-1.0, 1.0, 3) * [4.0, 4.0, 1.5]))
    aim = np.array([CARD.width_mm / 2.0, 32.0]) + rng.uniform(-1.5, 1.5, 2)
    shift = np.array([0.0, 0.0, FOCAL_PX / PX_PER_MM]) - turn[:, :2] @ aim
    middle = (WIDTH_PX - 1) / 2.0, (HEIGHT_PX - 1) / 2.0
    inner = np.array([[FOCAL_PX, 0.0, middle[0]], [0.0, FOCAL_PX, middle[1]], [0.0, 0.0, 1.0]])
    return np.asarray(inner @ np.column_stack([turn[:, 0], turn[:, 1], shift]))


def _bench(rng: np.random.Generator) -> Light:
    """A bench top with a little grain, lighter on one side."""
    coarse = rng.standard_normal((HEIGHT_PX // 6, WIDTH_PX // 120)).astype(np.float32)
    grain = cv2.resize(coarse, (WIDTH_PX, HEIGHT_PX), interpolation=cv2.INTER_CUBIC)
    slope = np.linspace(0.85, 1.15, WIDTH_PX, dtype=np.float32)[:: rng.choice([-1, 1])]
    return (grain * 0.05 + slope)[..., None] * np.array(BENCH, np.float32)


def _lay_card(light: Light, to_image: Floats) -> None:
    """The card onto the bench, with a pixel's blur of its own so that its cells do not flicker."""
    margin = round(MARGIN_MM * CARD_PX_PER_MM)
    size = [round(side * CARD_PX_PER_MM) + 2 * margin for side in (CARD.width_mm, CARD.height_mm)]
    picture = _board().generateImage(size, marginSize=margin)
    level = cv2.GaussianBlur(np.where(picture > 127, WHITE, BLACK).astype(np.float32), (0, 0), 0.7)
    corner = -MARGIN_MM + 0.5 / CARD_PX_PER_MM
    own = np.array([[1.0, 0.0, corner * CARD_PX_PER_MM], [0.0, 1.0, corner * CARD_PX_PER_MM], [0.0, 0.0, 1.0]])
    warp = to_image @ np.diag([1.0 / CARD_PX_PER_MM, 1.0 / CARD_PX_PER_MM, 1.0]) @ own
    seen = cv2.warpPerspective(level, warp, (WIDTH_PX, HEIGHT_PX))
    cover = cv2.warpPerspective(np.ones_like(level), warp, (WIDTH_PX, HEIGHT_PX))
    light *= (1.0 - cover)[..., None]
    light += seen[..., None]


def _board() -> cv2.aruco.CharucoBoard:
    named = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY_NAME))
    squares = CARD.squares_x, CARD.squares_y
    return cv2.aruco.CharucoBoard(squares, CARD.square_mm, CARD.marker_mm, named, np.array(CARD.marker_ids))


def _lay_end(light: Light, to_image: Floats, end: SawnEnd, rng: np.random.Generator) -> None:
    """The end beyond the card's lower edge, a dark gap between the two."""
    left = (CARD.width_mm - end.width_mm) / 2.0 + rng.uniform(-2.0, 2.0)
    top, turn = CARD.height_mm + MARGIN_MM + GAP_MM, np.radians(rng.uniform(-0.3, 0.3))
    frame = np.array([[np.cos(turn), -np.sin(turn), left], [np.sin(turn), np.cos(turn), top], [0.0, 0.0, 1.0]])
    rows = np.s_[_first_row(to_image, left, top - 2.0) :]
    x, y = _own_mm(to_image @ frame, rows)
    across = _covers(x, 0.0, end.width_mm)
    gap = across * _covers(y, -GAP_MM - 0.3, 0.0)
    light[rows] *= (1.0 - gap)[..., None]
    light[rows] += gap[..., None] * np.float32(GAP)
    wood = across * _covers(y, 0.0, end.thickness_mm)
    grain = _grain(x, y, end, rng)[..., None] * np.array(WOODS[end.species], np.float32)
    sawn = _kerfs(x, y, end, rng)[..., None]
    surface = grain * (1.0 - sawn) + np.float32(KERF) * sawn
    light[rows] += wood[..., None] * (surface - light[rows])


def _first_row(to_image: Floats, x_mm: float, y_mm: float) -> int:
    """A row of the picture above everything that lies below that point of the plane."""
    seen = to_image @ [x_mm, y_mm, 1.0]
    return max(0, int(seen[1] / seen[2]) - 40)


def _own_mm(to_image: Floats, rows: slice) -> tuple[Light, Light]:
    """Where the pixels of those rows lie in the plane that `to_image` maps from, mm."""
    back = np.linalg.inv(to_image).astype(np.float32)
    column = np.arange(WIDTH_PX, dtype=np.float32)
    row = np.arange(HEIGHT_PX, dtype=np.float32)[rows, None]
    x, y, depth = (back[axis, 0] * column + back[axis, 1] * row + back[axis, 2] for axis in range(3))
    return x / depth, y / depth


def _covers(place: Light, low: Light | float, high: Light | float) -> Light:
    """How much of each pixel lies between two edges that run along the picture's rows or columns."""
    edges = (place - low) * PX_PER_MM + 0.5, (high - place) * PX_PER_MM + 0.5
    return np.asarray(np.clip(edges[0], 0.0, 1.0) * np.clip(edges[1], 0.0, 1.0), np.float32)


def _grain(x: Light, y: Light, end: SawnEnd, rng: np.random.Generator) -> Light:
    """Growth rings about a pith somewhere below the board, and mottling."""
    pith = rng.uniform(-0.3, 1.3) * end.width_mm, end.thickness_mm + rng.uniform(15.0, 60.0)
    radius = np.hypot(x - np.float32(pith[0]), y - np.float32(pith[1]))
    coarse = rng.standard_normal((x.shape[0] // 10 + 2, x.shape[1] // 10 + 2)).astype(np.float32)
    mottle = cv2.resize(coarse, x.shape[::-1], interpolation=cv2.INTER_CUBIC)
    rings = np.sin(radius * np.float32(rng.uniform(2.0, 3.5)) + 0.3 * mottle)
    return np.asarray(1.0 + 0.05 * rings + 0.03 * mottle, np.float32)


def _kerfs(x: Light, y: Light, end: SawnEnd, rng: np.random.Generator) -> Light:
    """How much of each pixel a saw took: a kerf on the waste side of every wall."""
    taken = np.zeros_like(x)
    middle = end.thickness_mm / 2.0
    for number, (place, lean) in enumerate(zip(end.places_mm, end.leans_deg, strict=True)):
        wall = np.float32(place) + np.float32(np.tan(np.radians(lean))) * (y - np.float32(middle)) + _rough(y, end, rng)
        left = wall - np.float32(KERF_MM) if number % 2 == 0 else wall
        taken = np.maximum(taken, _covers(x, left, left + np.float32(KERF_MM)))
    return taken


def _rough(y: Light, end: SawnEnd, rng: np.random.Generator) -> Light:
    """How far one cut wanders to the right at every pixel."""
    knots = np.arange(-1.0, end.thickness_mm + 1.0, ROUGH_EVERY_MM)
    return np.interp(y, knots, rng.normal(0.0, ROUGH_MM, len(knots))).astype(np.float32)


def _developed(light: Light, rng: np.random.Generator) -> Pixels:
    """Blurred, as sRGB levels (IEC 61966-2-1), with noise."""
    sharp = np.clip(cv2.GaussianBlur(light, (0, 0), BLUR_PX), 0.0, 1.0)
    level = _LEVELS[(sharp * 4095.0).astype(np.uint16)]
    noise = rng.standard_normal(light.shape[:2], dtype=np.float32) * np.float32(NOISE)
    return np.clip(level + noise[..., None] + 0.5, 0.0, 255.0).astype(np.uint8)


def _labelled(picture: Pixels, to_image: Floats) -> Pixels:
    """The picture with the words that say what it is, on the bench above the card: every cut-out shows them."""
    seen = to_image @ LABEL_MM
    (width, _), _ = cv2.getTextSize(LABEL, FONT, LETTERS, 2)
    corner = (round(seen[0] / seen[2] - width / 2.0), round(seen[1] / seen[2]))
    cv2.putText(picture, LABEL, corner, FONT, LETTERS, (245, 238, 222), 2, cv2.LINE_AA)
    return picture


def _levels() -> Light:
    light = np.linspace(0.0, 1.0, 4096)
    level = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1.0 / 2.4) - 0.055)
    return (255.0 * level).astype(np.float32)


_LEVELS = _levels()
"""Levels 0 to 255 of linear light."""
