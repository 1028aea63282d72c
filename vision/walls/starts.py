"""Where the fits of a wall's picture begin: with and without a line, the edge here or there, a shoulder that ends."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import HALF_PIN_MM, HALF_PIN_SPREAD_MM, RoughWall
from vision.walls.parts import EDGE, FLOOR_LINE, INK, KERF, LINE, LINE_SLOPE, LINE_WIDTH, SHADE, SHOULDER, SLOPE
from vision.walls.shared import FAR_AWAY, IN_SIGHT, Overhead, Shared, square, with_changed

Floats = NDArray[np.float64]

_PLACES: dict[float, tuple[float, ...]] = {
    0.0: (-0.35, -0.2, -0.08),
    0.12: (-0.08, 0.05),
    0.25: (-0.2, -0.08),
    -0.12: (-0.35,),
    -0.25: (-0.35,),
}
_PLACES_AGAIN: dict[float, tuple[float, ...]] = {0.0: (-0.2, -0.08), 0.25: (-0.2, -0.08), -0.25: (-0.35, -0.08)}
"""Edges beside the one found (mm) and, for each, the places of a line about it (mm): at first, and once lines are known
to be drawn. Of a full grid these are the ones without which dearer explanations would be found."""
_CUT_AWAY_MM = 0.05
"""How far past the edge as found a line begins that the saw took whole: none of it is left to be seen."""
_BRIGHT_FOOT, _BEYOND_LINE = -0.3, {0.45: (-0.2, -0.08)}
"""A floor that seems so much brighter close to the wall than farther off may be a strip of the tail's own wood beyond a
line as dark as the floor: then the edge is looked for beyond that, too (mm)."""
_DARK_FOOT, _PAST_LINE = 0.3, (0.0, 0.1)
"""A floor that seems so much darker close to the wall may be a line as dark as the floor: then the edge is looked for
where that ends and so far beyond (mm)."""
_OUT_OF_SIGHT, _LIKELY = 1.3, 1.2
"""How far past a wall nothing is seen of the floor any more, and how many spreads off usual a half pin may be."""
_SHOULDERS, _PLACES_BEFORE_SHOULDER = (0.3, 0.5, 0.8), (-0.25, 0.0)
"""Widths (mm) of a shoulder that are tried, and places of a line about the edge beside it."""


def starts_of(wall: RoughWall, found: Floats, shared: Shared, overhead: Overhead, *, outermost: bool) -> list[Floats]:
    """Starts (12,) about what an earlier round `found` (12,); beyond an `outermost` wall lies a shoulder."""
    base = with_changed(found, (FLOOR_LINE, FAR_AWAY), (SHOULDER, FAR_AWAY))
    if wall.kerf_mm is not None:
        return _bare(wall, base) + _beside_kerf(wall, base, shared)
    shift = overhead.shift(wall)
    starts = _bare(wall, base) + _above_floor(wall, base, shared, shift)
    ends_in_sight = outermost and HALF_PIN_MM - _LIKELY * HALF_PIN_SPREAD_MM + shift < _OUT_OF_SIGHT
    return starts + (_before_shoulder(wall, found, shared) if ends_in_sight else [])


def _bare(wall: RoughWall, base: Floats) -> list[Floats]:
    """Starts without a line: where the edge was found and, above a floor, to either side."""
    without = with_changed(base, (INK, 0.0))
    if wall.kerf_mm is not None:
        return [without]
    aside = [with_changed(without, (EDGE, base[EDGE] + way), (SLOPE, square(wall))) for way in (-0.2, 0.2)]
    return [without, *aside]


def _inked(wall: RoughWall, base: Floats, shared: Shared) -> Floats:
    """The parameters with a line square to the datum, as dark and wide as the board's."""
    ink = shared.mean[INK] if shared.mean[INK].any() else np.full(3, 0.4)
    width = float(shared.mean[LINE_WIDTH])
    return with_changed(base, (INK, ink), (LINE_WIDTH, width), (LINE_SLOPE, square(wall)))


def _beside_kerf(wall: RoughWall, base: Floats, shared: Shared) -> list[Floats]:
    """Starts with a line: beside the edge as found, or between it and an edge deeper in the dark."""
    inner, kerf = base[KERF] - shared.mean[KERF], float(shared.mean[KERF])
    edges = [(0.0, base[LINE] - base[EDGE])] if base[INK].any() else []
    edges += [(inner, -0.3), (inner, -0.1), (inner, 0.08), (0.0, kerf + 0.12)]
    lined = with_changed(_inked(wall, base, shared), (KERF, kerf))
    return [_at(lined, base[EDGE] + aside, place) for aside, place in edges]


def _above_floor(wall: RoughWall, base: Floats, shared: Shared, shift: float) -> list[Floats]:
    """Starts with a line about the edge, and with the edge to either side; the floor's line too, where it may show."""
    lined = _inked(wall, base, shared)
    upright = with_changed(lined, (SLOPE, square(wall)))
    starts = [lined] if base[INK].any() else []
    places = _PLACES_AGAIN if shared.mean[INK].any() else _PLACES
    places = places | (_BEYOND_LINE if base[SHADE] < _BRIGHT_FOOT else {})
    cut_away = float(lined[LINE_WIDTH]) / 2.0 + _CUT_AWAY_MM
    starts += [_at(lined, base[EDGE], place) for place in (*places[0.0], cut_away)]
    for aside, beside in places.items():
        starts += [_at(upright, base[EDGE] + aside, place) for place in beside]
    if base[SHADE] > _DARK_FOOT:
        width = float(lined[LINE_WIDTH])
        starts += [_at(upright, base[EDGE] + width + past, -width / 2.0 - past) for past in _PAST_LINE]
    if shift > _OUT_OF_SIGHT:
        return starts
    in_sight = [start for start in starts if start[LINE] + start[LINE_WIDTH] / 2.0 + shift > start[EDGE]]
    return starts + [with_changed(start, (FLOOR_LINE, shift)) for start in in_sight]


def _before_shoulder(wall: RoughWall, found: Floats, shared: Shared) -> list[Floats]:
    """Starts with a shoulder that ends in sight: where it was found to, or where an edge was found, or past that."""
    edge = float(found[EDGE])
    pairs = [(edge, float(found[SHOULDER]))] if found[SHOULDER] < IN_SIGHT else []
    pairs += [(edge - width, edge) for width in _SHOULDERS] + [(edge, edge + width) for width in _SHOULDERS]
    upright = with_changed(_inked(wall, found, shared), (SLOPE, square(wall)), (FLOOR_LINE, FAR_AWAY))
    starts = []
    for at, end in pairs:
        lined = [_at(upright, at, place) for place in _PLACES_BEFORE_SHOULDER]
        bare = with_changed(lined[0], (INK, 0.0))
        starts += [with_changed(start, (SHOULDER, end)) for start in (bare, *lined)]
    return starts


def _at(lined: Floats, edge: float, place: float) -> Floats:
    """The edge at `edge`, the line `place` past it."""
    return with_changed(lined, (EDGE, edge), (LINE, edge + place))
