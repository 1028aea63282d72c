"""The card in synthetic photos: corners to hundredths of a pixel, and every refusal provoked."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from calibration.card import DICTIONARY_NAME
from calibration.card_detect import detect_card
from calibration.outcome import CannotMeasure
from tests.scenes import Scene, rendered

SMALL = Scene(size_px=(1500, 1100), px_per_mm=10.0, focal_px=2600.0)


def gray(scene: Scene) -> np.ndarray:
    return cv2.cvtColor(rendered(scene).photo.rgb, cv2.COLOR_RGB2GRAY)


def reason_of(picture: np.ndarray) -> str:
    with pytest.raises(CannotMeasure, match=r".+\.") as caught:
        detect_card(picture)
    return caught.value.refusal.reason


def found_or_reason(picture: np.ndarray) -> str:
    try:
        detect_card(picture)
    except CannotMeasure as error:
        return error.refusal.reason
    return "found"


@pytest.mark.parametrize("scene", [Scene(), Scene(card="long", px_per_mm=9.0, aim_mm=(120.0, 33.0))])
def test_corners_are_found_to_hundredths_of_a_pixel(scene: Scene) -> None:
    found = detect_card(gray(scene))
    error = found.points_px - rendered(scene).plane.to_image(found.points_mm)
    assert found.card.kind == scene.card
    assert len(found.points_mm) == len(found.card.corner_points_mm)
    # The plane solver takes 0.05 px as one standard deviation of a corner.
    assert np.sqrt(np.mean(error**2)) < 0.05
    # A shift of all corners alike (half-pixel conventions) would show in the mean: 0.05 / sqrt(33) is 0.009.
    assert np.abs(error.mean(axis=0)).max() < 0.02


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_a_turned_photo_names_the_same_corners(turns: int) -> None:
    upright, turned = detect_card(gray(SMALL)), detect_card(np.ascontiguousarray(np.rot90(gray(SMALL), turns)))
    np.testing.assert_array_equal(upright.points_mm, turned.points_mm)


def test_a_partly_hidden_card_is_accepted() -> None:
    hidden = Scene(covered_mm=(0.0, 0.0, 45.0, 40.0), size_px=(1500, 1100), px_per_mm=10.0, focal_px=2600.0)
    assert 8 <= len(detect_card(gray(hidden)).points_mm) < 30


def test_a_photo_without_a_card_is_refused() -> None:
    assert reason_of(np.full((900, 1200), 128, np.uint8)) == "no_card"


def test_a_card_of_another_design_is_refused() -> None:
    other = Scene(dictionary="DICT_4X4_1000", size_px=(1500, 1100), px_per_mm=10.0, focal_px=2600.0)
    assert reason_of(gray(other)) == "other_card"


@pytest.mark.parametrize(("columns", "rows"), [(9, 4), (7, 5), (8, 6)])
def test_a_card_of_another_layout_in_our_dictionary_is_refused(columns: int, rows: int) -> None:
    named = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY_NAME))
    board = cv2.aruco.CharucoBoard((columns, rows), 10.0, 7.0, named)
    picture = cv2.copyMakeBorder(
        board.generateImage((100 * columns, 100 * rows)), *[80] * 4, cv2.BORDER_CONSTANT, value=255
    )
    assert reason_of(np.asarray(picture, np.uint8)) == "other_card"


@pytest.mark.parametrize("shown", [6, 10, 14, 20])
@pytest.mark.parametrize("seed", range(4))
def test_our_card_is_never_another_whichever_squares_are_hidden(shown: int, seed: int) -> None:
    scene = rendered(SMALL)
    squares = [(x, y) for x in range(12) for y in range(4)]
    hidden = np.random.default_rng(seed).permutation(len(squares))[shown:]
    picture = gray(SMALL)
    for x, y in (squares[index] for index in hidden):
        around_mm = 10.0 * np.add([x, y], [[0, 0], [1, 0], [1, 1], [0, 1]])
        cv2.fillConvexPoly(picture, scene.plane.to_image(around_mm).round().astype(np.int32), 120)
    assert found_or_reason(picture) in ("found", "too_few_corners", "no_card")


def test_two_cards_alike_are_told_as_such() -> None:
    once = gray(SMALL)
    assert reason_of(np.vstack([once, once])) == "two_cards"
    beside = once.copy()
    part = once[150:450, 200:700]
    beside[-len(part) :, -part.shape[1] :] = part
    assert reason_of(beside) == "two_cards"


def test_a_card_all_but_covered_is_refused() -> None:
    covered = Scene(covered_mm=(24.0, -3.0, 123.0, 43.0), size_px=(1500, 1100), px_per_mm=10.0, focal_px=2600.0)
    assert reason_of(gray(covered)) == "too_few_corners"


def test_corners_in_one_part_of_the_card_alone_are_refused() -> None:
    covered = Scene(covered_mm=(50.0, -3.0, 123.0, 43.0), size_px=(1500, 1100), px_per_mm=10.0, focal_px=2600.0)
    with pytest.raises(CannotMeasure, match="all in one part of the card"):
        detect_card(gray(covered))


def test_a_card_too_small_in_the_picture_is_refused() -> None:
    far = Scene(size_px=(1100, 800), px_per_mm=3.8, focal_px=1900.0, blur_px=0.6)
    assert reason_of(gray(far)) == "card_too_small"
