"""What a set of photos is good for, and which photos are missing: each reason provoked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.camera.advice import (
    COVERED,
    FOCAL_U,
    PHOTOS,
    SCATTER_SHARE,
    TILT_DEG,
    Aim,
    advise,
    covered_areas,
)
from calibration.camera.bundle import View
from calibration.camera.fit import CameraFit, fit_camera
from tests.calibration.card_views import FOCAL_PX, SIZE, card_views, drawn_phone


@pytest.fixture(scope="module")
def fit() -> CameraFit:
    """A complete set of photos."""
    rng = np.random.default_rng(41)
    return fit_camera(card_views(drawn_phone(rng), rng), SIZE, focal_px=FOCAL_PX, focal_u=0.03)


def part(fit: CameraFit, keep: list[int]) -> CameraFit:
    """The same with some of its views only."""
    return replace(fit, views=tuple(fit.views[index] for index in keep), poses=fit.poses[keep])


@pytest.mark.parametrize(
    ("aim", "good", "usable"),
    [
        (PHOTOS, 6.0, 5.0),
        (COVERED, 8.0, 6.0),
        (TILT_DEG, 30.0, 18.0),
        (SCATTER_SHARE, 7e-5, 2e-4),
        (FOCAL_U, 0.005, 0.015),
    ],
)
def test_a_figure_reaches_what_is_asked_at_the_very_limit(aim: Aim, good: float, usable: float) -> None:
    short = 1e-9 if good < usable else -1e-9
    judged = [aim.judge(figure) for figure in (good, good + short, usable, usable + short)]
    assert judged == ["good", "usable", "usable", "not usable"]


def test_a_complete_set_is_good_and_lacks_nothing(fit: CameraFit) -> None:
    assert advise(fit).verdict == "good"
    assert advise(fit).missing == ()
    assert covered_areas(fit).all()


def test_a_picture_corner_without_the_card_is_named(fit: CameraFit) -> None:
    views = [_without(view, lambda x, y: (x < SIZE[0] / 3) | (y > 2 * SIZE[1] / 3)) for view in fit.views]
    advice = advise(replace(fit, views=tuple(views)))
    assert advice.verdict == "not usable"
    (words,) = advice.missing
    assert "top left, middle left, bottom left, bottom middle and bottom right" in words


def _without(view: View, hidden: object) -> View:
    assert callable(hidden)
    seen = ~hidden(*view.points_px.T)
    return View(view.points_mm[seen], view.points_px[seen], view.name)


def test_one_missing_area_still_makes_a_good_profile_two_a_usable_one(fit: CameraFit) -> None:
    one = [_without(view, lambda x, y: (x < SIZE[0] / 3) & (y < SIZE[1] / 3)) for view in fit.views]
    assert advise(replace(fit, views=tuple(one))).verdict == "good"
    two = [_without(view, lambda x, y: (x < SIZE[0] / 3) & (y < 2 * SIZE[1] / 3)) for view in fit.views]
    advice = advise(replace(fit, views=tuple(two)))
    assert advice.verdict == "usable"
    assert "in the top left and middle left of the picture" in advice.missing[0]


def test_a_missing_direction_of_tilt_is_named(fit: CameraFit) -> None:
    upright_only = [index for index, tilt in enumerate(fit.tilts_deg) if abs(tilt[0]) < 8.0]
    missing = advise(part(fit, upright_only)).missing
    assert any("tilted left and right from" in words for words in missing)
    assert not any("tilted up and down" in words for words in missing)


def test_tilts_to_one_side_only_ask_for_the_other(fit: CameraFit) -> None:
    one_side = [index for index, tilt in enumerate(fit.tilts_deg) if tilt[1] > -8.0]
    missing = advise(part(fit, one_side)).missing
    assert any("tilted up and down" in words and "the other way as well" in words for words in missing)


def test_few_photos_are_named(fit: CameraFit) -> None:
    assert advise(part(fit, [0, 1, 2, 3])).verdict == "not usable"
    assert "Only 5 photos could be used; take 6 or more." in advise(part(fit, [1, 2, 3, 4, 5])).missing


def test_scattered_corners_and_an_unsettled_focal_length_are_named(fit: CameraFit) -> None:
    loose = replace(fit, sigma_px=0.5, covariance=fit.covariance * 16.0)
    advice = advise(loose)
    assert advice.verdict == "usable"
    assert "scatter by 0.50 pixels" in advice.missing[0]
    assert f"known to {400.0 * fit.focal_u:.1f} % only" in advice.missing[1]
