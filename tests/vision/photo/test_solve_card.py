"""The card solved with a camera profile: more certain when it fits, left out with a warning when it does not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.camera.profile import CameraProfile
from calibration.plane import LENS
from calibration.prints.known import NOTHING_KNOWN, Known
from tests.scenes import Scene, rendered
from vision.photo.photo import Photo
from vision.photo.solve_card import solve_card

SCENE = Scene()
WIDE = Scene(size_px=(2400, 1700), k1=0.0, tilt_deg=(6.0, -4.0))


def profile_for(scene: Scene, *, k1: float | None = None) -> CameraProfile:
    photo = rendered(scene).photo
    lens = np.array([np.log(scene.focal_px), scene.k1 if k1 is None else k1, scene.k2, 0.0, 0.0])
    covariance = np.diag([0.002, 0.001, 0.005, 3.0, 3.0]) ** 2
    return CameraProfile("phone", photo.setting, lens, covariance)


def with_profile(profile: CameraProfile) -> Known:
    return replace(NOTHING_KNOWN, lens=profile)


def test_a_profile_that_fits_makes_the_lens_more_certain() -> None:
    photo = rendered(SCENE).photo
    plain, known = solve_card(photo, NOTHING_KNOWN), solve_card(photo, with_profile(profile_for(SCENE)))
    assert (known.profile, known.view.profile, known.warnings) == ("phone", "phone", ())
    assert (plain.profile, plain.warnings) == ("", ())
    before, after = (np.sqrt(np.diag(each.plane.covariance))[LENS] for each in (plain, known))
    assert np.all(after < before)
    assert after[0] < 0.5 * before[0]


def test_a_profile_that_the_card_contradicts_is_left_out_with_a_warning() -> None:
    """Barrel distortion of 0.35 r2 bends the card's rows by pixels: the photo has none."""
    photo = rendered(SCENE).photo
    found = solve_card(photo, with_profile(profile_for(SCENE, k1=0.35)))
    assert [kind.reason for kind in found.warnings] == ["camera_profile_misfit"]
    assert found.profile == ""
    plain = solve_card(photo, NOTHING_KNOWN)
    np.testing.assert_array_equal(found.plane.theta, plain.plane.theta)


def test_a_profile_holds_for_a_photo_held_upright() -> None:
    photo = rendered(SCENE).photo
    upright = Photo(np.ascontiguousarray(np.rot90(photo.rgb, -1)), photo.lens, "", 6)
    profile = profile_for(SCENE)
    profile = replace(profile, lens=profile.lens + np.array([0.0, 0.0, 0.0, 40.0, 0.0]))
    found = solve_card(upright, with_profile(profile))
    assert found.profile == "phone"
    # Right of the middle in the stored picture is below it in the upright one; known to 3 px, the stabiliser's 7 added.
    assert found.plane.theta[9] == pytest.approx(0.0, abs=25.0)
    assert found.plane.theta[10] == pytest.approx(40.0, abs=25.0)


def test_a_profile_for_another_size_is_the_callers_mistake() -> None:
    with pytest.raises(ValueError, match="stored_px must be"):
        solve_card(rendered(replace(SCENE, size_px=(2200, 1700))).photo, with_profile(profile_for(SCENE)))
