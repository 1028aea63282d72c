"""What a scene is made of: plain frozen records, drawn from a seed.

Millimetres and degrees throughout; the end frame is that of the truth files: x along the width, y from the show face
(0) to the transfer face (thickness), and h the height above the end (negative inside the board).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Board:
    """The tail board as it was meant to be; lengths in mm, slope is run over rise."""

    width: float
    thickness: float
    tails: int
    species: str
    stage: str
    slope: float
    depth: float
    kerf: float
    half_pin: float
    pin: float


@dataclass(frozen=True)
class Saw:
    """How well it was sawn: leans in degrees, the rest in mm."""

    lean_bias: float
    lean_sd: float
    bow_sd: float
    pos_sd: float
    rough: float
    tearout: float


@dataclass(frozen=True)
class Marks:
    """What was drawn on the end and what lies on it. `kerf_fill` is the share of kerfs holding sawdust."""

    pen: str
    pen_width: float
    pen_skew_sd: float
    hatch: bool
    marks: float
    dust: float
    kerf_fill: float
    gloss: float
    rings: str
    pen_gloss: float = 0.0


@dataclass(frozen=True)
class Face:
    """A face lying up in place of the end, `view` show or transfer, with the baseline that was drawn on it.

    `past` is how far each cut goes past the baseline, by x (mm, negative: it stops short); `pen` drew the baseline,
    `width` mm wide and askew by `skew` (deg); with `layout` the tails are drawn as well. `beyond` is how much of the
    board's length reaches beyond the card, mm.
    """

    view: str
    past: tuple[float, ...]
    pen: str
    width: float
    skew: float
    layout: bool
    beyond: float


@dataclass(frozen=True)
class CardSet:
    """The card and its block, against the end; `height` is that of the pattern's centre above the end plane.

    `thumb` is how far a thumb reaches over the sheet, `wrinkle` how high the sheet stands off its block, mm.
    """

    kind: str
    margin: float
    gap: float
    shift: float
    turn: float
    height: float
    tilt: tuple[float, float]
    block: str
    arrow: bool
    thumb: float = 0.0
    wrinkle: float = 0.0


@dataclass(frozen=True)
class Place:
    """Where it stands: an open bench or a vice jaw (`jaw_drop` below the end) and what lies about."""

    neighbour: str
    jaw_drop: float
    jaw_lining: bool
    bench: str
    bench_depth: float
    clutter: int


@dataclass(frozen=True)
class Light:
    """Sun, a lamp panel and sky. Azimuths from +x toward the transfer face, elevations above the end plane."""

    sun: float
    sun_az: float
    sun_el: float
    sun_size: float
    sun_rgb: tuple[float, float, float]
    panel: float
    panel_az: float
    panel_el: float
    ambient: float
    ambient_rgb: tuple[float, float, float]
    panel_rgb: tuple[float, float, float] = (1.0, 1.0, 1.0)


@dataclass(frozen=True)
class Shot:
    """The phone: frame in px, scale wanted in px/mm, distance in mm, pose and lens.

    A sensor with `traced_at` times fewer pixels each way sees the scene; the frame is interpolated from it.
    """

    px: tuple[int, int]
    px_per_mm: float
    distance: float
    tilt: float
    azimuth: float
    roll: float
    aim: tuple[float, float]
    k1: float
    k2: float
    traced_at: int = 1


@dataclass(frozen=True)
class Develop:
    """From light to file. `blur` and `motion` (a shake's length) in px; `noise` is the standard deviation at mid grey;
    `beauty` from 0 to 1."""

    blur: float
    noise: float
    sharpen: float
    exposure: float
    wb: tuple[float, float]
    contrast: float
    vignette: float
    quality: int
    container: str
    orientation: int
    motion: float = 0.0
    motion_angle: float = 0.0
    mono: bool = False
    beauty: float = 0.0


@dataclass(frozen=True)
class Params:
    """One scene, whole; `hard` names what was made hard about it, if anything.

    `drill` holds the leans (deg) that the cuts of a drill board were meant to have; it is empty for a tail board.
    `face` is what a photo of a face shows; without it the end is photographed.
    """

    seed: int
    board: Board
    saw: Saw
    marks: Marks
    card: CardSet
    place: Place
    light: Light
    shot: Shot
    develop: Develop
    hard: str | None = None
    drill: tuple[float, ...] = ()
    face: Face | None = None
