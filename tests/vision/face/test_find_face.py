"""The end's edge on a face among edges that are none: those of the card's paper and of lines on the bench."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from calibration.card import CARDS
from calibration.plane import PlaneMap
from tests.face_scenes import FaceScene, face_photo
from tests.scenes import Scene, camera
from vision.face.find import FoundEdge, likely_edges
from vision.face.paper import USUAL_MM, Paper
from vision.photo.strip import Frame

Pixels = NDArray[np.uint8]

CARD = CARDS["short"]
FACE = FaceScene(cleared=True, past_mm=(0.0,) * 6, scene=Scene(aim_mm=(60.0, 36.0), seed=6))
PLANE = camera(FACE.scene)
MARGIN_MM = 7.0
WHITE, LINE, END_GRAIN, GAP = (230, 230, 230), (170, 170, 170), (184, 165, 137), (15, 15, 15)


def _filled(rgb: Pixels, plane: PlaneMap, corners_mm: NDArray[np.float64], colour: tuple[int, int, int]) -> None:
    pixels = np.rint(plane.to_image(corners_mm) * 16.0).astype(np.int32)
    cv2.fillPoly(rgb, [pixels], colour, cv2.LINE_AA, 4)


def _rectangle(left: float, top: float, right: float, bottom: float) -> NDArray[np.float64]:
    return np.array([[left, top], [right, top], [right, bottom], [left, bottom]])


def wide_paper(face: FaceScene) -> Pixels:
    """The face's photo with `MARGIN_MM` of white about the squares."""
    plane, rgb = camera(face.scene), face_photo(face).rgb.copy()
    w, h, m = CARD.width_mm, CARD.height_mm, MARGIN_MM
    bands = ((-m, -m, w + m, -0.2), (-m, h + 0.2, w + m, h + m), (-m, -m, -0.2, h + m), (w + 0.2, -m, w + m, h + m))
    for band in bands:
        _filled(rgb, plane, _rectangle(*band), WHITE)
    return rgb


def ruled_bench(face: FaceScene) -> Pixels:
    """The face's photo with light lines on the bench, 10 mm apart both ways, along the board."""
    plane, photo = camera(face.scene), face_photo(face).rgb
    frame = Frame.turned(np.array(face.corner_mm), float(np.radians(face.turn_deg)))
    ruled = photo.copy()
    for at in np.arange(-95.0, 180.0, 10.0):
        _filled(ruled, plane, frame.to_plane(_rectangle(-90.0, at, 180.0, at + 0.4)), LINE)
        _filled(ruled, plane, frame.to_plane(_rectangle(at, -90.0, at + 0.4, 180.0)), LINE)
    bench = photo.max(axis=2) < 100
    return np.where(cv2.erode(bench.astype(np.uint8), np.ones((5, 5)))[..., None] > 0, ruled, photo)


def seen(rgb: Pixels, face: FaceScene) -> FoundEdge:
    return next(likely_edges(rgb, Paper.seen(rgb, camera(face.scene), CARD)))


def off_the_corners(edge: FoundEdge, face: FaceScene) -> NDArray[np.float64]:
    """How far the end's corners lie off the edge that was found, mm."""
    plane, turn = camera(face.scene), np.radians(face.turn_deg)
    corners = np.array(face.corner_mm) + np.array([[0.0, 0.0], [np.cos(turn), np.sin(turn)]]) * face.width_mm
    lowered = plane.nadir_mm + (corners - plane.nadir_mm) / (1.0 + face.above_mm / plane.distance_mm)
    return edge.frame.from_plane(lowered)[:, 1]


def test_paper_is_as_wide_as_the_photo_shows_it() -> None:
    narrow = Paper.seen(face_photo(FACE).rgb, PLANE, CARD)
    assert narrow.margins == (USUAL_MM,) * 4
    wide = Paper.seen(wide_paper(FACE), PLANE, CARD)
    assert all(MARGIN_MM < margin < MARGIN_MM + 1.5 for margin in wide.margins)


@pytest.mark.parametrize("cleared", [False, True])
def test_the_edge_of_wide_paper_is_not_the_ends(cleared: bool) -> None:
    face = replace(FACE, cleared=cleared)
    assert off_the_corners(seen(wide_paper(face), face), face) == pytest.approx(0.0, abs=0.02)


@pytest.mark.parametrize("cleared", [False, True])
def test_a_line_on_the_bench_is_not_the_end(cleared: bool) -> None:
    face = replace(FACE, cleared=cleared)
    assert off_the_corners(seen(ruled_bench(face), face), face) == pytest.approx(0.0, abs=0.02)


def test_a_gap_in_the_bench_just_beyond_the_end_is_not_the_end() -> None:
    """Between the end's edge, faint against the board's own end grain, and a plain dark gap lies a millimetre."""
    face = replace(FACE, cleared=False)
    plane, rgb = camera(face.scene), face_photo(face).rgb.copy()
    frame = Frame.turned(np.array(face.corner_mm), float(np.radians(face.turn_deg)))
    for near, far, colour in ((0.0, 1.2, END_GRAIN), (1.2, 1.9, GAP), (1.9, 30.0, END_GRAIN)):
        _filled(rgb, plane, frame.to_plane(_rectangle(-60.0, near, 150.0, far)), colour)
    assert off_the_corners(seen(rgb, face), face) == pytest.approx(0.0, abs=0.15)
