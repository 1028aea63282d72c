"""A far edge that goes on between the tails is that of something beyond the board."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import pytest

from tests.scenes import Scene, rendered
from tests.vision.cameras import straight_down
from tests.vision.ends import located, solved
from vision.end import found_end
from vision.end.between_tails import steps_between
from vision.end.face_edges import FaceEdge
from vision.end.face_pair import Faces, likely_faces, nearer_far_face
from vision.end.found_end import locate_end
from vision.photo.card_turn import BOTTOM, Facing
from vision.photo.strip import Frame
from vision.walls.fit import fit_line

CLEARED = Scene(cleared=True)
BEYOND_MM = 1.5
TAILS = [(10.0, 30.0), (38.0, 58.0)]
WOOD, BENCH = (180, 150, 120), (70, 70, 70)


def painted(*areas: tuple[float, float, tuple[int, int, int]]) -> np.ndarray:
    """Wood to 20 mm down, below it the bench; in the areas, between two places along it, another light."""
    picture = np.full((400, 800, 3), WOOD, np.uint8)
    picture[200:] = BENCH
    for left, right, light in areas:
        picture[:200, round(10 * left) : round(10 * right)] = light
    return picture


def is_seen_to_go_on(picture: np.ndarray, tails: list[tuple[float, float]]) -> bool:
    plane = straight_down(0.0, 0.0, distance_mm=300.0)  # 10 px per mm, the point below it in the corner
    return steps_between(picture, plane, Frame.turned(np.zeros(2), 0.0), tails, 20.0)


def test_an_edge_that_looks_between_the_tails_as_it_does_on_them_goes_on() -> None:
    assert is_seen_to_go_on(painted(), TAILS)
    assert is_seen_to_go_on(painted((30.0, 38.0, (176, 154, 118))), TAILS)  # another wood, hardly another light
    assert not is_seen_to_go_on(painted((30.0, 38.0, BENCH)), TAILS)  # the bench shows through the socket
    assert not is_seen_to_go_on(painted((30.0, 38.0, (110, 90, 70))), TAILS)  # the floor, in shade
    assert not is_seen_to_go_on(painted((30.0, 38.0, (20, 20, 20))), TAILS)  # a dark gap: light rises


def test_nothing_is_said_of_one_tail_of_hardly_any_socket_or_of_an_edge_that_hardly_shows() -> None:
    assert not is_seen_to_go_on(painted(), [(10.0, 58.0)])
    assert not is_seen_to_go_on(painted(), [(10.0, 30.0), (33.0, 58.0)])
    faint = painted()
    faint[200:] = (178, 148, 118)
    assert not is_seen_to_go_on(faint, TAILS)


def moved_far(own: Faces, by_mm: float, evidence: float) -> Faces:
    far = FaceEdge(fit_line(own.far.x, own.far.y + by_mm), own.far.x, own.far.y + by_mm)
    return own._replace(evidence=evidence, far=far, far_y=own.far_y + by_mm)


def own_faces() -> Faces:
    corners, plane = solved(CLEARED)
    return likely_faces(rendered(CLEARED).photo.rgb, plane, Facing.by(plane, corners.card, BOTTOM))[0]


def test_the_nearer_of_two_far_edges_with_one_near_edge_is_looked_for_among_likely_pairs() -> None:
    own = own_faces()
    beyond, before = moved_far(own, BEYOND_MM, 1.6 * own.evidence), moved_far(own, -3.0, 0.2 * own.evidence)
    assert nearer_far_face(beyond, [before, own]) is own
    assert nearer_far_face(own, [beyond]) is None
    assert nearer_far_face(beyond, [own._replace(near_y=own.near_y + 2.0)]) is None
    assert nearer_far_face(beyond, [own._replace(evidence=0.4 * beyond.evidence)]) is None


def bench_beyond(picture: np.ndarray) -> np.ndarray:
    """The photo with a strip as light as the wood along the far face, and darkness beyond it, all over the bench."""
    truth, (_, plane) = rendered(CLEARED), solved(CLEARED)
    for y_mm, light in ((16.5, WOOD), (18.0 + BEYOND_MM, (20, 20, 20))):
        below = truth.frame.to_plane(np.array([[-60.0, y_mm], [140.0, y_mm], [140.0, 60.0], [-60.0, 60.0]]))
        cv2.fillPoly(picture, [np.rint(plane.to_image(below)).astype(np.int32)], light)
    return picture


@pytest.mark.parametrize(
    ("photo", "farther_mm"), [(bench_beyond, 0.0), (lambda picture: picture, BEYOND_MM)], ids=["bench", "none"]
)
def test_the_end_is_laid_to_the_nearer_edge_where_the_likelier_one_goes_on(
    photo: Callable[[np.ndarray], np.ndarray], farther_mm: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    own, (corners, plane), thickness = own_faces(), solved(CLEARED), located(CLEARED).thickness
    beyond = moved_far(own, BEYOND_MM, 1.6 * own.evidence)
    monkeypatch.setattr(found_end, "likely_faces", lambda *_: [beyond, own])
    end = locate_end(photo(rendered(CLEARED).photo.rgb.copy()), plane, corners.card, "show")
    assert end.thickness == pytest.approx(thickness + farther_mm, abs=0.05)
