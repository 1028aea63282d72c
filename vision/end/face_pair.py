"""The pair of face edges that belongs to the end: of all likely ones, judged on a closer look.

Benches, jaws and stone have long parallel edges and short upright ones. A board's faces are straight, as far apart as
boards are thick, and its cuts run from one to the other where both are seen.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure, refuse
from calibration.plane import PlaneMap
from vision.end.face_edges import COLUMN_MM, SEARCH_MM, FaceEdge, find_face_edges, shared_columns, straightness
from vision.end.find_end import USUAL, Pair, Search, find_pairs
from vision.photo.card_turn import Facing
from vision.photo.strip import Frame

Edges = Callable[..., list[FaceEdge]]
"""`find_face_edges` with all told but where."""

_SAME_LOOK_MM = 1.4
_ONE_EDGE_MM, _IN_FRONT = 0.5, 0.8
"""How near to each other two looks find one edge, and the share of its columns in which a thing beyond shows too."""
_AS_LIKELY = 0.9
"""Share of the best pair's evidence that makes another as likely."""
_STILL_LIKELY = 0.5
"""The same, where the best pair's far edge is not the board's."""
_LEAST_EVIDENCE = 3.0
"""Of the likeliest pair: boards that are hard to see have twice as much, and what is left without them has less."""
_BOTH_WORTH = 0.25
"""Evidence per mm along which both face edges are seen, beside that of the walls."""
_LONG_MM = 40.0
"""Edges seen together along more than this are no more likely a board's: those of a bench or a vice are longer."""
_LONG_WORTH = _BOTH_WORTH * _LONG_MM
"""What a closer look can add to a pair's score at most (`evidence_of`)."""
_BEYOND_COST, _LIKELY_WALL, _FAR_FROM_WALLS_MM = 0.1, 0.8, 20.0
"""What a mm of both edges counts against them where it lies farther from the walls than half pins are wide: lines on a
bench go on and on."""
_AROUND_WALL_MM = 3.0
"""How far to either side of a wall the face edges are looked at."""
_PLAIN_SHARE, _PLAIN_STRAIGHT = 0.3, 0.4
"""Share of columns with both edges, and straightness (0 by chance, 1 at best), that leave no doubt of an edge."""
_USUAL_THICKNESS_MM, _THICKNESS_SPREAD = 17.0, 0.35
"""Thickness of boards that are dovetailed, 8 to 30 mm, and its spread in natural logarithms (common practice, no
source)."""


def likely_faces(
    rgb: NDArray[np.uint8],
    plane: PlaneMap,
    facing: Facing,
    search: Search = USUAL,
    least_share: float = _AS_LIKELY,
) -> list[Faces]:
    """Both face edges of every likely pair, the likeliest on a closer look first (`own_first`).

    Pairs whose evidence must fall short of `least_share` of the best one's are not looked at. Raises CannotMeasure
    `no_board_end` when no pair has both edges, or hardly anything speaks for one.
    """
    pairs, found_in = find_pairs(rgb, facing.plane, facing.card, search)
    card_frame = facing.to_card(found_in)
    half = search.half_mm(facing.card)
    seen: list[Faces] = []
    for pair in pairs:
        enough = least_share * max((faces.evidence for faces in seen), default=0.0)
        if pair.score + _LONG_WORTH >= enough and all(not faces.within_reach_of(pair) for faces in seen):
            seen += _faces_of(partial(find_face_edges, rgb, plane, ruled=search.ruled), card_frame, pair, half)
    if not seen or max(faces.evidence for faces in seen) < _LEAST_EVIDENCE:
        raise refuse("no_board_end")
    return own_first(sorted(seen, key=lambda faces: -faces.evidence))


class Faces(NamedTuple):
    """Both face edges of one pair on a closer look, their search frame, and the evidence for them."""

    evidence: float
    frame: Frame
    near: FaceEdge
    far: FaceEdge
    near_y: float
    far_y: float

    def within_reach_of(self, pair: Pair) -> bool:
        """Whether a closer look at `pair` would find these edges again."""
        near, far = abs(self.near_y - pair.y_mm), abs(self.far_y - pair.y_mm - pair.thickness_mm)
        return max(near, far) < _SAME_LOOK_MM

    def is_part_of(self, other: Faces) -> bool:
        """Whether this pair has the other's near edge, and its far edge lies where the other's is seen as well."""
        return abs(self.near_y - other.near_y) < _ONE_EDGE_MM and shared_columns(self.far, other.far) > _IN_FRONT


def own_first(found: list[Faces]) -> list[Faces]:
    """The board's own faces before those of one with something beyond it, such as a jaw, that are hardly likelier.

    Of two edges beyond one near edge and in the same columns, the nearer one is the end's.
    """
    best = found[0]
    as_likely = [faces for faces in found if faces.evidence > _AS_LIKELY * best.evidence and faces.is_part_of(best)]
    own = min(as_likely, key=lambda faces: faces.far_y)
    return [own, *(faces for faces in found if faces is not own)]


def nearer_far_face(best: Faces, others: list[Faces]) -> Faces | None:
    """The likeliest of the `others` that has the best pair's near edge, and its far edge before that one's; else None.

    It is the board's, should the best one's be that of something beyond it.
    """
    nearer = (each for each in others if each.far_y < best.far_y - _ONE_EDGE_MM and each.is_part_of(best))
    return next((each for each in nearer if each.evidence > _STILL_LIKELY * best.evidence), None)


def _faces_of(edges: Edges, card_frame: Frame, pair: Pair, half: float) -> list[Faces]:
    """The edges of one pair; none when they are not there on a closer look.

    An edge that runs out of the strip looked at is looked at once more along itself.
    """
    rough = card_frame.moved(0.0, pair.y_mm, pair.turn)
    found: list[Faces] = []
    with suppress(CannotMeasure):
        for near in _near_edges(edges, rough, half, pair.thickness_mm):
            with suppress(CannotMeasure):
                found.append(_faces_along(edges, rough, pair, near, half))
    return found


def _faces_along(edges: Edges, rough: Frame, pair: Pair, near: FaceEdge, half: float) -> Faces:
    """The near edge and the one parallel to it. Raises CannotMeasure `no_board_end` when there is none."""
    y, thickness = pair.y_mm, pair.thickness_mm
    if max(abs(near.line.at(-half)), abs(near.line.at(half))) > SEARCH_MM:
        start = near.line.at(0.0)
        rough, y, thickness = rough.moved(0.0, start, math.atan(near.line.slope)), y + start, thickness - start
        near = _near_edges(edges, rough, half, thickness)[0]
    far = edges(rough, half, thickness, inner_mm=thickness / 2.0, along=near)[0]
    return Faces(evidence_of(pair, near, far), rough, near, far, y + near.line.level, y + far.line.level)


def _near_edges(edges: Edges, rough: Frame, half: float, thickness: float) -> list[FaceEdge]:
    return edges(rough, half, 0.0, inner_mm=thickness / 2.0, polarity=1)


def _outermost(pair: Pair) -> tuple[float, float]:
    """Places of the first and the last likely wall (mm); none: nothing is beyond them."""
    likely = pair.walls_x[pair.walls > _LIKELY_WALL]
    return (float(likely.min()), float(likely.max())) if len(likely) else (-np.inf, np.inf)


def evidence_of(pair: Pair, near: FaceEdge, far: FaceEdge) -> float:
    """Evidence for two face edges: their length, how straight they are, the walls between them, a usual thickness, and
    that they end where a board does.

    Mottled stone is full of short upright edges: a wall counts as far as both face edges are seen where it stands.
    """
    both = COLUMN_MM * np.intersect1d(np.rint(near.x / COLUMN_MM), np.rint(far.x / COLUMN_MM))
    around = [np.searchsorted(both, pair.walls_x + shift) for shift in (-_AROUND_WALL_MM, _AROUND_WALL_MM)]
    share = (around[1] - around[0]) * COLUMN_MM / (2.0 * _AROUND_WALL_MM)
    straight = min(straightness(near), straightness(far))
    surely = float(np.minimum(share / _PLAIN_SHARE, 1.0) @ pair.walls) * min(straight / _PLAIN_STRAIGHT, 1.0)
    lengths = pair.score - float(pair.walls.sum())
    unusual = np.log(pair.thickness_mm / _USUAL_THICKNESS_MM) / _THICKNESS_SPREAD
    long = _BOTH_WORTH * min(COLUMN_MM * len(both), _LONG_MM) * straight
    first, last = _outermost(pair)
    beyond = (both < first - _FAR_FROM_WALLS_MM) | (both > last + _FAR_FROM_WALLS_MM)
    strays = _BEYOND_COST * COLUMN_MM * float(beyond.sum())
    return surely + long + lengths - strays - 0.5 * float(unusual) ** 2
