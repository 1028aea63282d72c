"""The card's geometry against OpenCV's own board object."""

import numpy as np
import pytest
from cv2 import aruco

from calibration.card import CARDS, DICTIONARY_NAME, MARGIN_MM, Card, card_by_marker_id

FLOAT32_MM = 2e-5
"""OpenCV keeps points as float32: half a unit in the last place at 240 mm is 8e-6 mm, and it adds two of them."""


def opencv_board(card):
    dictionary = aruco.getPredefinedDictionary(getattr(aruco, DICTIONARY_NAME))
    size = (card.squares_x, card.squares_y)
    return aruco.CharucoBoard(size, card.square_mm, card.marker_mm, dictionary, np.array(card.marker_ids))


@pytest.fixture(params=list(CARDS))
def card(request):
    return CARDS[request.param]


def test_inner_corners_are_opencvs_in_its_order(card):
    corners = opencv_board(card).getChessboardCorners()
    np.testing.assert_allclose(card.corner_points_mm, corners[:, :2], rtol=0, atol=FLOAT32_MM)


def test_marker_corners_are_opencvs_in_its_order(card):
    board = opencv_board(card)
    assert not board.getLegacyPattern()
    corners = np.array(board.getObjPoints())[:, :, :2]
    np.testing.assert_allclose(card.marker_corner_points_mm, corners, rtol=0, atol=FLOAT32_MM)
    assert board.getIds().ravel().tolist() == list(card.marker_ids)


def test_black_and_marker_squares_share_out_the_whole_board(card):
    whole = {(x, y) for x in range(card.squares_x) for y in range(card.squares_y)}
    assert set(card.black_squares) | set(card.marker_squares) == whole
    assert not set(card.black_squares) & set(card.marker_squares)
    assert len(card.marker_squares) == len(card.marker_ids)


@pytest.mark.parametrize(
    ("kind", "size_mm", "ids", "corners"), [("short", (120, 40), range(24), 33), ("long", (240, 48), range(48, 88), 57)]
)
def test_the_two_cards_are_as_documented(kind, size_mm, ids, corners):
    card = CARDS[kind]
    assert (card.width_mm, card.height_mm) == size_mm
    assert card.marker_ids == ids
    assert card.corner_points_mm.shape == (corners, 2)
    assert card.max_board_mm < card.width_mm
    assert MARGIN_MM >= 3


def test_a_marker_id_tells_the_card():
    for card in CARDS.values():
        assert {card_by_marker_id(marker_id) for marker_id in card.marker_ids} == {card}


@pytest.mark.parametrize("stranger", [-1, 24, 47, 88, 249])
def test_an_id_of_no_card_tells_nothing(stranger):
    assert card_by_marker_id(stranger) is None


def test_a_board_of_one_row_is_refused():
    with pytest.raises(ValueError, match="squares_y"):
        Card("thin", 12, 1, 10.0, 7.0, 0, 115.0)


@pytest.mark.parametrize("marker_mm", [0.0, 10.0, 11.0])
def test_a_marker_that_does_not_fit_its_square_is_refused(marker_mm):
    with pytest.raises(ValueError, match="marker_mm"):
        Card("full", 12, 4, 10.0, marker_mm, 0, 115.0)
