"""The drill drawn on its photo: looks, exaggeration, and that it is all there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.quantity import Quantity
from tests.vision.drills import THICKNESS_MM, made_cuts, made_drill
from tests.vision.photos import measurement, photo
from tests.vision.shades import lightness
from vision.drill.overlay import LARGEST_DRAWN_MM, LOOKS, SHARE_OF_SPACING, draw_drill, exaggeration, look_of
from vision.drill.report import DrillMeasurement
from vision.drill.result import DrillResult


def result(*leans_deg: float) -> DrillResult:
    """A drill in the tests' plain photo, which is seen straight from above."""
    return DrillResult.of("board.jpg", made_drill(leans_deg))


def test_a_cut_looks_as_far_as_its_uncertainty_carries() -> None:
    cuts = result(0.05, 0.6, -0.6).measurement.cuts
    assert [look_of(cut) for cut in cuts] == [LOOKS["as meant"], LOOKS["right"], LOOKS["left"]]


def test_looks_differ_in_more_than_colour() -> None:
    looks = list(LOOKS.values())
    assert len({look.shape for look in looks}) == len({look.sign for look in looks}) == len(looks)
    shades = sorted(lightness(look.colour) for look in looks)
    assert min(np.diff(shades)) > 10.0  # a grey print shows steps of ten of CIE L*


@pytest.mark.parametrize(("lean", "factor"), [(0.1, 20), (0.6, 10), (3.0, 2), (20.0, 1)])
def test_leans_are_drawn_as_large_as_there_is_room(lean: float, factor: int) -> None:
    drawn = result(0.0, lean)
    room = min(LARGEST_DRAWN_MM, SHARE_OF_SPACING * drawn.review.neighbours_mm[0])
    assert exaggeration(drawn) == factor
    off = abs(drawn.measurement.cuts[1].out_of_square.value)
    assert factor == 1 or factor * off <= room


def test_the_picture_has_room_for_words_and_leaves_the_photo_alone() -> None:
    plain = photo()
    before = plain.rgb.copy()
    picture = draw_drill(plain, result(0.6, -0.6, 0.1, 0.6, 0.2, -0.4))
    assert picture.dtype == np.uint8
    assert picture.shape[1] == 1600
    np.testing.assert_array_equal(plain.rgb, before)
    for look in ("left", "right"):
        assert (np.abs(picture.astype(int) - LOOKS[look].colour).max(axis=2) < 3).sum() > 100


@pytest.mark.parametrize("leans", [(0.4,), (0.4, 0.4)])
def test_few_cuts_are_drawn_as_well(leans: tuple[float, ...]) -> None:
    assert draw_drill(photo(), result(*leans), units="inch").shape[2] == 3


def test_a_turned_photo_is_drawn_upright() -> None:
    end = replace(measurement(turns=1), walls=(), thickness=Quantity(THICKNESS_MM))
    turned = DrillResult.of("board.jpg", DrillMeasurement(end, tuple(made_cuts([0.6, -0.6]))))
    assert draw_drill(photo(1), turned).shape == draw_drill(photo(), result(0.6, -0.6)).shape
