"""Which of several likely pairs of face edges is the board's own."""

from __future__ import annotations

import numpy as np
import pytest

from vision.end.face_edges import COLUMN_MM, FaceEdge
from vision.end.face_pair import Faces, own_first
from vision.photo.strip import Frame
from vision.walls.fit import fit_line

THICKNESS_MM, JAW_MM = 17.0, 20.0


def edge(y_mm: float, left_mm: float, right_mm: float) -> FaceEdge:
    x = np.arange(left_mm, right_mm, COLUMN_MM)
    y = np.full(len(x), y_mm)
    return FaceEdge(fit_line(x, y), x, y)


def faces(evidence: float, far_y: float, *, near_y: float = 0.0, left_mm: float = 0.0) -> Faces:
    near, far = edge(near_y, left_mm, left_mm + 90.0), edge(far_y, left_mm, left_mm + 90.0)
    return Faces(evidence, Frame.turned(np.zeros(2), 0.0), near, far, near_y, far_y)


def test_a_jaw_beyond_the_board_is_not_its_far_face_for_a_little_more_evidence() -> None:
    board, jaw = faces(27.0, THICKNESS_MM), faces(28.0, JAW_MM)
    assert own_first([jaw, board]) == [board, jaw]


@pytest.mark.parametrize(
    "other",
    [
        faces(20.0, THICKNESS_MM),
        faces(27.0, THICKNESS_MM, near_y=2.0),
        faces(27.0, THICKNESS_MM, left_mm=-60.0),
    ],
    ids=["much less likely", "another near edge", "beside it"],
)
def test_else_the_likelier_pair_comes_first(other: Faces) -> None:
    best = faces(28.0, JAW_MM)
    assert own_first([best, other]) == [best, other]
