"""The end in its frame: face edges, extent and surface, ready to be looked at for walls."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.outcome import CannotMeasure, refuse
from calibration.plane import PlaneMap
from vision.end.between_tails import steps_between
from vision.end.burnt import hidden_cuts
from vision.end.face_edges import COLUMN_MM, FaceEdge
from vision.end.face_pair import Faces, likely_faces, nearer_far_face
from vision.end.find_end import USUAL, Search
from vision.end.find_walls import (
    WIDEST_SOCKET_MM,
    Cut,
    EndStrip,
    Run,
    faces_evidence,
    own_runs,
    step_strength,
    surface_runs,
    usual_light,
)
from vision.end.laid import Laid
from vision.end.lit_face import at_arris
from vision.end.report import CardSide
from vision.end.sawn_extent import RoughSide, SeenFaces, sawn_extent
from vision.photo.card_turn import BOTTOM, Facing
from vision.photo.strip import FINEST_PX_PER_MM, Frame, sample_grid

Floats = NDArray[np.float64]

_OUTSIDE_MM = 3.0
_BEYOND_SEARCH_MM = 15.0
"""How far beyond the search for the faces a side may lie: boards may be wider than the card they lie beside."""
_STRAY_PERCENT = 3.0
"""Columns, percent, at either end in which the face edges were seen by chance."""
_SHORTEST_STRETCH_MM = 2.0
_SOME_ROWS = 4
"""Of so many rows one tells how light the wood is: neighbours are alike."""
_BREAK_MM = 1.0
NARROWEST_HALF_PIN_MM = 2.0
"""How far a board's side is from the wall nearest to it, at least (common practice, no source)."""
_NEAREST_SIDE_MM = 1.0
"""A cut this close to the board's side is the side's own shadow."""
_ABOUT_SIDE_MM = 1.0
"""Farther beyond a side than this an edge in line with a face is something else's."""


@dataclass(frozen=True)
class FoundEnd(Laid):
    """The end in its frame, whose x runs along the show face and y toward the transfer face, and what was seen of it.

    `left` and `right` (mm) are the ends of what was seen of the surface; `runs` its stretches. `sides` are the
    surface's two ends if the waste is still in. The faces were looked for from one end of `looked` (mm) to the other.
    """

    left: float
    right: float
    runs: list[Run]
    strip: EndStrip
    sides: tuple[RoughSide, RoughSide]
    looked: Run = (-np.inf, np.inf)

    @property
    def goes_on(self) -> bool:
        """Whether the surface reaches to where the search for it ended."""
        return self.runs[0][0] < self.looked[0] + _BREAK_MM or self.runs[-1][1] > self.looked[1] - _BREAK_MM

    def holds(self, cut: Cut) -> bool:
        """Whether a cut lies well between its ends."""
        return self.left + _NEAREST_SIDE_MM < cut.middle < self.right - _NEAREST_SIDE_MM

    @property
    def hidden_cuts(self) -> str:
        """A sentence on where light could hide a cut between its ends, or none."""
        inset = NARROWEST_HALF_PIN_MM
        return hidden_cuts(self.strip, self.left + inset, self.right - inset, self.left)

    def check_not_burnt(self) -> None:
        """Raises CannotMeasure `burnt_out` when light could hide a cut."""
        if words := self.hidden_cuts:
            raise refuse("burnt_out", words)

    def with_surroundings(self) -> FoundEnd:
        """The end and what lies beside it, as far as a half pin reaches."""
        return replace(self, left=self.left - WIDEST_SOCKET_MM, right=self.right + WIDEST_SOCKET_MM)

    def as_sawn(self, kerfs: Run | None = None) -> FoundEnd:
        """The end with the waste in: it reaches from side to side, past the outermost `kerfs` where they are known."""
        left, right = self.sides
        if kerfs is not None:
            left = left.beyond(kerfs[0] - NARROWEST_HALF_PIN_MM, -1.0)
            right = right.beyond(kerfs[1] + NARROWEST_HALF_PIN_MM, 1.0)
        return replace(self, left=left.x, right=right.x, sides=(left, right))


def locate_end(
    rgb: NDArray[np.uint8],
    plane: PlaneMap,
    card: Card,
    side: CardSide,
    edge: int = BOTTOM,
    search: Search = USUAL,
) -> FoundEnd:
    """The end beyond an `edge` of the card, told in the card's frame.

    Raises CannotMeasure `no_board_end` or `end_cut_off`.
    """
    facing = Facing.by(plane, card, edge)
    half = search.half_mm(facing.card)
    faces, *others = likely_faces(rgb, plane, facing, search)
    end = _end_of(rgb, plane, half, faces, side)
    nearer = nearer_far_face(faces, others)
    far_mm = end.thickness if side == "show" else 0.0
    if nearer is not None and steps_between(rgb, plane, end.frame, end.runs, far_mm):
        return _end_of(rgb, plane, half, nearer, side)
    return end


def likely_ends(
    rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, side: CardSide, search: Search, least_share: float
) -> Iterator[FoundEnd]:
    """Ends beyond the arrow's edge as a `search` finds them, the likeliest first.

    Those with less than `least_share` of the first one's evidence are left out. Raises CannotMeasure `no_board_end`.
    """
    facing = Facing.by(plane, card, BOTTOM)
    half = search.half_mm(facing.card)
    found = likely_faces(rgb, plane, facing, search, least_share)
    for faces in found:
        if faces.evidence >= least_share * found[0].evidence:
            with suppress(CannotMeasure):
                yield _end_of(rgb, plane, half, faces, side)


def _end_of(rgb: NDArray[np.uint8], plane: PlaneMap, half: float, faces: Faces, side: CardSide) -> FoundEnd:
    """The end between two face edges looked for within +-`half` mm.

    Raises CannotMeasure `no_board_end` or `end_cut_off`.
    """
    near, far = faces.near, faces.far
    columns = _Columns.of(near, far, half)
    rough = Laid.by(faces.frame, near, far, side)
    sides = _sides(rgb, plane, rough.frame, columns, rough.thickness)
    reach = sides[0].x - _ABOUT_SIDE_MM, sides[1].x + _ABOUT_SIDE_MM
    own, other = near.between(*reach), far.between(*reach)
    laid = Laid.by(faces.frame, at_arris(rgb, plane, faces.frame, own, other), other, side)
    strip = _surface_strip(rgb, plane, laid.frame, _extent(near, far), (sides[0].x, sides[1].x), laid.thickness)
    runs = own_runs(_surface(columns, strip), (sides[0].x, sides[1].x))
    left, right = _ends(near, far, runs)
    looked = float(columns.x[0]), float(columns.x[-1])
    end = FoundEnd(**vars(laid), left=left, right=right, runs=runs, strip=strip, sides=sides, looked=looked)
    if side == "transfer":
        end = _turned(end)
    _check_whole(rgb, plane, end)
    return end


def _turned(end: FoundEnd) -> FoundEnd:
    """The end told from its other face."""
    left, right = end.sides
    return replace(
        end,
        frame=end.frame.moved(0.0, end.thickness, np.pi),
        left=-end.right,
        right=-end.left,
        runs=[(-b, -a) for a, b in reversed(end.runs)],
        strip=end.strip.turned(end.thickness),
        sides=(right.turned(), left.turned()),
        looked=(-end.looked[1], -end.looked[0]),
    )


def _extent(near: FaceEdge, far: FaceEdge) -> Run:
    """The ends of the row of stretches along x in which an edge was seen, single columns left out."""
    x = np.union1d(np.rint(near.x / COLUMN_MM), np.rint(far.x / COLUMN_MM)) * COLUMN_MM
    stretches = [run for run in _split(x, 1.0) if run[1] - run[0] > _SHORTEST_STRETCH_MM]
    rows: list[Run] = []
    for left, right in stretches:
        if rows and left - rows[-1][1] < WIDEST_SOCKET_MM:
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


class _Columns(NamedTuple):
    """Places `x` (n,) mm along the end, and whether the `near` and the `far` face edge (n,) are seen there."""

    x: Floats
    near: NDArray[np.bool_]
    far: NDArray[np.bool_]

    @classmethod
    def of(cls, near: FaceEdge, far: FaceEdge, half: float) -> _Columns:
        """The columns within +-`half` mm."""
        columns = np.unique(np.rint(np.arange(-half, half, COLUMN_MM) / COLUMN_MM))
        seen = [np.isin(columns, np.rint(edge.x / COLUMN_MM)) for edge in (near, far)]
        return cls(columns * COLUMN_MM, seen[0], seen[1])


def _surface(columns: _Columns, strip: EndStrip) -> list[Run]:
    """Stretches of the surface along x."""
    x = columns.x
    runs = surface_runs(x, columns.near, columns.far, usual_light(strip, x), step_strength(strip, x))
    if not runs:
        raise refuse("no_board_end")
    return runs


def _sides(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, columns: _Columns, thickness: float
) -> tuple[RoughSide, RoughSide]:
    """The surface's two ends if the waste is in, looked for beyond the search for the faces as well."""
    both = columns.x[columns.near & columns.far]
    left, right = np.percentile(both, [_STRAY_PERCENT, 100.0 - _STRAY_PERCENT])
    seen = SeenFaces(columns.x, faces_evidence(columns.near, columns.far), float(left), float(right))
    reach = float(columns.x[0]) - _BEYOND_SEARCH_MM, float(columns.x[-1]) + _BEYOND_SEARCH_MM
    return sawn_extent(rgb, plane, frame, reach, thickness, seen)


def _check_whole(rgb: NDArray[np.uint8], plane: PlaneMap, end: FoundEnd) -> None:
    left, right = end.sides[0].x, end.sides[1].x
    corners = np.array([[left, 0.0], [right, 0.0], [right, end.thickness], [left, end.thickness]])
    pixels = plane.to_image(end.frame.to_plane(corners))
    height, width = rgb.shape[:2]
    margin = max(6.0, 0.8 * plane.px_per_mm(end.frame.origin))
    if (pixels < margin).any() or (pixels > np.array([width, height]) - 1 - margin).any():
        raise refuse("end_cut_off")


def _surface_strip(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, seen: Run, sides: Run, thickness: float
) -> EndStrip:
    """The surface away from its face edges, relative to the light of its wood."""
    middle = np.array([[(seen[0] + seen[1]) / 2.0, 0.0]])
    unit = min(FINEST_PX_PER_MM, plane.px_per_mm(frame.to_plane(middle)[0]))
    before, after = (np.ceil(max(0.0, beyond) * unit) / unit for beyond in (seen[0] - sides[0], sides[1] - seen[1]))
    x = np.arange(seen[0] - before - _OUTSIDE_MM, seen[1] + after + _OUTSIDE_MM, 1.0 / unit)
    y = np.arange(0.7, thickness - 0.7, 0.15)
    light, _ = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), x, y)
    inside = (x > seen[0]) & (x < seen[1])
    wood = np.maximum(np.percentile(light[::_SOME_ROWS, inside].reshape(-1, 3), 60, axis=0), 1e-4)
    return EndStrip((light / wood).astype(np.float32), x, y, wood)
