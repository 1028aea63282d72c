"""From the photo to the end frame: face edges, surface, stage and rough walls, ready to be measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.outcome import CannotMeasure, refuse
from calibration.plane import PlaneMap
from vision.card_turn import BOTTOM, UNUSUAL, Facing
from vision.face_edges import CHANCE_SCATTER_MM, COLUMN_MM, FaceEdge, find_face_edge
from vision.find_end import SIDE_MM, Pair, find_pairs
from vision.find_walls import (
    PALE,
    Cut,
    EndStrip,
    RoughWall,
    Run,
    find_cuts,
    kerfs_of,
    mate_of,
    stage_of,
    step_strength,
    surface_runs,
    usual_light,
    walls_of_kerfs,
    walls_of_tails,
)
from vision.report import Stage
from vision.strip import Frame, sample_grid

Floats = NDArray[np.float64]
CardSide = Literal["show", "transfer"]

_FINEST_PX_PER_MM = 20.0
_PARALLEL_U = np.radians(0.02)
"""How parallel the faces of a planed board are, one standard deviation (common practice, no source)."""
_EDGE_DIRECTION_U = np.radians(0.003)
_OUTSIDE_MM = 3.0
_SHORTEST_STRETCH_MM = 2.0
_BREAK_MM = 1.0
_WIDEST_SOCKET_MM = 12.0
_SAME_LOOK_MM = 1.4
_BOTH_WORTH = 0.25
"""Evidence per mm along which both face edges are seen, beside that of the walls."""
_NEAREST_SIDE_MM = 1.0
"""A cut this close to the board's side is the side's own shadow."""


@dataclass(frozen=True)
class FoundEnd:
    """The end in its frame (x along the show face, y toward the transfer face, origin on the show-face edge).

    `left` and `right` (mm) are the ends of what was seen of the surface; `runs` its stretches. `direction_u` (rad) is
    the datum's standard uncertainty, `unparallel` (rad) the angle between the face edges with its own.
    """

    frame: Frame
    thickness: float
    thickness_u: float
    direction_u: float
    unparallel: float
    unparallel_u: float
    left: float
    right: float
    runs: list[Run]
    strip: EndStrip


@dataclass(frozen=True)
class FoundWalls:
    """What the surface says of the sawing: the stage and the rough walls."""

    stage: Stage
    walls: list[RoughWall]


def locate_end(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, side: CardSide, edge: int = BOTTOM) -> FoundEnd:
    """The end beyond an `edge` of the card, told in the card's frame.

    Raises CannotMeasure `no_board_end` or `end_cut_off`.
    """
    facing = Facing.by(plane, card, edge)
    rough, near, far = _find_faces(rgb, plane, facing)
    half = facing.card.width_mm / 2.0 + SIDE_MM
    slope, direction_u = _datum_slope(near, far) if side == "show" else _datum_slope(far, near)
    frame = rough.moved(0.0, near.line.at(0.0), float(np.arctan(slope)))
    middle = float(np.median(near.x))
    thickness = (far.line.at(middle) - near.line.at(middle)) * float(np.cos(np.arctan(slope)))
    thickness_u = float(np.hypot(near.line.u_at(middle), far.line.u_at(middle)))
    left, right = _extent(near, far)
    strip = _surface_strip(rgb, plane, frame, left, right, thickness)
    runs = _surface(near, far, half, strip)
    left, right = _ends(near, far, runs)
    if side == "transfer":
        frame = frame.moved(0.0, thickness, np.pi)
        runs, left, right, strip = [(-b, -a) for a, b in reversed(runs)], -right, -left, strip.turned(thickness)
    _check_whole(rgb, plane, frame, left, right, thickness)
    unparallel = float(np.arctan(far.line.slope) - np.arctan(near.line.slope))
    unparallel_u = float(np.hypot(near.line.slope_u, far.line.slope_u))
    return FoundEnd(frame, thickness, thickness_u, direction_u, unparallel, unparallel_u, left, right, runs, strip)


def _find_faces(rgb: NDArray[np.uint8], plane: PlaneMap, facing: Facing) -> tuple[Frame, FaceEdge, FaceEdge]:
    """The search frame and both face edges: of all likely pairs, the one whose edges are seen along most of the end."""
    pairs, found_in = find_pairs(rgb, facing.plane, facing.card)
    card_frame = facing.to_card(found_in)
    half = facing.card.width_mm / 2.0 + SIDE_MM
    seen: list[_Faces] = []
    for pair in pairs:
        if all(not faces.within_reach_of(pair) for faces in seen):
            seen += _faces_of(rgb, plane, card_frame, pair, half)
    if not seen:
        raise refuse("no_board_end")
    best = max(seen, key=lambda faces: faces.evidence)
    return best.frame, best.near, best.far


@dataclass(frozen=True)
class _Faces:
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


def _faces_of(rgb: NDArray[np.uint8], plane: PlaneMap, card_frame: Frame, pair: Pair, half: float) -> list[_Faces]:
    """The edges of one pair; none when they are not there on a closer look."""
    rough = card_frame.moved(0.0, pair.y_mm, pair.turn)
    inner = pair.thickness_mm / 2.0
    try:
        near = find_face_edge(rgb, plane, rough, half, 0.0, inner_mm=inner, polarity=1)
        far = find_face_edge(rgb, plane, rough, half, pair.thickness_mm, inner_mm=inner, along=near)
    except CannotMeasure:
        return []
    both = COLUMN_MM * len(np.intersect1d(np.rint(near.x / COLUMN_MM), np.rint(far.x / COLUMN_MM)))
    straight = max(0.0, 1.0 - max(near.line.scatter, far.line.scatter) / CHANCE_SCATTER_MM)
    evidence = pair.score + _BOTH_WORTH * both * straight
    return [_Faces(evidence, rough, near, far, pair.y_mm + near.line.level, pair.y_mm + far.line.level)]


def _datum_slope(show: FaceEdge, transfer: FaceEdge) -> tuple[float, float]:
    """Slope of the datum and its standard uncertainty: the show-face edge, steadied by the edge parallel to it."""
    show_u = np.hypot(show.line.slope_u, _EDGE_DIRECTION_U)
    transfer_u = np.sqrt(transfer.line.slope_u**2 + _EDGE_DIRECTION_U**2 + _PARALLEL_U**2)
    weights = np.array([show_u**-2.0, transfer_u**-2.0])
    slope = float(weights @ [show.line.slope, transfer.line.slope] / weights.sum())
    return slope, float(weights.sum() ** -0.5)


def _extent(near: FaceEdge, far: FaceEdge) -> Run:
    """The ends of the row of stretches along x in which an edge was seen, single columns left out."""
    x = np.union1d(np.rint(near.x / COLUMN_MM), np.rint(far.x / COLUMN_MM)) * COLUMN_MM
    stretches = [run for run in _split(x, 1.0) if run[1] - run[0] > _SHORTEST_STRETCH_MM]
    rows: list[Run] = []
    for left, right in stretches:
        if rows and left - rows[-1][1] < _WIDEST_SOCKET_MM:
            rows[-1] = (rows[-1][0], right)
        else:
            rows.append((left, right))
    if not rows:
        raise refuse("no_board_end")
    return max(rows, key=lambda row: row[1] - row[0])


def _ends(near: FaceEdge, far: FaceEdge, runs: list[Run]) -> Run:
    """The ends of the surface, as far as either edge goes on from its runs without a break."""
    x = np.union1d(np.rint(near.x / COLUMN_MM), np.rint(far.x / COLUMN_MM)) * COLUMN_MM
    first, last = runs[0][0], runs[-1][1]
    joined = [run for run in _split(x, _BREAK_MM) if run[1] > first and run[0] < last]
    return min([first, *(run[0] for run in joined)]), max([last, *(run[1] for run in joined)])


def _split(x: Floats, gap: float) -> list[Run]:
    """Stretches (left, right) of sorted places with no gap wider than `gap` mm."""
    breaks = np.nonzero(np.diff(x) > gap)[0]
    firsts, lasts = np.concatenate([[0], breaks + 1]), np.concatenate([breaks, [len(x) - 1]])
    return [(float(x[first]), float(x[last])) for first, last in zip(firsts, lasts, strict=True)]


def _surface(near: FaceEdge, far: FaceEdge, half: float, strip: EndStrip) -> list[Run]:
    """Stretches of the surface along x."""
    columns = np.unique(np.rint(np.arange(-half, half, COLUMN_MM) / COLUMN_MM))
    near_columns, far_columns = np.rint(near.x / COLUMN_MM), np.rint(far.x / COLUMN_MM)
    x = columns * COLUMN_MM
    near_seen, far_seen = np.isin(columns, near_columns), np.isin(columns, far_columns)
    runs = surface_runs(x, near_seen, far_seen, usual_light(strip, x), step_strength(strip, x))
    if not runs:
        raise refuse("no_board_end")
    return runs


def _check_whole(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, left: float, right: float, thickness: float
) -> None:
    corners = np.array([[left, 0.0], [right, 0.0], [right, thickness], [left, thickness]])
    pixels = plane.to_image(frame.to_plane(corners))
    height, width = rgb.shape[:2]
    margin = max(6.0, 0.8 * plane.px_per_mm(frame.origin))
    if (pixels < margin).any() or (pixels > np.array([width, height]) - 1 - margin).any():
        raise refuse("end_cut_off")


def _surface_strip(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, left: float, right: float, thickness: float
) -> EndStrip:
    """The surface away from its face edges, relative to the light of its wood."""
    unit = min(_FINEST_PX_PER_MM, plane.px_per_mm(frame.to_plane(np.array([[(left + right) / 2.0, 0.0]]))[0]))
    x = np.arange(left - _OUTSIDE_MM, right + _OUTSIDE_MM, 1.0 / unit)
    y = np.arange(0.7, thickness - 0.7, 0.15)
    light, _ = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), x, y)
    inside = (x > left) & (x < right)
    wood = np.percentile(light[:, inside].reshape(-1, 3), 60, axis=0)
    return EndStrip((light / np.maximum(wood, 1e-4)).astype(np.float32), x, y)


@dataclass(frozen=True)
class Located:
    """The end, its rough walls, and the edge of the card that it lies beyond (quarter turns, see `card_turn`)."""

    end: FoundEnd
    walls: FoundWalls
    edge: int


def locate(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, side: CardSide, stage: Stage | None) -> Located:
    """The end beyond the edge that the card's arrow points to or, when there is none, beyond another.

    Raises CannotMeasure as `locate_end` and `locate_walls` do for the arrow's edge.
    """
    try:
        end = locate_end(rgb, plane, card, side)
    except CannotMeasure as refused:
        turned = _beyond_another_edge(rgb, plane, card, side, stage) if _nothing_found(refused) else None
        if turned is None:
            raise
        return turned
    return Located(end, locate_walls(end, stage), BOTTOM)


def _nothing_found(refused: CannotMeasure) -> bool:
    return refused.refusal.reason == "no_board_end"


def _beyond_another_edge(
    rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, side: CardSide, stage: Stage | None
) -> Located | None:
    for edge in UNUSUAL:
        try:
            end = locate_end(rgb, plane, card, side, edge)
            return Located(end, locate_walls(end, stage), edge)
        except CannotMeasure:
            continue
    return None


def locate_walls(end: FoundEnd, stage: Stage | None) -> FoundWalls:
    """The rough walls; `stage` None lets the surface tell. Raises CannotMeasure `no_kerfs`, `kerfs_do_not_pair`."""
    cuts = [cut for cut in kerfs_of(find_cuts(end.strip)) if _well_inside(cut, end)]
    found = stage or stage_of(end.runs, cuts)
    if found == "cleared":
        if len(end.runs) == 0:
            raise refuse("no_kerfs")
        return FoundWalls("cleared", walls_of_tails(end.strip, end.runs))
    if not cuts:
        raise refuse("no_kerfs")
    if len(cuts) % 2:
        cuts = _with_mate(cuts, end)
    if len(cuts) % 2:
        raise refuse("kerfs_do_not_pair", _odd_one_out(cuts, end.left))
    return FoundWalls("sawn", walls_of_kerfs(cuts))


def _with_mate(cuts: list[Cut], end: FoundEnd) -> list[Cut]:
    """The cuts and, when just one pale mark looks like the missing one, that as well."""
    pale = [cut for cut in find_cuts(end.strip, darkest=PALE) if _well_inside(cut, end)]
    mate = mate_of(cuts, pale)
    return cuts if mate is None else sorted([*cuts, mate], key=lambda cut: cut.left)


def _well_inside(cut: Cut, end: FoundEnd) -> bool:
    return end.left + _NEAREST_SIDE_MM < cut.middle < end.right - _NEAREST_SIDE_MM


def _odd_one_out(cuts: list[Cut], left: float) -> str:
    """A sentence on an odd number of cuts: where they are, and which of them seems to stand alone."""
    places = np.array([cut.middle - left for cut in cuts])
    listed = ", ".join(f"{place:.1f}" for place in places)
    if len(cuts) == 1:
        return f"Only one was found, {listed} mm from the left end of the show face."
    alone = places[_lone_cut(places)]
    return (
        f"{len(cuts)} were found, {listed} mm from the left end of the show face;"
        f" the one at {alone:.1f} mm seems to have no mate."
    )


def _lone_cut(places: Floats) -> int:
    """The cut without which the rest make the most even tails."""

    def unevenness(index: int) -> float:
        rest = np.delete(places, index)
        return float(np.std(rest[1::2] - rest[::2]))

    return min(range(0, len(places), 2), key=unevenness)
