"""What makes a photo hard, one way at a time; everything else about the scene stays as its seed drew it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from .params import Params

TUNGSTEN, DAYLIGHT = (1.0, 0.60, 0.28), (0.66, 0.84, 1.0)
"""A filament lamp and a north window as a camera balanced between the two sees them (linear, common practice)."""

Way = Callable[[Params, np.random.Generator], Params]


def _rings(scene: Params, rng: np.random.Generator) -> Params:
    """Ring-porous wood with its rings along the kerfs."""
    return replace(scene, board=replace(scene.board, species="chestnut"), marks=replace(scene.marks, rings="along"))


def _dark(scene: Params, rng: np.random.Generator) -> Params:
    """Nearly black wood."""
    return replace(scene, board=replace(scene.board, species="wenge"))


def _pale(scene: Params, rng: np.random.Generator) -> Params:
    """Wood as white as the card."""
    return replace(scene, board=replace(scene.board, species="holly"))


def _glare(scene: Params, rng: np.random.Generator) -> Params:
    """A lamp mirrored in a waxed end."""
    lit = replace(scene.light, panel=5.0, panel_el=float(rng.uniform(78, 86)))
    return replace(scene, marks=replace(scene.marks, gloss=0.9), light=lit)


def _pen_glare(scene: Params, rng: np.random.Generator) -> Params:
    """A lamp mirrored in broad, glossy ink."""
    pen = scene.marks.pen if scene.marks.pen in ("red", "blue", "black", "graphite") else "black"
    marks = replace(scene.marks, pen=pen, pen_width=float(rng.uniform(0.4, 0.6)), pen_gloss=1.0, gloss=0.05)
    return replace(scene, marks=marks, light=replace(scene.light, panel=4.0, panel_el=float(rng.uniform(78, 86))))


def _dust(scene: Params, rng: np.random.Generator) -> Params:
    """Kerfs full of sawdust, and grains about."""
    return replace(scene, marks=replace(scene.marks, kerf_fill=1.0, dust=1.0))


def _mixed(scene: Params, rng: np.random.Generator) -> Params:
    """A filament lamp on one side, a window on the other: no white balance suits both."""
    lamp_az = float(rng.uniform(0, 360))
    light = replace(
        scene.light,
        sun=float(rng.uniform(1.0, 2.0)),
        sun_rgb=TUNGSTEN,
        sun_az=lamp_az,
        sun_el=float(rng.uniform(25, 50)),
        sun_size=float(rng.uniform(4, 12)),
        panel=float(rng.uniform(1.0, 2.0)),
        panel_rgb=DAYLIGHT,
        panel_az=lamp_az + 180.0 + float(rng.normal(0, 25)),
        panel_el=float(rng.uniform(25, 50)),
        ambient=0.15,
    )
    return replace(scene, light=light)


def _thumb(scene: Params, rng: np.random.Generator) -> Params:
    """A thumb that holds the card down and covers part of it."""
    return replace(scene, card=replace(scene.card, thumb=float(rng.uniform(12, 26))))


def _wrinkled(scene: Params, rng: np.random.Generator) -> Params:
    """A card badly glued: blisters and a crease."""
    return replace(scene, card=replace(scene.card, wrinkle=float(rng.uniform(0.6, 1.6))))


def _wide(scene: Params, rng: np.random.Generator) -> Params:
    """A board that reaches beyond the short card on both sides."""
    board = replace(scene.board, width=float(rng.uniform(132, 165)), tails=int(rng.integers(4, 7)))
    card = replace(scene.card, kind="short", shift=float(rng.normal(0, 4)))
    return replace(scene, board=board, card=card)


def _motion(scene: Params, rng: np.random.Generator) -> Params:
    """A hand that shook during the exposure."""
    how = replace(scene.develop, motion=float(rng.uniform(3.5, 7.0)), motion_angle=float(rng.uniform(0, 180)))
    return replace(scene, develop=how)


def _48mp(scene: Params, rng: np.random.Generator) -> Params:
    """A 48-megapixel file, which phones interpolate from sensors of a quarter of the colour pixels."""
    shot = replace(scene.shot, px=(8000, 6000), px_per_mm=2.2 * scene.shot.px_per_mm, traced_at=2)
    how = replace(scene.develop, blur=2.0 * scene.develop.blur, noise=1.4 * scene.develop.noise, container="jpg")
    return replace(scene, shot=shot, develop=how)


def _jpeg(scene: Params, rng: np.random.Generator) -> Params:
    """Sent through a messenger: heavy JPEG."""
    return replace(scene, develop=replace(scene.develop, quality=int(rng.integers(18, 32)), container="jpg"))


def _mono(scene: Params, rng: np.random.Generator) -> Params:
    """A black-and-white filter, stored as grey."""
    return replace(scene, develop=replace(scene.develop, mono=True, contrast=0.8, container="jpg"))


def _beauty(scene: Params, rng: np.random.Generator) -> Params:
    """A phone's beauty mode: texture ironed flat, edges overdrawn."""
    return replace(scene, develop=replace(scene.develop, beauty=float(rng.uniform(0.7, 1.0))))


WAYS: dict[str, Way] = {
    "rings": _rings,
    "dark": _dark,
    "pale": _pale,
    "glare": _glare,
    "pen-glare": _pen_glare,
    "dust": _dust,
    "mixed-light": _mixed,
    "thumb": _thumb,
    "wrinkled": _wrinkled,
    "wide": _wide,
    "motion": _motion,
    "48mp": _48mp,
    "jpeg": _jpeg,
    "mono": _mono,
    "beauty": _beauty,
}
"""Every way by its name on the command line."""


def harder(scene: Params, way: str, rng: np.random.Generator) -> Params:
    """The scene made hard in one of WAYS, and marked so. Raises ValueError for another way."""
    if way not in WAYS:
        raise ValueError(f"hard must be one of {', '.join(WAYS)}: {way!r}")
    return replace(WAYS[way](scene, rng), hard=way)
