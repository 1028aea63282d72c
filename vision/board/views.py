"""One board seen from its end and its faces: what belongs together, with the errors that the views share.

All cards of one kind are taken to be one print, and a told size is told once: those errors are common to all views, and
every other is a view's own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import refuse
from calibration.quantity import Quantity, Source
from vision.end.report import Measurement, Wall, narrowing, other_side
from vision.face.report import FaceKerf, FaceMeasurement, FaceView

Floats = NDArray[np.float64]
ViewName = Literal["end", "show", "transfer"]

SHARED_CAUSES = frozenset({"print scale", "print skew", "told size"})

MEET_U_MM = 0.01
"""How far a wall's lines on end and face miss one another at the corner they share, because a sawn wall is not quite
ruled (0.007 mm on six rendered boards; every wall for itself)."""

SIDES_SQUARE_U_MM = 0.05
"""How far the board's side, from which x counts, is out of square from face to face: 0.15 degrees over 19 mm (common
practice for a planed edge, no source)."""


@dataclass(frozen=True)
class FaceLine:
    """A wall as a face shows it: where it meets the end (mm), and dx/ddepth."""

    x_at_end: Quantity
    run: Quantity

    def x_at(self, depth_mm: float) -> Quantity:
        """Its x at a depth from the end, mm."""
        return self.x_at_end + self.run.scaled(depth_mm, "mm")


@dataclass(frozen=True)
class SeenFace:
    """One face of the board: its width at the end, and its lines as the end's walls run."""

    view: FaceView
    width: Quantity
    lines: tuple[FaceLine, ...]

    def widened(self, times: float) -> SeenFace:
        """The same with the view's own errors so many times as large."""
        lines = tuple(FaceLine(_times(line.x_at_end, times), _times(line.run, times)) for line in self.lines)
        return SeenFace(self.view, _times(self.width, times), lines)

    def with_part(self, wall: int | None, source: Source, u_mm: float) -> SeenFace:
        """The same with one more error, in the place of a wall's line or, without a `wall`, in the width."""
        if wall is None:
            return replace(self, width=self.width.with_part(source, u_mm))
        lines = list(self.lines)
        lines[wall] = replace(lines[wall], x_at_end=lines[wall].x_at_end.with_part(source, u_mm))
        return replace(self, lines=tuple(lines))


@dataclass(frozen=True)
class BoardViews:
    """The board's views, every error labelled by its view or shared; `depth` is that of the baseline, in mm."""

    width: Quantity
    thickness: Quantity
    walls: tuple[Wall, ...]
    x_show: tuple[Quantity, ...]
    x_transfer: tuple[Quantity, ...]
    faces: Mapping[FaceView, SeenFace]
    depth: Quantity

    def x_end(self, view: FaceView) -> tuple[Quantity, ...]:
        """The walls' x on the end, at this face."""
        return self.x_show if view == "show" else self.x_transfer

    def widened(self, times: float) -> BoardViews:
        """The same with every view's own errors so many times as large; what views share stays."""
        ends = [tuple(_times(x, times) for x in xs) for xs in (self.x_show, self.x_transfer)]
        faces = {name: face.widened(times) for name, face in self.faces.items()}
        return replace(self, width=_times(self.width, times), x_show=ends[0], x_transfer=ends[1], faces=faces)

    def differing(self, first: ViewName, second: ViewName, wall: int | None, by_mm: float) -> BoardViews:
        """The same where two views may each be wrong about a `wall` (None: the width) by what they differ.

        With a wall, `first` is the end.
        """
        name = "width" if wall is None else f"wall {wall}"
        views = self
        for view in (first, second):
            source = Source("views differ", f"{first} and {second}, {name}, {view}")
            views = views._with_part(view, second, wall, source, by_mm / math.sqrt(2.0))
        return views

    def _with_part(self, view: ViewName, at: ViewName, wall: int | None, source: Source, u_mm: float) -> BoardViews:
        """The same with one more error of a view: in the width, or in a wall's x on the face `at`."""
        if view != "end":
            return replace(self, faces={**self.faces, view: self.faces[view].with_part(wall, source, u_mm)})
        if wall is None:
            return replace(self, width=self.width.with_part(source, u_mm))
        x = list(self.x_show if at == "show" else self.x_transfer)
        x[wall] = x[wall].with_part(source, u_mm)
        return replace(self, x_show=tuple(x)) if at == "show" else replace(self, x_transfer=tuple(x))


def join_views(end: Measurement, faces: Sequence[FaceMeasurement], *, depth_mm: float | None = None) -> BoardViews:
    """The views of one board; `depth_mm` is the baseline's when a person told it, else the faces tell.

    Raises CannotMeasure `views_not_one_board` when a face has other walls than the end, ValueError without faces or
    with two of one kind.
    """
    names = [face.view for face in faces]
    if not names or len(set(names)) < len(names):
        raise ValueError("a board needs one photo of a face, or one of each face")
    for face in faces:
        _check_walls(end, face)
    return BoardViews(
        labelled(end.width, "end", end.card.kind),
        labelled(end.thickness, "end", end.card.kind),
        end.walls,
        tuple(labelled(wall.x_show, "end", end.card.kind) for wall in end.walls),
        tuple(labelled(wall.x_transfer, "end", end.card.kind) for wall in end.walls),
        {face.view: _seen(face) for face in faces},
        _depth(faces) if depth_mm is None else Quantity(depth_mm),
    )


def taken_for_the_other(face: FaceMeasurement) -> FaceMeasurement:
    """The face's numbers, had its photo been given as that of the other face: x from the other side, left for right."""
    return renamed(counted_from_other_side(face))


def renamed(face: FaceMeasurement) -> FaceMeasurement:
    """The same numbers under the other face's name."""
    return replace(face, view="transfer" if face.view == "show" else "show")


def counted_from_other_side(face: FaceMeasurement) -> FaceMeasurement:
    """The same face with x counted from its other side, left for right."""
    tails, width = len(face.kerfs) // 2, face.width
    kerfs = tuple(
        replace(kerf, tail=tails - 1 - kerf.tail, side=other_side(kerf.side), x_at_end=width - kerf.x_at_end)
        for kerf in reversed(face.kerfs)
    )
    baseline = replace(
        face.baseline,
        depth_left=face.baseline.depth_right,
        depth_right=face.baseline.depth_left,
        out_of_square=-face.baseline.out_of_square,
    )
    return replace(face, kerfs=kerfs, baseline=baseline, to_image=_from_other_side(face))


def _from_other_side(face: FaceMeasurement) -> Callable[[Floats], Floats]:
    """The face's map for an x that is counted from the other side."""
    return lambda points: face.to_image(np.asarray(points) * (-1.0, 1.0) + (face.width.value, 0.0))


def labelled(quantity: Quantity, view: ViewName, card: str) -> Quantity:
    """The quantity with its sources named for their owner: this view or, for what views share, the kind of card."""
    parts = {_owned(source, view, card): part for source, part in quantity.parts.items()}
    return Quantity(quantity.value, parts, quantity.unit)


def _times(quantity: Quantity, times: float) -> Quantity:
    """The quantity with all parts but the shared ones so many times as large."""
    return quantity.parts_times(lambda source: 1.0 if source.cause in SHARED_CAUSES else times)


def _owned(source: Source, view: ViewName, card: str) -> Source:
    owner = f"{card} card" if source.cause in SHARED_CAUSES else f"{view} photo"
    return Source(source.cause, ", ".join(filter(None, (source.instance, owner))))


def _check_walls(end: Measurement, face: FaceMeasurement) -> None:
    seen, wanted = ([(one.tail, one.side) for one in walls] for walls in (face.kerfs, end.walls))
    if seen != wanted:
        detail = f"The {face.view} face shows {len(seen)} walls, the end {len(wanted)}."
        raise refuse("views_not_one_board", detail)


def _seen(face: FaceMeasurement) -> SeenFace:
    lines = tuple(_line(face, kerf) for kerf in face.kerfs)
    return SeenFace(face.view, labelled(face.width, face.view, face.card.kind), lines)


def _line(face: FaceMeasurement, kerf: FaceKerf) -> FaceLine:
    """The wall's line, with what keeps it from meeting the end's; a tail narrows toward its middle."""
    name = f"tail {kerf.tail + 1} {kerf.side}, {face.view} face"
    x = labelled(kerf.x_at_end, face.view, face.card.kind).with_part(Source("wall not ruled", name), MEET_U_MM)
    if face.view == "transfer":
        x = x.with_part(Source("board side", "out of square"), SIDES_SQUARE_U_MM)
    run = labelled(kerf.slope, face.view, face.card.kind)
    return FaceLine(x, run.scaled(narrowing(kerf.side)))


def _depth(faces: Sequence[FaceMeasurement]) -> Quantity:
    """The baseline's depth in the middle of the board, the mean of the faces that were seen."""
    ends = [
        labelled(depth, face.view, face.card.kind)
        for face in faces
        for depth in (face.baseline.depth_left, face.baseline.depth_right)
    ]
    total = ends[0]
    for one in ends[1:]:
        total = total + one
    return total.scaled(1.0 / len(ends))
