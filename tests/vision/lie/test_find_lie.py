"""The card's lie from the photo itself: believed when firm, left alone when weak, and honest about what is left."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.prints.known import NOTHING_KNOWN, Known, told_size
from calibration.quantity import Quantity, Source
from tests.benchmark_tilt import Case, Errors, Row, row
from tests.vision.lies import Board, Fits, View, leans_of, photograph, true_leans
from vision.lie.card_lie import ACROSS, ALONG, CARD_HEIGHT_U_MM, CARD_TILT_U, HEIGHT, CardLie
from vision.lie.find_lie import FACES, SIDES, FoundLie

VIEW = View()
PLACES = np.array([8.0, 24.0, 34.0, 50.0, 60.0, 76.0])
BOARD = Board(84.0, 18.0, PLACES, np.radians([0.5, -0.4, 0.3, -0.6, 0.2, -0.1]))
DEGREE = float(np.tan(np.radians(1.0)))
FITS = Fits()
SURE = Fits(1e-6, 0.0, 1e-7, 1e-7, 1e-4, 1e-4)


def found(lie: CardLie, known: Known = NOTHING_KNOWN, board: Board = BOARD, fits: Fits = FITS) -> FoundLie:
    return photograph(board, lie, VIEW, fits, np.random.default_rng(2)).found(known)


def test_a_card_in_the_plane_moves_the_numbers_by_less_than_their_uncertainty() -> None:
    seen = photograph(BOARD, CardLie(), VIEW, Fits(), np.random.default_rng(2))
    for before, after in zip(leans_of(seen.numbers), leans_of(seen.found().numbers), strict=True):
        assert abs(after.value - before.value) < 0.2 * before.u


def test_the_posterior_of_the_tilt_is_that_of_a_grid() -> None:
    """Numerical integration (JCGM 101's answer without draws) over one tilt, with the board's faces as the noise."""
    tilt = 2.0 * DEGREE
    result = found(CardLie(along=tilt), board=replace(BOARD, leans_rad=np.zeros(6)), fits=SURE)
    grid = np.linspace(-6.0, 8.0, 4001) * DEGREE
    seen = tilt * BOARD.thickness_mm / VIEW.distance_mm
    noise = np.radians(0.02)
    likelihood = np.exp(-0.5 * ((seen - grid * BOARD.thickness_mm / VIEW.distance_mm) / noise) ** 2)
    kinds = [np.exp(-0.5 * (grid / s) ** 2) / s for s in (CARD_TILT_U, 10.0 * CARD_TILT_U)]
    weight = likelihood * (0.98 * kinds[0] + 0.02 * kinds[1])
    mean = float(weight @ grid / weight.sum())
    sd = float(np.sqrt(weight @ (grid - mean) ** 2 / weight.sum()))
    # The mixture is replaced by one normal as wide as its 95 % interval; the camera's and the second order's share is
    # 2 % of the tilt.
    assert result.along.value == pytest.approx(np.degrees(mean), abs=0.05)
    assert result.along.u == pytest.approx(np.degrees(sd), rel=0.1)


def test_a_firm_tilt_is_corrected_and_what_is_left_is_owed_to_the_faces() -> None:
    tilted = found(CardLie(along=3.0 * DEGREE))
    assert tilted.along.value == pytest.approx(3.0, abs=tilted.along.u95)
    assert dict(tilted.along.budget())[FACES.cause] > 0.5 * tilted.along.u
    true = true_leans(BOARD)
    for lean, expected in zip(leans_of(tilted.numbers), true.tolist(), strict=True):
        assert lean.value == pytest.approx(expected, abs=lean.u95)


def test_a_fan_of_walls_sawn_alike_gives_the_tilt_across_away() -> None:
    alike = replace(BOARD, leans_rad=np.radians([0.32, 0.29, 0.31, 0.28, 0.30, 0.31]))
    tilted = found(CardLie(across=7.0 * DEGREE), board=alike, fits=SURE)
    assert tilted.across.value > 2.0
    assert tilted.across.value == pytest.approx(7.0, abs=2.0 * tilted.across.u95)  # five times a careless set-up's u


def test_a_fan_of_four_walls_may_be_chance_where_one_of_eight_is_not() -> None:
    # A rough sawyer's leans that happen to grow along the board: four walls hardly tell how much they scatter.
    four = replace(BOARD, places_mm=np.array([6.0, 51.0, 57.0, 103.0]), leans_rad=np.radians([1.0, -0.2, 0.0, -1.0]))
    places = np.array([6.0, 29.0, 34.0, 51.0, 57.0, 75.0, 80.0, 103.0])
    leans = np.radians([1.0, 0.4, 0.6, -0.1, 0.1, -0.3, -0.7, -1.0])
    eight = replace(BOARD, places_mm=places, leans_rad=leans)
    chance, surely = (found(CardLie(), board=board).across for board in (four, eight))
    assert abs(chance.value) < 0.1 * abs(surely.value)


@pytest.mark.parametrize("across", [-4.0, 4.0])
def test_the_sides_give_a_tilt_across_away_and_the_leans_are_corrected(across: float) -> None:
    rough = replace(BOARD, leans_rad=np.radians([0.9, -1.1, 0.8, -0.9, 1.2, -0.8]))
    tilted = CardLie(across=across * DEGREE)
    told = found(tilted, board=rough, fits=replace(SURE, side_rad=0.02 * DEGREE))
    untold = found(tilted, board=rough, fits=SURE)
    # 0.2 degrees over the board's width, by its distance: four times a careless set-up's tilt draws it back by a third.
    assert told.across.value == pytest.approx(across, abs=1.1 * told.across.u95)
    assert abs(told.across.value) > 2.0 > abs(untold.across.value)
    assert dict(told.across.budget())[SIDES.cause] > 0.5 * told.across.u
    assert _worst_lean(told, rough) < 0.7 * _worst_lean(untold, rough)


def test_sides_that_hardly_fan_move_nothing() -> None:
    fanned = replace(BOARD, fanned_rad=0.3 * DEGREE)
    assert abs(found(CardLie(), board=fanned, fits=replace(SURE, side_rad=0.02 * DEGREE)).across.value) < 0.1


def _worst_lean(lie: FoundLie, board: Board) -> float:
    return float(np.abs([q.value for q in leans_of(lie.numbers)] - true_leans(board)).max())


def test_a_fan_lost_in_the_sawyers_own_scatter_moves_nothing() -> None:
    rough = replace(BOARD, leans_rad=np.radians([0.9, -1.1, 0.8, -0.9, 1.2, -0.8]))
    assert abs(found(CardLie(), board=rough).across.value) < 0.1


def test_walls_that_fan_beyond_all_likelihood_still_have_an_answer() -> None:
    # As four lines placed by hand may: the likelihood of every set-up, careless or not, is below the smallest number.
    wild = replace(BOARD, places_mm=np.linspace(8.0, 76.0, 4), leans_rad=np.radians(np.linspace(-8.0, 8.0, 4)))
    assert np.isfinite(found(CardLie(), board=wild).across.value)


def test_few_walls_make_no_fan() -> None:
    few = replace(BOARD, places_mm=PLACES[:2], leans_rad=BOARD.leans_rad[:2])
    tilted = found(CardLie(across=6.0 * DEGREE), board=few)
    assert abs(tilted.across.value) < 0.1


@pytest.mark.parametrize("height", [-3.0, 3.0])
def test_a_told_width_gives_a_large_height_away_and_corrects_the_scale(height: float) -> None:
    tall = found(CardLie(height), Known(width=told_size("width", 84.0)))
    # 0.07 mm in 84, that of the two sides and of the caliper, are 0.25 mm of height; twice that, and a tenth more.
    assert tall.height.value == pytest.approx(height, abs=0.6)
    assert tall.numbers.width.value == pytest.approx(84.0, abs=tall.numbers.width.u95)
    assert tall.numbers.thickness.value == pytest.approx(18.0, abs=tall.numbers.thickness.u95)
    assert tall.doubted == ()


def test_a_told_thickness_is_heeded_by_the_thickness_first() -> None:
    told = found(CardLie(), Known(thickness=told_size("thickness", 18.06)))
    alone = found(CardLie())
    assert alone.numbers.thickness.value < told.numbers.thickness.value < 18.06
    assert told.numbers.thickness.u < alone.numbers.thickness.u


def test_a_told_size_that_no_set_up_explains_is_left_out_and_named() -> None:
    wrong = found(CardLie(), Known(thickness=told_size("thickness", 20.0)))
    assert wrong.doubted == ("thickness",)
    assert wrong.numbers.thickness.value == pytest.approx(found(CardLie()).numbers.thickness.value, abs=1e-9)


def test_told_sizes_must_be_sizes() -> None:
    with pytest.raises(ValueError, match="size_mm must be above zero"):
        told_size("width", 0.0)


def test_without_evidence_the_allowances_stay_nearly_as_they_are() -> None:
    still = found(CardLie())
    # One careless set-up in fifty widens a 95 % interval by less than a tenth.
    assert CARD_HEIGHT_U_MM <= still.height.u < 1.1 * CARD_HEIGHT_U_MM
    assert still.across.u == pytest.approx(np.degrees(CARD_TILT_U), rel=0.1)


def test_labels_stay_those_of_the_set_up() -> None:
    lean = leans_of(found(CardLie()).numbers)[0]
    assert {HEIGHT, ALONG, ACROSS, FACES, Source("wall edge direction", "tail 0 left")} <= set(lean.parts)


def test_nothing_is_presumed_of_how_one_wall_was_sawn() -> None:
    """A wall seen ever so unsurely is not drawn toward its neighbours."""
    seen = photograph(BOARD, CardLie(), VIEW, Fits(wall_rad=0.05), np.random.default_rng(4))
    before, after = (np.array([q.value for q in leans_of(numbers)]) for numbers in (seen.numbers, seen.found().numbers))
    assert np.abs(after - before).max() < 0.02 * np.degrees(0.05)


@cache
def careful() -> Row:
    return row(Case("as instructed"), boards=240)


def test_truths_of_careful_set_ups_lie_inside_u() -> None:
    # 95 % is claimed; 240 boards share their lies among 4 to 10 walls and know the share to about 2 %.
    lean, taper, width = careful().inside
    assert 0.90 <= lean <= 0.995
    assert 0.90 <= taper <= 0.995
    assert width >= 0.88


def test_careful_set_ups_are_never_refused_and_lose_nothing_by_the_correction() -> None:
    assert careful().refused == 0.0
    seen, corrected = careful().lean_deg
    # The 95th percentile of 1,680 leans, by sixes of one board, is known to a tenth.
    assert corrected < 1.1 * seen


def test_two_degrees_along_the_width_are_mostly_refused_and_the_rest_is_corrected() -> None:
    tilted = row(Case("2 deg", along=2.0 * DEGREE), boards=80)
    assert tilted.refused > 0.5
    assert tilted.lean_deg[1] < 0.9 * tilted.lean_deg[0]
    # Those whose faces happen to hide most of the tilt: less than 95 % of them.
    assert tilted.inside[0] >= 0.85


def test_errors_are_told_for_every_wall_and_socket() -> None:
    numbers = found(CardLie()).numbers
    errors = Errors.of(numbers, BOARD)
    assert (len(errors.lean), len(errors.taper), len(errors.width)) == (6, 4, 1)
    assert isinstance(numbers.width, Quantity)
