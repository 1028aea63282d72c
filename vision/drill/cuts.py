"""Every cut of a drill board, found whether or not it has a mate, square or sloped.

The search for a tail board's kerfs knows cuts that are nearly square. Sloped ones are shown to it as if they were: the
end's surface is slanted by a few angles in turn, each of which brings a range of leans within its reach. Where slopes
are so steep that they hide the end itself, it is looked for in a picture whose slim dark marks are closed.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.outcome import CannotMeasure, refuse
from calibration.plane import PlaneMap
from vision.end.find_end import Search
from vision.end.find_walls import Cut, EndStrip, find_cuts, kerfs_of
from vision.end.found_end import FoundEnd, likely_ends, locate_end
from vision.end.report import CardSide
from vision.photo.card_turn import BOTTOM, UNUSUAL
from vision.photo.strip import FINEST_PX_PER_MM, brightest, sample_grid, sample_points, shear_columns

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float64]

SLANTS_DEG = (0.0, -6.6, 6.6, -13.2, 13.2)
"""Angles by which the surface is slanted. The search reaches 3.6 degrees to either side of each, so that cuts of up to
16 degrees are found: a slope of 1:6 is 9.5, one of 1:4 is 14."""
_STEEP = Search(most_lean_deg=16.0, pairs=20)
"""The search for an end that steep cuts hide: of more leans, more pairs look likely by chance."""
_RIVAL_SHARE = 0.5
"""Evidence for two face edges, over that for the best two, from which they may be the end's."""
WIDEST_CLOSED_MM = 2.0
"""Dark marks slimmer than this along the board are closed: more than a kerf is wide."""
_INSET_MM = 0.7
"""Left out of the surface beside each face edge: worn arrises and tear-out are darker than the wood."""
_OUTSIDE_MM = 3.0
RUN_ON_MM = (3.0, 5.0)
"""Where beyond a face edge a cut must have stopped: nearer, it may be seen running down the face."""
REACH_MM = (0.8, 2.8)
"""Where inside a face edge a cut must still be seen."""
_BESIDE_MM, _DARK = 1.2, 0.66
"""How far beside a cut's prolongation the wood is looked at, and the cut's light relative to it, at most."""


@dataclass(frozen=True)
class FoundDrill:
    """The end, its cuts from left to right, and the edge of the card that it lies beyond (see `card_turn`)."""

    end: FoundEnd
    cuts: list[Cut]
    edge: int


def locate_drill(rgb: Pixels, plane: PlaneMap, card: Card, side: CardSide) -> FoundDrill:
    """The end beyond the edge that the card's arrow points to or, when there is none, beyond another; and its cuts.

    Raises CannotMeasure `no_board_end`, `end_cut_off`, `no_kerfs` or `burnt_out`, as for the arrow's edge.
    """
    try:
        return _drill_of(rgb, plane, locate_end(rgb, plane, card, side), BOTTOM)
    except CannotMeasure as refused:
        found = _hidden_end(rgb, plane, card, side) if refused.refusal.reason == "no_board_end" else None
        if found is None:
            raise
        return found


def _hidden_end(rgb: Pixels, plane: PlaneMap, card: Card, side: CardSide) -> FoundDrill | None:
    """The end behind steep cuts, or beyond another edge of the card."""
    for end, edge in _other_ends(rgb, plane, card, side):
        with suppress(CannotMeasure):
            return _drill_of(rgb, plane, end, edge)
    return None


def _other_ends(rgb: Pixels, plane: PlaneMap, card: Card, side: CardSide) -> Iterator[tuple[FoundEnd, int]]:
    """Ends with steep walls, that of the picture without its cuts, and those beyond other edges of the card."""
    with suppress(CannotMeasure):
        for end in likely_ends(rgb, plane, card, side, _STEEP, _RIVAL_SHARE):
            yield end, BOTTOM
    for picture, edge in [(_closed_along_card(rgb, plane), BOTTOM), *((rgb, edge) for edge in UNUSUAL)]:
        with suppress(CannotMeasure):
            yield locate_end(picture, plane, card, side, edge), edge


def _drill_of(rgb: Pixels, plane: PlaneMap, found: FoundEnd, edge: int) -> FoundDrill:
    """The end with its cuts.

    Raises CannotMeasure `no_kerfs`, `burnt_out`, or `no_board_end` when its edges are none.
    """
    end = found.as_sawn()
    cuts = cuts_of(rgb, plane, end)
    end.check_not_burnt()
    if _run_on(rgb, plane, end, cuts):
        raise refuse("no_board_end", "The cuts run on beyond the edges that were found: do they lean very much?")
    if _stop_short(rgb, plane, end, cuts):
        raise refuse("no_board_end", "The cuts stop short of the edges that were found.")
    return FoundDrill(end, cuts, edge)


def _run_on(rgb: Pixels, plane: PlaneMap, end: FoundEnd, cuts: list[Cut]) -> bool:
    """Whether most of the cuts go on beyond a face edge, farther than a face could be seen: it is none of the end's."""
    near, far = RUN_ON_MM
    beyond = np.arange(near, far, 0.2)
    shares = [_dark_share(rgb, plane, end, cuts, y) for y in (-beyond, end.thickness + beyond)]
    return len(cuts) > 1 and max(shares) > 0.5


def _stop_short(rgb: Pixels, plane: PlaneMap, end: FoundEnd, cuts: list[Cut]) -> bool:
    """Whether most of the cuts do not reach a face edge: a saw goes through, so it is none of the end's."""
    within = np.arange(*REACH_MM, 0.2)
    return any(_dark_share(rgb, plane, end, cuts, y) < 0.5 for y in (within, end.thickness - within))


def _dark_share(rgb: Pixels, plane: PlaneMap, end: FoundEnd, cuts: list[Cut], y: Floats) -> float:
    """The share of cuts that, prolonged to the rows `y`, are darker there than what lies beside them."""
    aside = np.arange(-_BESIDE_MM, _BESIDE_MM + 0.01, 0.1)
    x = np.array([cut.middle + cut.lean * (y[:, None] - end.thickness / 2.0) + aside for cut in cuts])
    points = np.stack([x, np.broadcast_to(y[:, None], x.shape)], axis=-1)
    pixels = plane.to_image(end.frame.to_plane(points.reshape(-1, 2))).reshape(len(cuts), -1, 2)
    light, inside = sample_points(rgb, pixels)
    rows = brightest(light).reshape(x.shape).mean(axis=1)
    middle = np.abs(aside) < _BESIDE_MM / 2.0
    dark = rows[:, middle].min(axis=1) < _DARK * np.minimum(rows[:, 0], rows[:, -1])
    seen = inside.reshape(len(cuts), -1).all(axis=1)
    return float((dark & seen).mean())


def _closed_along_card(rgb: Pixels, plane: PlaneMap) -> Pixels:
    """The photo without its slim dark marks across the card's long side; a straight edge stays where it is."""
    foot = np.array([0.0, plane.card.true_points(np.array([[0.0, WIDEST_CLOSED_MM]]))[0, 1]])
    ends = plane.to_image(np.array([foot, [WIDEST_CLOSED_MM, foot[1]]]))
    reach = np.rint((ends[1] - ends[0]) / 2.0).astype(int)
    half = int(np.abs(reach).max())
    line = np.zeros((2 * half + 1, 2 * half + 1), np.uint8)
    cv2.line(line, (half - reach[0], half - reach[1]), (half + reach[0], half + reach[1]), 1)
    return np.asarray(cv2.morphologyEx(rgb, cv2.MORPH_CLOSE, line), np.uint8)


def cuts_of(rgb: Pixels, plane: PlaneMap, end: FoundEnd) -> list[Cut]:
    """All cuts in the end's surface, from left to right. Raises CannotMeasure `no_kerfs` when there is none."""
    cuts = [cut for cut in kerfs_of(_marks(_surface(rgb, plane, end))) if end.holds(cut)]
    if not cuts:
        raise refuse("no_kerfs")
    return cuts


def _surface(rgb: Pixels, plane: PlaneMap, end: FoundEnd) -> EndStrip:
    """The surface, its samples as close together across the thickness as along the width: angles in it are true."""
    middle = end.frame.to_plane(np.array([[(end.left + end.right) / 2.0, 0.0]]))[0]
    step = 1.0 / min(FINEST_PX_PER_MM, plane.px_per_mm(middle))
    x = np.arange(end.left - _OUTSIDE_MM, end.right + _OUTSIDE_MM, step)
    y = np.arange(_INSET_MM, end.thickness - _INSET_MM, step)
    light, _ = sample_grid(rgb, lambda points: plane.to_image(end.frame.to_plane(points)), x, y)
    inside = (x > end.left) & (x < end.right)
    wood = np.percentile(light[:, inside].reshape(-1, 3), 60, axis=0)
    return EndStrip((light / np.maximum(wood, 1e-4)).astype(np.float32), x, y)


def _marks(strip: EndStrip) -> list[Cut]:
    """Dark marks along any slant, left to right; of several pictures of one mark the darkest."""
    seen = [cut for slant in SLANTS_DEG for cut in _slanted(strip, float(np.tan(np.radians(slant))))]
    kept: list[Cut] = []
    for cut in sorted(seen, key=lambda cut: cut.light):
        if not any(cut.left <= other.right and other.left <= cut.right for other in kept):
            kept.append(cut)
    return sorted(kept, key=lambda cut: cut.left)


def _slanted(strip: EndStrip, slant: float) -> list[Cut]:
    """Marks within reach of one slant (tangent), their leans told from upright."""
    light = np.stack([shear_columns(strip.light[..., channel], slant) for channel in range(3)], axis=-1)
    return [replace(cut, lean=cut.lean + slant) for cut in find_cuts(replace(strip, light=light))]
