"""The card's own shape from photos: aspect and skew known, size not."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.camera.fit import CameraFit, fit_camera
from calibration.camera.print_seen import COMMON_SCALE_U, print_seen
from calibration.prints.shape import PrintShape
from tests.calibration.card_views import FOCAL_PX, SIZE, Phone, card_views, drawn_phone


@pytest.fixture(scope="module")
def seen() -> tuple[Phone, CameraFit, PrintShape]:
    rng = np.random.default_rng(51)
    phone = drawn_phone(rng)
    fit = fit_camera(card_views(phone, rng), SIZE, focal_px=FOCAL_PX, focal_u=0.03)
    return phone, fit, print_seen(fit, "mine")


def test_aspect_and_skew_are_the_prints_within_their_uncertainty(seen: tuple[Phone, CameraFit, PrintShape]) -> None:
    phone, _, shape = seen
    aspect = np.log(shape.y_scale / shape.x_scale)
    ratio = np.array([-1.0, 1.0, 0.0])
    aspect_u = float(np.sqrt(ratio @ shape.covariance @ ratio))
    skew_u = float(np.sqrt(shape.covariance[2, 2]))
    # Ten photos know both to a few parts in ten thousand, an unchecked print to a few in a thousand.
    assert aspect_u < 3e-4
    assert skew_u < 3e-4
    assert abs(aspect - phone.shape[0]) < 3.0 * aspect_u
    assert abs(shape.skew_rad - phone.shape[1]) < 3.0 * skew_u


def test_the_size_stays_as_unknown_as_that_of_an_unchecked_print(seen: tuple[Phone, CameraFit, PrintShape]) -> None:
    _, _, shape = seen
    mean = np.array([0.5, 0.5, 0.0])
    assert np.sqrt(mean @ shape.covariance @ mean) == pytest.approx(COMMON_SCALE_U, rel=1e-3)  # scales within 1e-3 of 1
    assert shape.x_scale * shape.y_scale == pytest.approx(1.0, abs=1e-12)
    assert shape.name == "mine"
