"""A face's edge among what lies beside it, on edge points strewn as photos show them."""

from __future__ import annotations

import numpy as np
import pytest

from tests.scenes import Scene, rendered
from tests.vision.ends import solved
from vision.end import face_edges
from vision.end.face_edges import COLUMN_MM, EdgePoints, FaceEdge, find_face_edges, straight_edges
from vision.photo.strip import Frame

Floats = np.ndarray


def strewn(x: Floats, y: Floats, seed: int, noise: int = 900) -> EdgePoints:
    """Points of brighter wood below at (x, y), scattered by 0.008 mm, among others strewn over +-1.8 mm."""
    rng = np.random.default_rng(seed)
    x = np.concatenate([x, np.rint(rng.uniform(-75.0, 75.0, noise) / COLUMN_MM) * COLUMN_MM])
    y = np.concatenate([y + rng.normal(0.0, 0.008, len(y)), rng.uniform(-1.8, 1.8, noise)])
    return EdgePoints(x, y, np.ones(len(x)), 1.8)


def longest(points: EdgePoints) -> FaceEdge:
    return max(straight_edges(points, 0.0, (1,), None), key=lambda found: found[0])[1]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_line_a_hair_off_the_edge_and_in_line_with_it_is_told_apart(seed: int) -> None:
    x = COLUMN_MM * np.arange(-240, 241)
    board = (np.abs(x) < 50.0) & (np.abs(np.abs(x) - 16.0) > 3.0)
    truth = 0.2 + 0.006 * x
    found = longest(strewn(x, truth + np.where(board, 0.0, 0.08), seed))
    # A mean of a hundred points that scatter by 0.008 mm, with a few of the strewn ones among them.
    np.testing.assert_allclose(found.line.at(0.0), 0.2, atol=0.006)
    assert found.line.slope == pytest.approx(0.006, abs=1e-4)
    assert np.isin(np.rint(found.x / COLUMN_MM), np.rint(x[board] / COLUMN_MM)).mean() > 0.9


def test_an_edge_that_is_rough_alone_keeps_all_its_points() -> None:
    x = COLUMN_MM * np.arange(-160, 161)
    rough = 0.2 + np.random.default_rng(3).normal(0.0, 0.035, len(x))
    found = longest(strewn(x, rough, 3, noise=200))
    assert len(found.x) > 0.98 * len(x)


def test_the_best_edge_is_told_too_where_one_that_runs_another_way_lies_nearer_to_the_surface(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    x = COLUMN_MM * np.arange(-240, 241)
    about, board = x[np.abs(x) > 30.0], x[np.abs(x) < 50.0]
    slope, lines = np.tan(np.radians(0.9)), np.zeros(0)
    x, lines = np.concatenate([board, about]), np.concatenate([slope * board, np.full(len(about), 1.2)])
    monkeypatch.setattr(face_edges, "_edge_points", lambda *_: strewn(x, lines, 5, noise=200))
    _, plane = solved(Scene())
    found = find_face_edges(
        rendered(Scene()).photo.rgb, plane, Frame.turned(np.zeros(2), 0.0), 75.0, 0.0, inner_mm=6.0, polarity=1
    )
    assert [edge.line.slope for edge in found] == pytest.approx([0.0, slope], abs=2e-4)
