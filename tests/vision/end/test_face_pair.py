"""Which of several likely pairs of face edges is the board's own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.scenes import Scene, rendered
from tests.vision.ends import solved
from vision.end import face_pair
from vision.end.face_edges import COLUMN_MM, FaceEdge
from vision.end.face_pair import Faces, evidence_of, likely_faces, own_first
from vision.end.find_end import Pair, find_pairs
from vision.photo.card_turn import BOTTOM, Facing
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


def test_an_edge_in_line_with_a_face_but_beyond_the_board_does_not_turn_it() -> None:
    # A jaw's edge in line with the face, a tenth of a millimetre off 40 mm away.
    x = np.arange(0.0, 60.0, COLUMN_MM)
    strays = np.arange(80.0, 110.0, COLUMN_MM)
    y = np.concatenate([np.zeros(len(x)), np.full(len(strays), 0.1)])
    both = np.concatenate([x, strays])
    whole = FaceEdge(fit_line(both, y), both, y)
    own = whole.between(-1.0, 61.0)
    assert own.line.slope == pytest.approx(0.0, abs=1e-12)
    assert whole.line.slope > np.radians(0.05)
    # Too few points make no line.
    assert whole.between(0.0, 2.0) is whole


def test_edges_that_go_on_and_on_beyond_the_walls_are_less_likely_a_boards() -> None:
    walls = Pair(0.0, 5.0, 15.0, np.ones(4), np.array([6.0, 26.0, 32.0, 52.0]), 4.0)
    board, bench = (
        evidence_of(walls, edge(0.0, left, right), edge(15.0, left, right))
        for left, right in ((0.0, 58.0), (-75.0, 75.0))
    )
    assert board > bench


def test_a_pair_that_cannot_be_likelier_any_more_is_not_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    corners, plane = solved(Scene())
    rgb, facing = rendered(Scene()).photo.rgb, Facing.by(plane, corners.card, BOTTOM)
    pairs, frame = find_pairs(rgb, plane, corners.card)
    elsewhere = replace(pairs[0], y_mm=pairs[0].y_mm + 5.0)
    looked_at = []

    def look(rgb: object, plane: object, frame: Frame, half: float, y_mm: float, **_: object) -> list[FaceEdge]:
        looked_at.append(y_mm)
        return [edge(y_mm, -41.0, 41.0)]

    monkeypatch.setattr(face_pair, "find_face_edges", look)
    for other, looks in ((elsewhere, 4), (replace(elsewhere, score=0.0), 2)):
        looked_at.clear()
        monkeypatch.setattr(face_pair, "find_pairs", lambda *_, other=other: ([pairs[0], other], frame))
        likely_faces(rgb, plane, facing)
        assert len(looked_at) == looks


def test_a_closer_look_adds_no_more_than_its_most_to_the_score_of_a_pair() -> None:
    rng = np.random.default_rng(9)
    for _ in range(200):
        walls = rng.uniform(0.6, 1.0, size=rng.integers(1, 20))
        thickness, lengths = float(rng.uniform(6.0, 30.0)), float(rng.uniform(0.0, 7.0))
        pair = Pair(0.0, 5.0, thickness, walls, rng.uniform(-60.0, 60.0, size=len(walls)), float(walls.sum()) + lengths)
        left, right = -rng.uniform(5.0, 80.0), rng.uniform(5.0, 80.0)
        assert evidence_of(pair, edge(0.0, left, right), edge(thickness, left, right)) <= pair.score + 10.0


@pytest.mark.parametrize("off_deg", [1.2, -1.2])
def test_an_edge_that_runs_out_of_the_strip_looked_at_is_followed_to_its_ends(
    off_deg: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    corners, plane = solved(Scene())
    rgb, facing = rendered(Scene()).photo.rgb, Facing.by(plane, corners.card, BOTTOM)
    plain = likely_faces(rgb, plane, facing)[0]
    pairs, frame = find_pairs(rgb, plane, corners.card)
    off = replace(pairs[0], turn=pairs[0].turn + np.radians(off_deg), y_mm=pairs[0].y_mm + 1.2)
    monkeypatch.setattr(face_pair, "find_pairs", lambda *_: ([off], frame))
    found = likely_faces(rgb, plane, facing)[0]
    # One end of the board, 41 mm from the middle, lies 2.1 mm off this pair: farther than the strip of 1.8 mm reaches.
    assert len(found.near.x) > 0.98 * len(plain.near.x)
