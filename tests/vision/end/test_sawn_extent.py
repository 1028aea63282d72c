"""Sawn ends on mottled stone, beyond the card's ends and beside rivals: how far they reach, and how sure that is."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from calibration.card import CARDS, MARGIN_MM
from tests.scenes import GAP_MM, Scene, rendered
from tests.vision.ends import located, solved
from vision.end.locate import Located, locate
from vision.end.sawn_extent import RoughSide
from vision.end.sides import DOUBTFUL_U, Side, doubts, sawn_sides
from vision.photo.strip import Frame

SCENE = Scene()
RIM_MM = 0.15
Pixels = NDArray[np.uint8]


def on_stone(scene: Scene, seed: int) -> Pixels:
    """The scene's photo with mottled stone, blobs of a millimetre, around the card and over the board's rim.

    The rim, `RIM_MM` of the wood at the sides and the far face, goes with the bench that the lens had blurred into it.
    """
    seen = rendered(scene)
    rgb = seen.photo.rgb.copy()
    coarse = np.random.default_rng(seed).standard_normal(rgb.shape[:2]).astype(np.float32)
    blobs = cv2.GaussianBlur(coarse, (0, 0), 0.4 * scene.px_per_mm)
    stone = np.clip(95.0 + 45.0 * blobs / blobs.std(), 12.0, 215.0).astype(np.uint8)[..., None]
    card = CARDS[scene.card]
    sheet = (
        Frame.turned(np.zeros(2), 0.0),
        (-MARGIN_MM, -MARGIN_MM, card.width_mm + MARGIN_MM, card.height_mm + MARGIN_MM),
    )
    board = seen.frame, (RIM_MM, -GAP_MM, scene.width_mm - RIM_MM, scene.thickness_mm - RIM_MM)
    kept = np.zeros(rgb.shape[:2], np.float32)
    for frame, (left, top, right, bottom) in (sheet, board):
        corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]])
        pixels = np.rint(16.0 * seen.plane.to_image(frame.to_plane(corners))).astype(np.int32)
        cv2.fillConvexPoly(kept, pixels, 1.0, shift=4)
    cover = cv2.GaussianBlur(kept, (0, 0), 0.7)[..., None]
    return np.asarray(np.rint(cover * rgb + (1.0 - cover) * stone), np.uint8)


def found_in(
    rgb: Pixels, scene: Scene, rim_mm: float = RIM_MM
) -> tuple[Located, tuple[Side, Side], NDArray[np.float64]]:
    """The end in `rgb`, its sides, and their true places (2,) in its frame."""
    corners, plane = solved(scene)
    place = locate(rgb, plane, corners.card, "show", None)
    true = rendered(scene).frame.to_plane(np.array([[rim_mm, 0.0], [scene.width_mm - rim_mm, 0.0]]))
    return place, sawn_sides(rgb, plane, place.end), place.end.frame.from_plane(true)[:, 0]


@pytest.mark.parametrize("wood", [SCENE.wood, (0.16, 0.07, 0.04), (0.06, 0.045, 0.04)])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_faces_cuts_and_sides_are_told_from_mottled_stone(wood: tuple[float, float, float], seed: int) -> None:
    scene = replace(SCENE, wood=wood)
    place, sides, true = found_in(on_stone(scene, seed), scene)
    # Stone darker than the wood here and lighter there leaves a pixel and a half, 0.1 mm, at the far face.
    assert place.end.thickness == pytest.approx(scene.thickness_mm - RIM_MM, abs=0.1)
    assert len(place.walls.walls) == len(scene.places_mm)
    for side, x in zip(sides, true, strict=True):
        # k = 3, and half a pixel for a polygon's border, at either end.
        assert abs(side.x - x) < 3.0 * side.u + 0.03
        assert side.lean_u is None or abs(side.lean) < 3.0 * side.lean_u + 0.06 / scene.thickness_mm


def test_a_board_wider_than_the_search_for_its_faces_is_found_whole() -> None:
    # The faces are looked for up to 15 mm beyond the card's squares, from -15 to 135 mm; the board, from -19 to 139.
    places = (-10.0, 24.0, 34.0, 84.0, 94.0, 130.0)
    scene = replace(
        SCENE, width_mm=158.0, board_left_mm=-19.0, places_mm=tuple(x + 19.0 for x in places), px_per_mm=12.0
    )
    place, sides, true = found_in(rendered(scene).photo.rgb, scene, 0.0)
    assert len(place.walls.walls) == len(places)
    np.testing.assert_allclose([side.x for side in sides], true, atol=0.1)  # a pixel is 0.08 mm


def test_a_kerf_is_not_taken_for_the_board_s_side() -> None:
    # Half pins of 3 mm: the kerfs' edges are as long and sharp as the sides, and stand before them.
    scene = replace(SCENE, places_mm=(3.0, 23.0, 33.0, 49.0, 59.0, 79.0))
    _, sides, true = found_in(on_stone(scene, 4), scene)
    np.testing.assert_allclose([side.x for side in sides], true, atol=0.1)


def test_the_sides_of_a_plain_end_are_seen_to_be_square() -> None:
    sides = sawn_sides(rendered(SCENE).photo.rgb, solved(SCENE)[1], located(SCENE))
    assert [side.lean for side in sides] == pytest.approx([0.0, 0.0], abs=np.radians(0.1))
    assert all(side.lean_u is not None and side.lean_u < np.radians(0.15) for side in sides)


def test_rivals_far_off_widen_a_side_and_near_ones_do_not() -> None:
    places = np.array([0.0, 0.2, 10.0])
    assert RoughSide(places, np.array([0.5, 0.5, 0.0])).rivals_mm == 0.0
    # A tenth of the belief, 10 mm off: sqrt(0.1) of 10 mm.
    assert RoughSide(places, np.array([0.9, 0.0, 0.1])).rivals_mm == pytest.approx(10.0 * np.sqrt(0.1))


def test_a_side_lies_beyond_the_outermost_cut() -> None:
    side = RoughSide(np.array([-8.0, -3.0, 1.0]), np.array([0.3, 0.6, 0.1]))
    beyond = side.beyond(-4.0, -1.0)
    assert (beyond.x, beyond.rivals_mm) == (-8.0, 0.0)
    assert side.beyond(-20.0, -1.0) is side
    assert side.turned().x == 3.0


def test_a_doubtful_side_is_remarked_on() -> None:
    sure, unsure = Side(0.0, 0.03), Side(80.0, 1.1 * DOUBTFUL_U)
    assert [kind.reason for kind in doubts((sure, unsure))] == ["side_doubtful"]
    assert doubts((sure, sure)) == ()
