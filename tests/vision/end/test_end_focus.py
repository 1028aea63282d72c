"""An end much softer than the card it is measured by is refused; worn edges, soft photos and coarse ones are not."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from scipy.special import ndtr

from calibration.outcome import CannotMeasure
from tests.scenes import Scene, rendered
from vision.drill.measure import measure_drill
from vision.end.check import measure_end
from vision.end.end_focus import softness
from vision.photo.photo import Photo

SCENE = Scene(size_px=(1500, 1100), px_per_mm=10.0, focal_px=2600.0)


def end_blurred(scene: Scene, sigma_mm: float, first_mm: float = -0.4) -> Photo:
    """The scene's photo, blurred from `first_mm` below the show face's edge on, as a portrait mode does."""
    truth = rendered(scene)
    width, far = scene.width_mm + 4.0, scene.thickness_mm + 4.0
    around = np.array([[-4.0, first_mm], [width, first_mm], [width, far], [-4.0, far]])
    corners = truth.plane.to_image(truth.frame.to_plane(around))
    mask = np.zeros(truth.photo.rgb.shape[:2], np.float32)
    cv2.fillPoly(mask, [np.rint(corners).astype(np.int32)], 1.0)
    share = cv2.GaussianBlur(mask, None, 0.2 * scene.px_per_mm)[..., None]
    soft = cv2.GaussianBlur(truth.photo.rgb, None, sigma_mm * scene.px_per_mm)
    return replace(truth.photo, rgb=np.rint(truth.photo.rgb * (1.0 - share) + soft * share).astype(np.uint8))


@pytest.mark.parametrize("cleared", [False, True])
def test_an_end_much_softer_than_its_card_is_refused(cleared: bool) -> None:
    with pytest.raises(CannotMeasure, match=r"the edges of the end are [2-9]\.\d times as soft") as caught:
        measure_end(end_blurred(replace(SCENE, cleared=cleared), 0.3))
    assert caught.value.refusal.reason == "out_of_focus"


def test_a_drill_much_softer_than_its_card_is_refused() -> None:
    with pytest.raises(CannotMeasure, match="The card is sharp, but the edges of the end") as caught:
        measure_drill(end_blurred(replace(SCENE, drill=True), 0.3))
    assert caught.value.refusal.reason == "out_of_focus"


@pytest.mark.parametrize("change", [{}, {"blur_px": 1.5}, {"blur_px": 0.4}, {"rough_mm": 0.04}, {"cleared": True}])
def test_an_end_as_sharp_as_its_card_is_measured(change: dict[str, float]) -> None:
    assert measure_end(rendered(replace(SCENE, **change)).photo).walls


def test_one_kind_of_edge_that_is_sharp_is_enough() -> None:
    # The show face's arris is worn, all else is sharp.
    truth, worn = rendered(SCENE).photo, end_blurred(SCENE, 0.3)
    row = rendered(SCENE).plane.to_image(rendered(SCENE).frame.to_plane(np.array([[0.0, 0.8], [82.0, 0.8]])))[:, 1]
    line = np.interp(np.arange(truth.width_px), [0, truth.width_px], row)
    above = np.arange(truth.height_px)[:, None] < line
    assert measure_end(replace(truth, rgb=np.where(above[..., None], worn.rgb, truth.rgb))).walls


def test_softness_is_height_over_slope() -> None:
    # The slope of a Gaussian edge of standard deviation s is 1 / (s sqrt(2 pi)) at its steepest.
    z = np.arange(-1.0, 1.0, 0.01)
    edges = np.stack([0.1 + 0.8 * ndtr(z / 0.1), 0.1 + 0.8 * ndtr((z - 0.3) / 0.2), np.full(len(z), 0.5)])
    found = softness(edges, 0.01)
    # The light counts as at rest where its slope is a twentieth of the steepest: 1.5 % of the height stays out.
    np.testing.assert_allclose(found[:2], np.sqrt(2.0 * np.pi) * np.array([0.1, 0.2]), rtol=0.02)
    assert np.isnan(found[2])
