"""A profile is doubted when the card contradicts it, and is not when it does not."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.camera.misfit import contradicts
from calibration.camera.model import image_points
from calibration.camera.profile import CameraProfile
from calibration.camera.setting import CameraSetting
from calibration.lens_prior import LensPrior
from calibration.plane import Floats, solve_plane
from calibration.prints.shape import UNCHECKED
from tests.calibration.card_views import CENTRE, FOCAL_PX, POINTS, SIGMA_PX, SIZE, pose

MEAN = np.array([np.log(FOCAL_PX), 0.01, 0.0, 10.0, -5.0])
PRIOR = CameraProfile("test", CameraSetting(size_px=SIZE), MEAN, np.diag([0.002, 0.001, 0.006, 4.0, 4.0]) ** 2).prior(
    SIZE, 1
)


def judged(lens: Floats, rng: np.random.Generator, tilt_deg: tuple[float, float] = (8.0, -6.0)) -> bool:
    where = pose(np.array(tilt_deg), 2.0, np.array([0.0, -400.0]))
    seen = image_points(where, np.concatenate([lens, np.zeros(3)]), CENTRE, POINTS)
    seen = seen + SIGMA_PX * rng.standard_normal(seen.shape)
    solved = solve_plane(POINTS, seen, size_px=SIZE, lens=PRIOR, card=UNCHECKED)
    return contradicts(POINTS, seen, solved, size_px=SIZE, lens=PRIOR, card=UNCHECKED)


def test_photos_by_the_same_lens_do_not_contradict() -> None:
    rng = np.random.default_rng(61)
    draws = rng.multivariate_normal(MEAN, PRIOR.covariance, 60)
    # One in 10 000 by chance, if corners were exactly normal: none of sixty.
    assert not any(judged(lens, rng) for lens in draws)


@pytest.mark.parametrize(
    ("change", "tilt"),
    [
        (np.array([0.0, 0.12, 0.0, 0.0, 0.0]), (8.0, -6.0)),
        (np.array([0.0, -0.12, 0.0, 0.0, 0.0]), (2.0, 1.0)),
        (np.array([np.log(1.6), 0.0, 0.0, 0.0, 0.0]), (25.0, -20.0)),
    ],
    ids=["barrel", "cushion", "half as long again"],
)
def test_another_lens_contradicts(change: Floats, tilt: tuple[float, float]) -> None:
    assert judged(MEAN + change, np.random.default_rng(62), tilt)


def test_what_a_square_on_photo_cannot_tell_is_no_contradiction() -> None:
    """A focal length 3 % off shows only in the perspective of a tilted card."""
    assert not judged(MEAN + np.array([0.03, 0.0, 0.0, 0.0, 0.0]), np.random.default_rng(63), (1.0, 0.5))


def test_the_free_lens_keeps_the_profiles_decentring() -> None:
    off_centre = LensPrior(MEAN, PRIOR.covariance, np.array([0.004, 0.0]))
    where = pose(np.array([8.0, -6.0]), 2.0, np.array([0.0, -400.0]))
    seen = image_points(where, np.concatenate([MEAN, [0.004, 0.0, 0.0]]), CENTRE, POINTS)
    solved = solve_plane(POINTS, seen, size_px=SIZE, lens=off_centre)
    assert not contradicts(POINTS, seen, solved, size_px=SIZE, lens=off_centre, card=UNCHECKED)
