"""The card turned: the search sees the edge that faces the board as the bottom, and tells what it found in card mm."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.card import CARDS
from tests.scenes import Scene, camera, end_frame
from tests.vision.ends import measured
from vision.end.report import Measurement
from vision.photo.card_turn import BOTTOM, LEFT, RIGHT, TOP, Facing, quarter_turns
from vision.photo.strip import Frame

CARD = CARDS["short"]
PLANE = camera(Scene())
ALIKE = 1e-9
"""The same point through two sets of exact formulas, in px or mm."""

SCENES = {
    BOTTOM: Scene(),
    TOP: Scene(card_edge=TOP, aim_mm=(60.0, 7.0), seed=2),
    RIGHT: Scene(card_edge=RIGHT, aim_mm=(110.0, 20.0), size_px=(2400, 2000), seed=3),
    LEFT: Scene(card_edge=LEFT, aim_mm=(10.0, 20.0), size_px=(2400, 2000), seed=4),
}


def found(edge: int) -> Measurement:
    return measured(SCENES[edge])


@pytest.mark.parametrize("edge", [BOTTOM, RIGHT, TOP, LEFT])
def test_a_point_keeps_its_pixel_whichever_way_it_is_told(edge: int) -> None:
    facing = Facing.by(PLANE, CARD, edge)
    points = np.array([[3.0, 7.0], [50.0, 61.0], [-4.0, 20.0]])
    seen = facing.plane.to_image(points)
    np.testing.assert_allclose(PLANE.to_image(facing.frame.to_plane(points)), seen, atol=1e-6)


@pytest.mark.parametrize(
    ("edge", "middle", "outward"),
    [(BOTTOM, (60, 40), (0, 1)), (TOP, (60, 0), (0, -1)), (RIGHT, (120, 20), (1, 0)), (LEFT, (0, 20), (-1, 0))],
)
def test_the_facing_edge_is_the_bottom_of_what_the_search_sees(
    edge: int, middle: tuple[float, float], outward: tuple[float, float]
) -> None:
    facing = Facing.by(PLANE, CARD, edge)
    np.testing.assert_allclose(facing.foot, middle, atol=ALIKE)
    np.testing.assert_allclose(facing.frame.down, outward, atol=ALIKE)


def test_beside_a_short_edge_the_search_still_reaches_as_wide_as_a_board() -> None:
    assert Facing.by(PLANE, CARD, RIGHT).card.width_mm == CARD.width_mm


def test_a_frame_found_is_told_in_the_cards_own() -> None:
    facing = Facing.by(PLANE, CARD, TOP)
    own = facing.to_card(Frame.turned(np.array([60.0, 45.0]), 0.01))
    # Half round: five millimetres above the card's top edge, its x axis to the left.
    np.testing.assert_allclose(own.origin, [60.0, -5.0], atol=ALIKE)
    np.testing.assert_allclose(own.right, [-np.cos(0.01), -np.sin(0.01)], atol=ALIKE)


@pytest.mark.parametrize("edge", [BOTTOM, RIGHT, TOP, LEFT])
def test_quarter_turns_are_those_of_the_card_against_the_end(edge: int) -> None:
    assert quarter_turns(end_frame(SCENES[edge])) == edge


def test_a_card_along_the_transfer_face_is_half_round() -> None:
    assert quarter_turns(end_frame(Scene(card_side="transfer"))) == 2


@pytest.mark.parametrize("edge", [TOP, RIGHT, LEFT])
def test_a_turned_card_is_recognised_and_measures_as_well(edge: int) -> None:
    measurement = found(edge)
    assert (measurement.placement.edge, measurement.placement.turn) == (edge, edge)
    for wall, lean in zip(measurement.walls, SCENES[edge].leans_deg, strict=True):
        # Six walls at 95 %: one in four scenes has one outside U; half as far again is one in two hundred.
        assert wall.lean.value == pytest.approx(lean, abs=1.5 * wall.lean.u95)
