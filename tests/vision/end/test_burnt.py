"""Glare that could hide a saw cut or a wall is refused with its place; bright wood and light amid a tail are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure
from tests.scenes import Scene, rendered
from tests.vision.ends import located
from vision.drill.measure import measure_drill
from vision.end.burnt import burnt_stretches
from vision.end.check import measure_end
from vision.end.find_walls import EndStrip
from vision.photo.photo import Photo
from vision.photo.strip import srgb_to_linear

SAWN = Scene(size_px=(1500, 1100), px_per_mm=10.0, focal_px=2600.0)
CLEARED = replace(SAWN, cleared=True)


def lit(scene: Scene, x_mm: float, *, reach_mm: float = 5.0, light: float = 3.0) -> Photo:
    """The scene's photo with a lamp's light over the end about `x_mm` from its left side."""
    truth = rendered(scene)
    at = truth.plane.to_image(truth.frame.to_plane(np.array([[x_mm, scene.thickness_mm / 2.0]])))[0]
    y, x = np.mgrid[: truth.photo.height_px, : truth.photo.width_px]
    spread = reach_mm * scene.px_per_mm
    glare = light * np.exp(-0.5 * ((x - at[0]) ** 2 + (y - at[1]) ** 2) / spread**2)
    seen = np.minimum(srgb_to_linear(truth.photo.rgb / 255.0) + glare[..., None], 1.0)
    levels = 255.0 * np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1.0 / 2.4) - 0.055)
    return replace(truth.photo, rgb=np.rint(levels).astype(np.uint8))


def test_glare_over_two_kerfs_is_refused_with_its_place() -> None:
    # Both kerfs of the socket from 23 to 33 mm vanish: without the check the board seems to have one tail less. The
    # wood's blue, 0.27, is clipped within 5 sqrt(2 ln(3 / 0.73)) = 8.4 mm at mid thickness, farther off at fewer rows.
    with pytest.raises(CannotMeasure, match="Light hides the end from 20 to 36 mm from the left end") as caught:
        measure_end(lit(SAWN, 28.0))
    assert caught.value.refusal.reason == "burnt_out"


def test_glare_over_the_only_cuts_says_why_none_were_found() -> None:
    scene = replace(SAWN, places_mm=(38.0, 44.0), leans_deg=(0.0, 0.0))
    with pytest.raises(CannotMeasure, match=r"No saw cuts were found in the end\. Light hides") as caught:
        measure_end(lit(scene, 41.0, reach_mm=6.0))
    assert caught.value.refusal.reason == "no_kerfs"


def test_a_drill_with_cuts_in_glare_is_refused() -> None:
    with pytest.raises(CannotMeasure, match="Light hides the end") as caught:
        measure_drill(lit(replace(SAWN, drill=True), 28.0))
    assert caught.value.refusal.reason == "burnt_out"


def test_on_a_cleared_end_glare_on_a_wall_is_refused_and_glare_amid_a_tail_is_not() -> None:
    with pytest.raises(CannotMeasure, match="from the left wall of the first tail") as caught:
        measure_end(lit(CLEARED, 47.0, light=1.6, reach_mm=4.0))
    assert caught.value.refusal.reason == "burnt_out"
    amid = measure_end(lit(CLEARED, 41.0, light=1.6, reach_mm=3.0))
    assert len(amid.walls) == len(CLEARED.places_mm)


def test_glare_amid_a_tail_that_could_be_two_is_refused() -> None:
    scene = replace(CLEARED, places_mm=(7.0, 47.0, 59.0, 75.0), leans_deg=(0.0, 0.0, 0.0, 0.0))
    with pytest.raises(CannotMeasure, match="Light hides the end") as caught:
        measure_end(lit(scene, 27.0, light=1.6, reach_mm=3.0))
    assert caught.value.refusal.reason == "burnt_out"


@pytest.mark.parametrize("wood", [(0.52, 0.40, 0.27), (0.62, 0.56, 0.46)])
def test_a_bright_photo_of_pale_wood_is_measured(wood: tuple[float, float, float]) -> None:
    # The red of the wood is clipped at this exposure, its blue is not.
    bright = replace(SAWN, wood=wood, exposure=1.7)
    found = measure_end(rendered(bright).photo)
    assert len(found.walls) == len(bright.places_mm)
    end = located(bright)
    assert burnt_stretches(end.strip, end.left, end.right) == []


def surface(burnt: NDArray[np.bool_], *, wood: float = 0.5) -> EndStrip:
    """A strip of wood, 10 columns to the mm, burnt out where told."""
    light = np.where(burnt, 1.0 / wood, 1.0)[..., None] * np.ones(3)
    return EndStrip(light.astype(np.float32), 0.1 * np.arange(burnt.shape[1]), np.arange(len(burnt)), np.full(3, wood))


def test_what_is_too_short_or_too_shallow_to_hide_a_kerf_is_not_told() -> None:
    burnt = np.zeros((100, 400), bool)
    burnt[:, 20:30] = True
    burnt[:27, 50:100] = True
    burnt[30:60, 150:200] = True
    (found,) = burnt_stretches(surface(burnt), 0.0, 40.0)
    np.testing.assert_allclose(found, (15.0, 19.9), atol=1e-9)
    assert burnt_stretches(replace(surface(burnt), wood=None), 0.0, 40.0) == []
    assert burnt_stretches(surface(burnt), 20.0, 40.0) == []


def test_one_channel_that_is_not_clipped_still_shows_a_kerf() -> None:
    strip = surface(np.ones((20, 100), bool))
    assert burnt_stretches(strip, 0.0, 10.0)
    strip.light[..., 2] *= 0.9
    assert burnt_stretches(strip, 0.0, 10.0) == []
