"""The camera fit as a person uses it: bad photos put aside by name, and a claim of uncertainty that holds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.camera.bundle import View
from calibration.camera.fit import FEWEST_VIEWS, CameraFit, TooFewViewsError, fit_camera
from calibration.camera.model import image_points
from tests.calibration.card_views import (
    CENTRE,
    FOCAL_PX,
    POINTS,
    SIGMA_PX,
    SIZE,
    Phone,
    card_views,
    drawn_phone,
    pose,
)


def fitted(views: list[View]) -> CameraFit:
    return fit_camera(views, SIZE, focal_px=FOCAL_PX * 1.03, focal_u=0.05)


def reasons(fit: CameraFit) -> dict[str, str]:
    return {dropped.name: dropped.why for dropped in fit.dropped}


def test_good_photos_are_all_used_and_the_lens_is_within_its_uncertainty() -> None:
    squares = []
    for seed in range(12):
        rng = np.random.default_rng(200 + seed)
        phone = drawn_phone(rng)
        fit = fitted(card_views(phone, rng))
        assert fit.dropped == ()
        np.testing.assert_array_equal(fit.decentring, 0.0)
        error = np.concatenate([fit.lens - phone.lens[:5], fit.shape - phone.shape])
        squares.append(float(error @ np.linalg.solve(fit.covariance, error)))
    # Chi-square of 7 x 12 = 84 degrees of freedom: 84 +- 4 sqrt(168), and 6 % for the estimated sigma.
    assert 84.0 - 4.0 * 13.0 < sum(squares) < (84.0 + 4.0 * 13.0) * 1.06


def test_a_bent_card_is_put_aside_by_name() -> None:
    rng = np.random.default_rng(31)
    views = card_views(drawn_phone(rng), rng)
    wave = 3.0 * np.sin(views[5].points_px[:, 0] / 300.0)
    views[5] = replace(views[5], points_px=views[5].points_px + np.column_stack([np.zeros_like(wave), wave]))
    fit = fitted(views)
    assert set(reasons(fit)) == {"photo-5.jpg"}
    assert "is the card flat" in reasons(fit)["photo-5.jpg"]
    assert len(fit.views) == len(views) - 1


def test_the_same_view_again_is_put_aside() -> None:
    rng = np.random.default_rng(32)
    views = card_views(drawn_phone(rng), rng)
    again = views[3].points_px + SIGMA_PX * rng.standard_normal(views[3].points_px.shape)
    fit = fitted([*views, View(views[3].points_mm, again, "again.jpg")])
    assert reasons(fit) == {"again.jpg": "the same view again as photo-3.jpg."}


def test_a_photo_with_few_corners_is_put_aside() -> None:
    rng = np.random.default_rng(33)
    views = card_views(drawn_phone(rng), rng)
    fit = fitted([*views, View(POINTS[:9], views[1].points_px[:9] + 400.0, "covered.jpg")])
    assert reasons(fit) == {"covered.jpg": "only 9 corners of the card show."}


def test_too_few_photos_make_no_camera_but_say_which_were_left_out() -> None:
    rng = np.random.default_rng(34)
    views = card_views(drawn_phone(rng), rng, photos=FEWEST_VIEWS - 1)
    twin = View(views[0].points_mm, views[0].points_px, "twin.jpg")
    with pytest.raises(TooFewViewsError, match=f"at least {FEWEST_VIEWS} that can be used, got 3") as caught:
        fitted([*views, twin])
    assert [dropped.name for dropped in caught.value.dropped] == ["twin.jpg"]


def test_decentring_is_solved_for_when_the_corners_want_it() -> None:
    rng = np.random.default_rng(35)
    phone = drawn_phone(rng)
    phone = Phone(phone.lens + np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.002, -0.003, 0.0]), phone.shape)
    fit = fitted(card_views(phone, rng))
    # Ten views know p1 and p2 to about 1e-4: four of those.
    np.testing.assert_allclose(fit.decentring, phone.lens[5:7], atol=4e-4)


def test_tilts_are_told_sideways_and_up_and_down() -> None:
    plain = np.concatenate([[np.log(FOCAL_PX)], np.zeros(7)])
    tilts = [(0.0, 0.0), (20.0, 0.0), (0.0, 20.0), (-20.0, 0.0), (0.0, -20.0)]
    pixels = [image_points(pose(np.array(tilt), 0.0, np.zeros(2)), plain, CENTRE, POINTS) for tilt in tilts]
    rng = np.random.default_rng(36)
    views = [View(POINTS, each + SIGMA_PX * rng.standard_normal(each.shape), f"{n}") for n, each in enumerate(pixels)]
    found = fitted(views).tilts_deg
    # A turn about the picture's x tips the card up and down (second column), about its y sideways (first).
    expected = [(0.0, 0.0), (0.0, -20.0), (20.0, 0.0), (0.0, 20.0), (-20.0, 0.0)]
    np.testing.assert_allclose(found, expected, atol=1.5)
