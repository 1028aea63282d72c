"""The sides of a face, and its edge, on painted faces."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.card import CARDS
from calibration.outcome import CannotMeasure
from tests.face_scenes import FaceScene, face_photo
from tests.scenes import Scene, camera, rendered
from vision.end.find_walls import EndStrip
from vision.face.find import likely_edges
from vision.face.paper import USUAL_MM, Paper
from vision.face.sides import is_side, long_edge, side_beyond, side_of_sawn, visible_depths
from vision.photo.strip import Frame

FACE = FaceScene(turn_deg=3.0)


def test_the_edge_of_a_turned_board_is_found_to_a_hundredth() -> None:
    """Both corners of the end lie on the frame's x axis; edge points scatter by a few micrometres."""
    plane = camera(FACE.scene)
    edge = next(likely_edges(face_photo(FACE).rgb, Paper.seen(face_photo(FACE).rgb, plane, CARDS["short"])))
    turn = np.radians(FACE.turn_deg)
    corners = np.array(FACE.corner_mm) + np.array([[0.0, 0.0], [np.cos(turn), np.sin(turn)]]) * FACE.width_mm
    lowered = plane.nadir_mm + (corners - plane.nadir_mm) / (1.0 + FACE.above_mm / plane.distance_mm)
    inside = edge.frame.from_plane(lowered)
    assert inside[:, 1] == pytest.approx(0.0, abs=0.01)
    assert edge.runs[0][0] == pytest.approx(inside[:, 0].min(), abs=0.4)  # columns are 0.3 mm apart
    assert edge.runs[-1][1] == pytest.approx(inside[:, 0].max(), abs=0.4)


def test_a_bench_has_no_edge() -> None:
    scene = Scene(board=False)
    paper = Paper(camera(scene), CARDS["short"], (USUAL_MM,) * 4)
    assert list(likely_edges(rendered(scene).photo.rgb, paper)) == []


def test_what_the_card_covers_is_not_looked_at() -> None:
    card, plane = CARDS["short"], camera(Scene())
    x, y = np.array([-9.0, 0.0, 60.0, card.width_mm + 9.0]), np.array([-9.0, 20.0, card.height_mm + 9.0])
    clear = Paper(plane, card, (USUAL_MM,) * 4).clear(Frame.turned(np.zeros(2), 0.0), x, y)
    assert clear.tolist() == [[True] * 4, [True, False, False, True], [True] * 4]


def shoulder_strip() -> tuple[EndStrip, np.ndarray]:
    """A cleared board's strip: bench, from depth 12 a shoulder that ends at x = 6, a tail from x = 12 on."""
    x, y = np.arange(0.0, 60.0, 0.1), np.arange(0.4, 30.0, 0.1)
    wood = (x >= 12.0) | ((y[:, None] > 12.0) & (x >= 6.0))
    light = np.where(wood, 1.0, 0.2)[..., None].repeat(3, axis=2).astype(np.float32)
    return EndStrip(light, x, y), np.ones(light.shape[:2], bool)


def test_a_shoulder_is_followed_to_the_boards_side() -> None:
    strip, seen = shoulder_strip()
    assert side_beyond(strip, seen, 12.0, -1.0, 12.0).x == pytest.approx(6.0, abs=0.15)
    seen[strip.y > 15.0] = False
    assert side_beyond(strip, seen, 12.0, -1.0, 12.0).x == pytest.approx(6.0, abs=0.15)


def test_what_a_shoulder_hides_under_the_card_is_no_light() -> None:
    """The card lies on the shoulder: half of it goes on as far, and hidden altogether it is no baseline."""
    strip, seen = shoulder_strip()
    seen[(strip.y > 14.0)[:, None] & (strip.x > 9.0)] = False
    assert side_beyond(strip, seen, 12.0, -1.0, 12.0).x == pytest.approx(6.0, abs=0.15)
    seen[(strip.y > 12.0)[:, None] & (strip.x > 9.0)] = False
    with pytest.raises(CannotMeasure, match="No baseline was found"):
        side_beyond(strip, seen, 12.0, -1.0, 12.0)


def test_of_a_long_edge_that_hardly_shows_nothing_is_claimed() -> None:
    """The card reaches up to a twentieth of a millimetre below the baseline: no row of it is left to look at."""
    plane = camera(FACE.scene)
    edge = next(likely_edges(face_photo(FACE).rgb, Paper.seen(face_photo(FACE).rgb, plane, CARDS["short"])))
    side = long_edge(face_photo(FACE).rgb, plane, edge.frame, edge.runs[0][0], 0.0, (15.0, 15.05))
    assert side.x == edge.runs[0][0]
    assert side.u > 0.5


def test_a_side_is_seen_down_to_the_card() -> None:
    strip, seen = shoulder_strip()
    assert visible_depths(seen, strip, 6.0, 12.5) == pytest.approx((12.5, 29.9), abs=0.11)
    seen[(strip.y > 20.0)] = False
    assert visible_depths(seen, strip, 6.0, 12.5) == pytest.approx((12.5, 20.0), abs=0.11)


def test_a_shoulder_goes_on_where_the_bench_beside_it_is_as_light() -> None:
    """The bench is dark beside the tail, as light as the wood from x = 9.5 on: the upright step at 6 still ends it."""
    strip, seen = shoulder_strip()
    bench = (strip.x < 9.5) & (strip.y[:, None] < 12.0)
    strip.light[bench] = 1.0
    strip.light[(strip.x < 6.0) & (strip.y[:, None] > 12.0)] = 0.9
    assert side_beyond(strip, seen, 12.0, -1.0, 12.0).x == pytest.approx(6.0, abs=0.15)


def sawn_strip() -> tuple[EndStrip, np.ndarray]:
    """A sawn board from x = 6 on, its outermost cut at 12 slanted by 1 in 7; the bench is nearly as light as it."""
    x, y = np.arange(0.0, 60.0, 0.1), np.arange(0.4, 30.0, 0.1)
    light = np.where(x >= 6.0, 1.0, 0.9) * np.ones((len(y), 1))
    light[np.abs(x - 12.0 - y[:, None] / 7.0) < 0.3] = 0.05
    return EndStrip(light[..., None].repeat(3, axis=2).astype(np.float32), x, y), np.ones(light.shape, bool)


@pytest.mark.parametrize("run_end", [6.0, 11.8, 0.5])
def test_a_sawn_boards_side_is_found_wherever_its_end_was_lost_to_sight(run_end: float) -> None:
    strip, seen = sawn_strip()
    assert side_of_sawn(strip, seen, 11.7, -1.0, run_end) == pytest.approx(6.0, abs=0.15)


def test_a_side_stands_upright_and_a_cut_does_not() -> None:
    strip, seen = sawn_strip()
    strip.light[:, strip.x < 6.0] = 0.3
    assert is_side(strip, seen, 6.2)
    assert not is_side(strip, seen, 11.8)
    assert not is_side(strip, seen, 30.0)
