"""Ends on a ruled mat: its light lines are no edges once they have led astray."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from calibration.outcome import CannotMeasure, refuse
from tests.scenes import Scene, rendered
from tests.vision.cameras import straight_down
from tests.vision.ends import located, solved
from vision.end import locate as locating
from vision.end.face_edges import EdgePoints, find_face_edges, straight_edges
from vision.end.find_end import RULED, USUAL, WIDE, Search
from vision.end.found_end import FoundEnd, locate_end
from vision.end.locate import locate
from vision.photo.strip import Frame

CLEARED = Scene(cleared=True)
PLANE = straight_down(0.0, 0.0, distance_mm=300.0)  # 10 px per mm, the point below it in the corner


def edge_at(picture: np.ndarray, *, ruled: bool) -> float:
    """Where the edge about 20 mm down is, along 60 mm."""
    edge = find_face_edges(picture, PLANE, Frame.turned(np.array([40.0, 0.0]), 0.0), 30.0, 20.0, ruled=ruled)[0]
    return edge.line.at(0.0)


def mat(*, wood_from_mm: float | None = None, line_mm: float = 0.5) -> np.ndarray:
    """A dark mat with a light line 20 mm down, or as if wood began `wood_from_mm` down."""
    picture = np.full((400, 800, 3), 60, np.uint8)
    picture[200 : round(200 + 10 * line_mm)] = 190
    if wood_from_mm is not None:
        picture[round(10 * wood_from_mm) :] = (190, 160, 130)
    return cv2.GaussianBlur(picture, (0, 0), 0.8)


@pytest.mark.parametrize("line_mm", [0.3, 0.7])
def test_a_light_line_is_no_edge_where_it_is_known_that_there_are_some(line_mm: float) -> None:
    assert edge_at(mat(line_mm=line_mm), ruled=False) == pytest.approx(20.0, abs=line_mm + 0.1)
    with pytest.raises(CannotMeasure, match="No board's end"):
        edge_at(mat(line_mm=line_mm), ruled=True)


def test_woods_edge_stays_where_it_is() -> None:
    picture = mat(wood_from_mm=20.6, line_mm=0.0)
    assert edge_at(picture, ruled=True) == edge_at(picture, ruled=False) == pytest.approx(20.6, abs=0.06)
    below_wood = picture[::-1].copy()  # 400 rows: the edge is 19.4 mm down then, less half a pixel twice
    assert edge_at(below_wood, ruled=True) == edge_at(below_wood, ruled=False) == pytest.approx(19.3, abs=0.06)


def test_the_end_is_looked_for_without_lines_where_it_went_on_and_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines that seemed the faces run out of the search, and at a second look out of the picture."""
    corners, plane = solved(CLEARED)
    own, looked = located(CLEARED), list[Search]()

    def misled(rgb: np.ndarray, *told: object) -> FoundEnd:
        looked.append(told[-1])  # type: ignore[arg-type]
        if looked[-1] is WIDE:
            raise refuse("end_cut_off")
        return own if looked[-1] is RULED else cut_short

    cut_short = FoundEnd(**{**vars(own), "looked": (own.runs[0][0], own.runs[-1][1])})
    monkeypatch.setattr(locating, "locate_end", misled)
    assert locate(rendered(CLEARED).photo.rgb, plane, corners.card, "show", None).end is own
    assert looked == [USUAL, WIDE, RULED]
    own = cut_short
    with pytest.raises(CannotMeasure, match="runs out of the picture"):
        locate(rendered(CLEARED).photo.rgb, plane, corners.card, "show", None)


def test_the_faces_of_a_plain_end_are_the_same_without_lines() -> None:
    corners, plane = solved(CLEARED)
    end = locate_end(rendered(CLEARED).photo.rgb, plane, corners.card, "show", search=RULED)
    assert end.thickness == pytest.approx(located(CLEARED).thickness, abs=0.02)


def test_points_that_leave_a_line_as_it_settles_are_no_edge_of_it() -> None:
    """Of two edges 0.09 mm apart in turns, the line between them holds none within 0.04 mm."""
    x = np.linspace(-30.0, 30.0, 60)
    found = straight_edges(EdgePoints(x, 0.045 * (-1.0) ** np.arange(60), np.ones(60), 1.8), 0.0, (1,), None)
    assert all(abs(edge.line.at(0.0)) < 0.05 for _, edge in found)
