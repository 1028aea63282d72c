"""Where a wall meets a face: wood that goes on to it is the tail's, wood that stops short is a shoulder's."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vision.cameras import straight_down
from tests.vision.wall_bands import PROFILE
from vision.end.find_walls import RoughWall
from vision.walls.bands import ARRIS_MM, WallBands
from vision.walls.model import WallPicture
from vision.walls.parts import EDGE, INK, LINE, LINE_WIDTH, SHOULDER
from vision.walls.rivals import Board
from vision.walls.shared import FAR_AWAY, Overhead, nothing_known, with_changed
from vision.walls.tips import Tip, for_a_shoulder, tips_of

UNIT, HALF_MM, DEPTH_MM = 15.0, 8.0, 16.0
OVERHEAD = Overhead(x_mm=60.0, distance_mm=240.0, depth_mm=DEPTH_MM, along_mm=0.0)
SHORT_MM = HALF_MM * DEPTH_MM / (240.0 + DEPTH_MM)
ACROSS = np.arange(-1.1, 1.1, 1.0 / UNIT)
WALL, END = -0.4, 0.2
WALLS = [RoughWall(0, "right", 20.0, 0.0, None)]


def bands(*, strip: float, beyond: float, stops: bool) -> WallBands:
    """A tail to -0.4 mm with a line just before its wall, a `strip` of light to 0.2 mm, and what lies `beyond` it.

    The strip `stops` where the camera sees the shoulder end, or goes on to the face.
    """
    along = np.arange(ARRIS_MM - HALF_MM, HALF_MM - ARRIS_MM, 1.0 / UNIT)
    light = np.full((len(along), len(ACROSS)), beyond)
    goes_on = ~(stops & (np.abs(along) > HALF_MM - SHORT_MM))[:, None] & (ACROSS < END)
    light = np.where(goes_on, strip, light)
    light = np.where(ACROSS < WALL, np.where(ACROSS > WALL - 0.3, 0.4, 1.0), light)
    noise = 0.02 * np.random.default_rng(5).normal(size=(*light.shape, 3))
    seen = np.moveaxis(light[..., None] + noise, 2, 1)[None].astype(np.float32)
    return WallBands(WALLS, seen, along, ACROSS[None], np.ones((1, len(ACROSS)), bool), round(0.7 * UNIT))


def explained() -> np.ndarray:
    """The true picture of a wall with a shoulder beside it."""
    changes = (EDGE, WALL), (LINE, WALL - 0.15), (LINE_WIDTH, 0.3), (INK, 0.6), (SHOULDER, END)
    return with_changed(nothing_known().mean, *changes)


def said(seen: WallBands, overhead: Overhead = OVERHEAD) -> float:
    return for_a_shoulder(tips_of(seen, overhead), 0, ACROSS, explained())


@pytest.mark.parametrize("face", [-1.0, 1.0])
@pytest.mark.parametrize("y_mm", [-30.0, 5.0, 40.0])
def test_a_floor_ends_where_a_camera_sees_it_end(face: float, y_mm: float) -> None:
    camera = straight_down(40.0, y_mm, distance_mm=280.0)
    half_mm = 9.0
    on_face = half_mm * (1.0 + face)
    on_floor = camera.to_plane(camera.to_image(np.array([[40.0, on_face]]), height_mm=-17.0))[0, 1]
    overhead = Overhead(40.0, 280.0, 17.0, y_mm - half_mm)
    # A pinhole without distortion: exact.
    assert overhead.short_of(face, half_mm) == pytest.approx(face * (on_face - on_floor), abs=1e-9)


@pytest.mark.parametrize("beyond", [0.1, 0.5, 1.4])
@pytest.mark.parametrize("strip", [0.75, 1.0])
def test_a_strip_that_stops_short_of_the_faces_is_a_shoulder_and_one_that_goes_on_is_the_tail(
    strip: float, beyond: float
) -> None:
    assert said(bands(strip=strip, beyond=beyond, stops=True)) > 40.0
    assert said(bands(strip=strip, beyond=beyond, stops=False)) < -40.0


def test_nothing_is_said_where_what_lies_beyond_is_as_bright_as_the_strip() -> None:
    assert abs(said(bands(strip=0.6, beyond=0.6, stops=True))) < 4.0


def test_shade_that_falls_on_the_tail_near_a_face_too_is_no_end_of_the_strip() -> None:
    seen = bands(strip=0.9, beyond=0.2, stops=False)
    seen.light[:, np.abs(seen.along) > HALF_MM - SHORT_MM] *= 0.5
    assert said(seen) < -40.0


def test_no_tip_shows_at_a_face_past_which_the_camera_stands_or_where_too_few_rows_would() -> None:
    seen = bands(strip=0.8, beyond=0.2, stops=True)
    beside_show = tips_of(seen, OVERHEAD._replace(along_mm=-20.0))
    assert [tip.past_at > 0.0 for tip in beside_show] == [True]
    assert tips_of(seen, OVERHEAD._replace(distance_mm=4000.0)) == ()
    assert said(seen, OVERHEAD._replace(depth_mm=0.0)) == 0.0


def test_the_tips_decide_between_pictures_that_explain_a_band_alike() -> None:
    with_shoulder = explained()
    without = with_changed(with_shoulder, (EDGE, END), (SHOULDER, FAR_AWAY))

    def cheapest(tips: tuple[Tip, ...], seen: WallBands) -> float:
        board = Board(WALLS, seen.blocks(8), PROFILE, OVERHEAD, tips=tips)
        pictures = [[WallPicture(with_shoulder, -30.0), WallPicture(without, 0.0)]]
        return float(board.priced(pictures, nothing_known())[0][0].picture.parameters[EDGE])

    stops, goes_on = (bands(strip=0.8, beyond=0.2, stops=stops) for stops in (True, False))
    assert cheapest((), stops) == END
    assert cheapest(tips_of(stops, OVERHEAD), stops) == WALL
    assert cheapest(tips_of(goes_on, OVERHEAD), goes_on) == END
