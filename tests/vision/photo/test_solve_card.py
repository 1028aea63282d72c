"""The card solved with a camera profile: more certain when it fits, left out with a warning when it does not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.camera.profile import CameraProfile
from calibration.outcome import CannotMeasure
from calibration.plane import LENS, solve_plane
from calibration.prints.known import NOTHING_KNOWN, Known
from calibration.prints.shape import EXACT
from tests.scenes import Scene, rendered
from vision.photo.photo import Photo
from vision.photo.solve_card import SolvedCard, find_card, lens_of, solve_card

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


SLANTED = replace(SCENE, focal_px=2200.0, tilt_deg=(12.0, -9.0))


def without_left_and_bottom(scene: Scene, *, told: bool) -> tuple[Photo, np.ndarray]:
    """The scene's photo without 380 px on the left and 185 px below, and the end's corners (4, 2) in px in it.

    `told`: its shape tells that it was cut.
    """
    whole = rendered(scene)
    photo = Photo(np.ascontiguousarray(whole.photo.rgb[:1515, 380:]), replace(whole.photo.lens, cut=told))
    ends = np.array(
        [[0.0, 0.0], [scene.width_mm, 0.0], [scene.width_mm, scene.thickness_mm], [0.0, scene.thickness_mm]]
    )
    return photo, whole.plane.to_image(whole.frame.to_plane(ends)) - [380.0, 0.0]


def sides_mm(found: SolvedCard, corners_px: np.ndarray) -> list[float]:
    """Width and thickness of the end with these corners."""
    corners = found.plane.to_plane(corners_px)
    return [float(np.linalg.norm(corners[1] - corners[0])), float(np.linalg.norm(corners[3] - corners[0]))]


@pytest.mark.parametrize(
    ("scene", "told"), [(SLANTED, False), (SLANTED, True), (replace(SCENE, tilt_deg=(9.0, -7.0)), True)]
)
def test_a_photo_that_was_cut_is_measured_with_its_lens_left_open(scene: Scene, told: bool) -> None:
    photo, corners_px = without_left_and_bottom(scene, told=told)
    found = solve_card(photo, NOTHING_KNOWN)
    assert [kind.reason for kind in found.warnings] == ["photo_cut"]
    # A tenth of a per cent: two hundredths on the thickness, a tenth on the width, which reaches far beyond the card.
    assert sides_mm(found, corners_px) == pytest.approx([scene.width_mm, scene.thickness_mm], rel=1e-3)


def test_a_lens_taken_to_be_in_the_middle_of_a_cut_photo_would_falsify_it() -> None:
    photo, corners_px = without_left_and_bottom(SLANTED, told=False)
    lens, corners = lens_of(photo), find_card(photo)
    size_px, card = (photo.width_px, photo.height_px), NOTHING_KNOWN.print
    plane, _ = solve_plane(corners.points_mm, corners.points_px, size_px=size_px, lens=lens, card=card)
    assert lens.off_middle(plane.theta[LENS]) > 2.0
    _, thickness_mm = sides_mm(SolvedCard(corners, plane, np.zeros((0, 2))), corners_px)
    assert abs(thickness_mm - SLANTED.thickness_mm) > 0.15


def test_a_print_that_is_not_the_kept_one_is_no_cut_photo() -> None:
    photo = rendered(replace(SCENE, print_scale=(1.008, 0.996), print_skew_deg=0.3)).photo
    assert [kind.reason for kind in solve_card(photo, Known(print=EXACT)).warnings] == ["card_not_flat"]


@pytest.mark.parametrize("axis", [0, 1])
def test_a_mirrored_photo_is_refused_as_one(axis: int) -> None:
    photo = rendered(SCENE).photo
    with pytest.raises(CannotMeasure, match="left and right are swapped") as caught:
        find_card(replace(photo, rgb=np.ascontiguousarray(np.flip(photo.rgb, axis))))
    assert caught.value.refusal.reason == "photo_mirrored"
