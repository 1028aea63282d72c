"""Walls told by a person: their lines, their uncertainty, and which found walls they stand for."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure
from tests.vision.ends import made_wall
from vision.walls.measure import MeasuredWall
from vision.walls.placed import EYE_OF_BLUR, HAND_SCREEN_PX, ROUGH_END_MM, Sight, ToldRow, ToldWall, told_row

PX_PER_MM, THICKNESS_MM = 10.0, 18.0


def to_frame(px: NDArray[np.float64]) -> NDArray[np.float64]:
    """A camera straight above, the end's origin at (100, 50) px."""
    return (px - (100.0, 50.0)) / PX_PER_MM


SIGHT = Sight(to_frame, THICKNESS_MM, PX_PER_MM, 1.0)
FOUND = [made_wall(number, x_mm) for number, x_mm in enumerate((7.0, 23.0, 33.0, 49.0))]


def told(x_show: float, x_transfer: float, zoom: float | None = 5.0) -> ToldWall:
    """A line whose ends lie exactly on the two faces, told in mm."""
    low_px = 50.0 + THICKNESS_MM * PX_PER_MM
    return ToldWall((100.0 + x_show * PX_PER_MM, 50.0), (100.0 + x_transfer * PX_PER_MM, low_px), zoom)


AS_FOUND = [told(wall.line.level, wall.line.level, None) for wall in FOUND]


def row(*changes: tuple[int, ToldWall]) -> ToldRow:
    walls = list(AS_FOUND)
    for index, wall in changes:
        walls[index] = wall
    return told_row(walls, FOUND, SIGHT)


def refusal_of(walls: list[ToldWall]) -> str:
    with pytest.raises(CannotMeasure) as caught:
        told_row(walls, FOUND, SIGHT)
    assert caught.value.refusal.reason == "told_walls_unusable"
    return caught.value.refusal.message


def test_walls_left_as_they_were_are_the_found_ones_themselves() -> None:
    assert row() == ToldRow(FOUND, {}, ())


def test_a_placed_wall_is_the_line_through_its_ends() -> None:
    wall = row((1, told(23.1, 23.4))).walls[1]
    assert wall.by_hand
    # Two points make a line: identity, but for rounding.
    assert wall.line.at(-THICKNESS_MM / 2.0) == pytest.approx(23.1, abs=1e-12)
    assert wall.line.at(+THICKNESS_MM / 2.0) == pytest.approx(23.4, abs=1e-12)
    assert wall.line.slope == pytest.approx(0.3 / THICKNESS_MM, abs=1e-12)


def test_ends_placed_beyond_or_within_the_faces_tell_the_same_line() -> None:
    slope = 0.3 / THICKNESS_MM
    shorter = ToldWall((331.0 + 20.0 * slope, 70.0), (331.0 + 190.0 * slope, 240.0), 5.0)
    longer, whole = row((1, shorter)).walls[1].line, row((1, told(23.1, 23.4))).walls[1].line
    for t in (-9.0, 0.0, 9.0):
        assert longer.at(t) == pytest.approx(whole.at(t), abs=1e-12)


def test_both_ends_lie_as_surely_as_eye_and_hand_place_them() -> None:
    """At its own ends the line is as uncertain as one placing; half-way two of them are averaged (JCGM 100, 5.1.2)."""
    line = row((1, told(23.1, 23.4, 4.0))).walls[1].line
    u_px = math.hypot(EYE_OF_BLUR, HAND_SCREEN_PX / 4.0)
    u_mm = math.hypot(u_px / PX_PER_MM, ROUGH_END_MM)
    assert line.u_at(-9.0) == pytest.approx(u_mm, rel=1e-12)
    assert line.u_at(+9.0) == pytest.approx(u_mm, rel=1e-12)
    assert line.u_at(0.0) == pytest.approx(u_mm / math.sqrt(2.0), rel=1e-12)


def test_the_larger_the_photo_is_shown_the_surer_the_line_but_never_surer_than_the_eye() -> None:
    u = [SIGHT.placed_u_mm(zoom) for zoom in (0.25, 1.0, 4.0, 64.0)]
    assert u == sorted(u, reverse=True)
    assert u[-1] > EYE_OF_BLUR / PX_PER_MM


def test_a_blurred_photo_is_told_less_well() -> None:
    assert replace(SIGHT, blur_px=3.0).placed_u_mm(8.0) > 2.0 * SIGHT.placed_u_mm(8.0)
    assert replace(SIGHT, blur_px=0.4).placed_u_mm(8.0) == SIGHT.placed_u_mm(8.0)


def test_a_placed_wall_stands_for_the_found_one_of_its_side_that_is_nearest() -> None:
    assert row((1, told(23.4, 23.4)), (2, told(32.0, 32.2))).was == {1: 1, 2: 2}
    assert row((1, told(28.0, 28.0))).was == {1: None}


def test_found_walls_that_are_not_told_are_left_out_and_the_others_keep_their_numbers() -> None:
    outer = told_row([AS_FOUND[0], AS_FOUND[3]], FOUND, SIGHT)
    assert outer.left_out == (1, 2)
    assert [(wall.wall.tail, wall.wall.side) for wall in outer.walls] == [(0, "left"), (0, "right")]
    assert [wall.line for wall in outer.walls] == [FOUND[0].line, FOUND[3].line]


def test_a_pair_that_was_missed_can_be_told() -> None:
    more = told_row([*AS_FOUND, told(59.0, 59.0), told(75.0, 75.2)], FOUND, SIGHT)
    assert more.was == {4: None, 5: None}
    assert [wall.wall.tail for wall in more.walls] == [0, 0, 1, 1, 2, 2]


def test_a_row_that_makes_no_tails_is_refused_in_words() -> None:
    assert "There are 3 walls" in refusal_of(AS_FOUND[:3])
    assert "cross" in refusal_of([AS_FOUND[0], told(34.0, 34.0), *AS_FOUND[2:]])
    assert "take turns" in refusal_of(AS_FOUND[1:3])
    assert "not found any more" in refusal_of([told(8.0, 8.0, None), *AS_FOUND[1:]])
    assert "show face to the transfer face" in refusal_of([ToldWall((170.0, 60.0), (171.0, 90.0), 5.0), *AS_FOUND[1:]])
    swapped = ToldWall(AS_FOUND[0].transfer_px, AS_FOUND[0].show_px, 5.0)
    assert "show face to the transfer face" in refusal_of([swapped, *AS_FOUND[1:]])


def test_a_told_wall_is_numbers_and_a_positive_zoom() -> None:
    with pytest.raises(ValueError, match="zoom must be positive"):
        ToldWall((1.0, 2.0), (1.0, 200.0), 0.0)
    with pytest.raises(ValueError, match="must be numbers"):
        ToldWall((1.0, math.nan), (1.0, 200.0))


def test_what_a_placed_wall_shows_of_itself_is_its_line_alone() -> None:
    from vision.walls.flags import flags_of, kerf_mm

    wall: MeasuredWall = row((1, told(23.1, 23.4))).walls[1]
    assert flags_of(wall) == ("placed_by_hand",)
    assert kerf_mm(wall) is None
    np.testing.assert_allclose(wall.line.residuals(wall.y, wall.x), 0.0, atol=1e-12)
