"""One board from its end and its faces: walls in depth, whether the photos agree, and what the pins will do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from vision.board.agreement import BoardAgreement, compare_views, misfit
from vision.board.joint_in_depth import DeepPrediction, predict_in_depth
from vision.board.views import BoardViews, counted_from_other_side, join_views, renamed, taken_for_the_other
from vision.board.walls import BoardShape, fit_walls
from vision.end.report import Measurement
from vision.face.report import FaceMeasurement, FaceView
from vision.joint.seating import Advice, Limits


@dataclass(frozen=True)
class BoardReport:
    """What end and faces together say.

    `left_out` is the face that firmly contradicts the others, if any; `exchanged` tells that the photos would agree
    were each face's given for the other; `turned` that x had to be counted from the other side of the faces' photos.
    """

    end: Measurement
    faces: tuple[FaceMeasurement, ...]
    agreement: BoardAgreement
    shape: BoardShape
    joint: DeepPrediction
    left_out: FaceView | None = None
    exchanged: bool = False
    turned: bool = False

    @property
    def end_of_all(self) -> Measurement:
        """The end with its walls' places and its width as all views together have them."""
        return replace(self.end, width=self.shape.width, walls=tuple(self.shape.end_walls(self.end.walls)))

    @property
    def advice(self) -> Advice:
        """The advice: photos that contradict one another carry none but to be taken again."""
        return self.joint.prediction.advice if self.agreement.agree else "photograph again"


def judge_board(
    end: Measurement,
    faces: Sequence[FaceMeasurement],
    *,
    species: str | None = None,
    limits: Limits | None = None,
    depth_mm: float | None = None,
) -> BoardReport:
    """The report on one board from its end and one or both faces.

    A face to doubt is compared but left out of the walls. `depth_mm` is the baseline's, when told. Raises CannotMeasure
    `views_not_one_board`, and ValueError as `join_views` and `predict_in_depth` do.
    """
    reading = _best_reading(end, faces)
    faces = faces if reading.exchanged else reading.faces
    agreement = compare_views(join_views(end, faces, depth_mm=depth_mm))
    left_out = next((face.view for face in faces if face.view == agreement.doubt), None)
    kept = [face for face in faces if face.view != left_out]
    shape = fit_walls(_left_open(join_views(end, kept, depth_mm=depth_mm), agreement, left_out))
    joint = predict_in_depth(shape, end.walls, species=species, limits=limits)
    turned = reading.turned and not reading.exchanged
    return BoardReport(end, tuple(faces), agreement, shape, joint, left_out, reading.exchanged, turned)


class _Reading(NamedTuple):
    """The faces as they may be meant: named the other way round, x counted from the other side."""

    faces: tuple[FaceMeasurement, ...]
    exchanged: bool = False
    turned: bool = False


def _best_reading(end: Measurement, faces: Sequence[FaceMeasurement]) -> _Reading:
    """The faces as they were given, unless the end bears out none of them so, and agrees with another reading."""
    plain = _Reading(tuple(faces))
    found = compare_views(join_views(end, faces))
    if found.agree or found.bears_out_a_face:
        return plain
    others = [
        _Reading(tuple(map(counted_from_other_side, faces)), turned=True),
        _Reading(tuple(map(taken_for_the_other, faces)), exchanged=True),
        _Reading(tuple(map(renamed, faces)), exchanged=True, turned=True),
    ]
    best = min(others, key=lambda reading: misfit(join_views(end, reading.faces)))
    return best if compare_views(join_views(end, best.faces)).agree else plain


def _left_open(views: BoardViews, agreement: BoardAgreement, left_out: FaceView | None) -> BoardViews:
    """The views with U as wide as they differ: all by the Birge ratio, odd walls until both places are inside."""
    wider = views.widened(agreement.birge_ratio)
    for one in agreement.comparisons:
        for odd in one.odd:
            if left_out not in (one.first, one.second):
                wider = wider.differing(one.first, one.second, odd.wall, abs(odd.by_mm))
    return wider
