"""From points on a face to numbers: closed forms, and the parts that each error of a fit must have."""

from __future__ import annotations

import math

import numpy as np
import pytest

from calibration.quantity import Source
from tests.scenes import Scene, camera
from vision.face.baseline import BaselineFit
from vision.face.kerf_stops import Stop
from vision.face.numbers import CARD_ABOVE_FACE_MM, FacePoints, face_quantities, face_to_image
from vision.face.shape import FaceParts, FaceWall
from vision.face.sides import LongEdge
from vision.lie.card_lie import HEIGHT
from vision.photo.strip import Frame
from vision.walls.fit import LineFit

FRAME = Frame.turned(np.array([100.0, 70.0]), math.pi)
DEPTH, WIDTH, RUN = 14.0, 80.0, 0.15


def line(level: float, slope: float, u: float = 0.0) -> LineFit:
    return LineFit(0.0, level, slope, u, u / 10.0, 0.0, 10.0)


def parts(u: float = 0.0) -> FaceParts:
    """A board of one tail, its left wall at 10 mm and its right one at 40 mm of the end, stops 0.5 mm past."""
    baseline = BaselineFit(LineFit(0.0, DEPTH, 0.002, u, u / 100.0, 0.0, 50.0), 0.2, 0.03, np.array([50.0]))
    walls = []
    for side, x, run in (("left", 10.0, RUN), ("right", 40.0, -RUN)):
        stop = (DEPTH + 0.002 * x + 0.5) / (1.0 - 0.002 * run)
        wall = line(x + run * DEPTH / 2.0, run, u)
        walls.append(FaceWall(0, "left" if side == "left" else "right", wall, Stop(stop, u), 0.6))
    return FaceParts(FRAME, DEPTH, walls, (LongEdge(0.0, u), LongEdge(WIDTH, u)), baseline)


def numbers(shape: FacePoints) -> np.ndarray:
    return shape.numbers(shape.frame.to_plane(shape.points))


def test_points_of_a_show_face_give_back_what_they_were_made_from() -> None:
    width, left, right, turn, *walls = numbers(parts().shape("show"))
    assert (width, left, right, turn) == pytest.approx((WIDTH, DEPTH, DEPTH + 0.16, math.atan(0.002)), abs=1e-9)
    first, second = np.reshape(walls, (2, 4))
    assert first[[0, 1, 3]] == pytest.approx((10.0, RUN, 0.5), abs=1e-9)
    assert second[[0, 1, 3]] == pytest.approx((40.0, RUN, 0.5), abs=1e-9)


def test_the_transfer_face_counts_from_its_other_side_and_narrows_alike() -> None:
    width, left, right, turn, *walls = numbers(parts().shape("transfer"))
    assert (width, left, right) == pytest.approx((WIDTH, DEPTH + 0.16, DEPTH), abs=1e-9)
    assert turn == pytest.approx(-math.atan(0.002), abs=1e-9)
    first, second = np.reshape(walls, (2, 4))
    assert first[[0, 1, 3]] == pytest.approx((70.0, RUN, 0.5), abs=1e-9)
    assert second[[0, 1, 3]] == pytest.approx((40.0, RUN, 0.5), abs=1e-9)


def test_the_cards_height_scales_lengths_by_height_over_distance() -> None:
    """Central projection between parallel planes is a similarity: slopes stay, lengths grow by h / D."""
    plane = camera(Scene(tilt_deg=(0.0, 0.0)))
    quantities = face_quantities(plane, parts().shape("show"))
    share = CARD_ABOVE_FACE_MM / plane.distance_mm
    assert quantities.width.value == pytest.approx(WIDTH * (1.0 + share), rel=1e-6)
    assert quantities.slope[0].value == pytest.approx(RUN, abs=1e-9)
    assert abs(quantities.width.parts[HEIGHT]) == pytest.approx(WIDTH * 0.15 / plane.distance_mm, rel=0.01)
    assert abs(quantities.slope[0].parts.get(HEIGHT, 0.0)) < 1e-9


def test_every_fit_moves_what_it_should_and_nothing_else() -> None:
    """Slope by its direction; past the baseline by the baseline and the stop but not by the end's edge."""
    quantities = face_quantities(camera(Scene(tilt_deg=(0.0, 0.0))), parts(u=0.05).shape("show"))
    past, slope, x = quantities.past_baseline[0], quantities.slope[0], quantities.x_at_end[0]
    assert abs(past.parts[Source("stop of the cut", "tail 0 left")]) == pytest.approx(0.05, rel=0.01)
    assert Source("stop of the cut", "tail 0 right") not in past.parts
    assert abs(past.parts[Source("baseline", "place")]) == pytest.approx(math.hypot(0.05, 0.012), rel=0.01)
    assert abs(past.parts.get(Source("end's edge", "place"), 0.0)) < 1e-4
    assert abs(slope.parts[Source("wall edge direction", "tail 0 left")]) == pytest.approx(0.005, rel=0.01)
    assert abs(x.parts[Source("board side", "left")]) == pytest.approx(0.05, rel=0.01)


def test_the_map_to_the_photo_undoes_the_cards_height() -> None:
    plane, shape = camera(Scene()), parts().shape("show")
    seen = plane.to_image(shape.frame.to_plane(shape.points[:2]))
    corners = np.array([[0.0, 0.0], [face_quantities(plane, shape).width.value, 0.0]])
    assert face_to_image(plane, shape)(corners) == pytest.approx(seen, abs=1e-6)
