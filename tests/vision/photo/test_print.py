"""A card that its printer stretched and skewed: what that does to the numbers, and what a print check makes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibration.card import CARDS
from calibration.lens_prior import LensPrior
from calibration.outcome import CannotMeasure
from calibration.plane import PlaneMap, solve_plane
from calibration.prints.check import CALIPER, LENGTHS, lengths_of, shape_from_readings
from calibration.prints.known import NOTHING_KNOWN, Known
from calibration.prints.shape import EXACT, UNCHECKED, Floats, PrintShape
from tests.scenes import Scene, camera, printed, rendered
from tests.vision.ends import solved
from vision.end.check import measure_end
from vision.end.report import Measurement
from vision.photo.photo import Photo
from vision.photo.quality import check_shape

ODD = Scene(print_scale=(1.008, 0.996), print_skew_deg=0.3)
SQUARE_ON = Scene(tilt_deg=(0.5, -0.5))
SLANTED = replace(ODD, tilt_deg=(9.0, 8.0))


def print_check(scene: Scene, name: str = "checked") -> PrintShape:
    """What a person finds who measures the scene's print with a caliper, to the nearest 0.05 mm."""
    shape = printed(scene)
    lengths = lengths_of(np.array([shape.x_scale, shape.y_scale, shape.skew_rad]))
    read = np.round(lengths / 0.05) * 0.05
    return shape_from_readings({key: [value] for key, value in zip(LENGTHS, read.tolist(), strict=True)}, CALIPER, name)


def measured(scene: Scene, shape: PrintShape | None) -> Measurement:
    return measure_end(rendered(scene).photo, known=NOTHING_KNOWN if shape is None else Known(print=shape))


def lean_errors(found: Measurement, scene: Scene) -> Floats:
    return np.array([wall.lean.value - lean for wall, lean in zip(found.walls, rendered(scene).lean_deg, strict=True)])


def lean_u95(found: Measurement) -> Floats:
    return np.array([wall.lean.u95 for wall in found.walls])


def reasons(found: Measurement) -> set[str]:
    return {kind.reason for kind in found.warnings}


def test_taken_as_true_an_odd_print_falsifies_leans_and_width() -> None:
    believed = measured(ODD, replace(EXACT, name="believed"))
    # Stretched 0.8 % along x: 82 mm read short by well more than U; leans off by several times their U of 0.08.
    assert ODD.width_mm - believed.width.value > believed.width.u95
    assert np.abs(lean_errors(believed, ODD)).max() > 0.15


def test_with_the_print_check_leans_and_width_are_right() -> None:
    checked = measured(ODD, print_check(ODD))
    # Each at 95 %, on a fixed seed.
    assert np.all(np.abs(lean_errors(checked, ODD)) < lean_u95(checked))
    assert abs(checked.width.value - ODD.width_mm) < checked.width.u95
    assert "print_doubtful" not in reasons(checked)


def test_without_one_the_photo_itself_corrects_the_leans_and_the_allowance_covers_the_width() -> None:
    unchecked, checked = measured(ODD, None), measured(ODD, print_check(ODD))
    assert np.all(np.abs(lean_errors(unchecked, ODD)) < lean_u95(unchecked))
    assert abs(unchecked.width.value - ODD.width_mm) < unchecked.width.u95
    # 0.3 % of 82 mm is the most of its U; a caliper's 0.07 % leaves the set-up's height as the largest part.
    assert unchecked.width.u95 > 2.0 * checked.width.u95
    assert unchecked.print_cost.width_share > 0.5 > 0.3 > checked.print_cost.width_share


def test_the_cost_of_the_print_is_what_a_known_one_saves() -> None:
    scene = Scene(tilt_deg=(9.0, 8.0))
    unchecked, exact = measured(scene, None), measured(scene, EXACT)
    saved = 1.0 - lean_u95(exact) / lean_u95(unchecked)
    assert unchecked.print_cost.name == exact.print_cost.name == ""
    # To two hundredths: with the shape fixed the corners scatter a little more, which widens U, and the walls are cut
    # out a little differently.
    assert unchecked.print_cost.lean_share == pytest.approx(saved.max(), abs=0.02)
    assert exact.print_cost.lean_share < 1e-6


def test_a_slanted_photo_needs_the_print_check_for_its_leans() -> None:
    unchecked, checked = measured(SLANTED, None), measured(SLANTED, print_check(SLANTED))
    # What the caliper leaves open of the skew, 0.05 degrees, still is about a fifth of U; without, it is over a third.
    assert np.all(lean_u95(unchecked) > 1.1 * lean_u95(checked))
    assert unchecked.print_cost.lean_share > 1.3 * checked.print_cost.lean_share
    assert np.all(np.abs(lean_errors(checked, SLANTED)) < lean_u95(checked))
    assert checked.print_cost.name == "checked"


def test_the_wrong_print_is_doubted() -> None:
    assert "print_doubtful" in reasons(measured(ODD, print_check(Scene())))
    assert "print_doubtful" not in reasons(measured(Scene(), None))


def stretched(scene: Scene, x: float, y: float) -> Photo:
    """The scene's photo as a program made it that does not keep proportions."""
    photo = rendered(scene).photo
    return replace(photo, rgb=np.asarray(cv2.resize(photo.rgb, None, fx=x, fy=y), np.uint8))


@pytest.mark.parametrize(("x", "y"), [(1.06, 1.0), (1.0, 0.75)])
def test_a_stretched_photo_is_refused(x: float, y: float) -> None:
    """Taken for a stretched print, it has leans off by several times their U."""
    with pytest.raises(CannotMeasure, match=r"out of proportion by [0-9.]+ %") as caught:
        measure_end(stretched(SQUARE_ON, x, y))
    assert caught.value.refusal.reason == "card_out_of_shape"


def test_a_print_out_of_all_shape_is_refused_until_it_was_measured() -> None:
    scene = replace(SQUARE_ON, print_scale=(1.022, 0.985))
    with pytest.raises(CannotMeasure) as caught:
        measured(scene, None)
    assert caught.value.refusal.reason == "card_out_of_shape"
    checked = measured(scene, print_check(scene))
    assert np.all(np.abs(lean_errors(checked, scene)) < lean_u95(checked))


@pytest.mark.parametrize("seen", [(1.029, 1.0, 0.0), (0.972, 1.0, 0.0), (1.02, 1.02, 0.01), (1.0, 1.0, -0.01)])
def test_what_printers_may_do_is_no_reason_to_refuse(seen: tuple[float, float, float]) -> None:
    check_shape(UNCHECKED, PrintShape(*seen))


@pytest.mark.parametrize("seen", [(1.031, 1.0, 0.0), (1.0, 1.031, 0.0), (1.0, 1.0, 0.011), (1.0, 1.0, -0.011)])
def test_more_is_refused_whether_it_is_stretched_or_askew(seen: tuple[float, float, float]) -> None:
    with pytest.raises(CannotMeasure, match="more than printers do"):
        check_shape(UNCHECKED, PrintShape(*seen))


def test_the_plane_comes_with_the_shape_of_the_print_as_solved() -> None:
    plane = solved(ODD)[1]
    # The corners tell the ratio and the skew to about 1e-4; four times that.
    assert plane.card.x_scale / plane.card.y_scale == pytest.approx(1.008 / 0.996, abs=4e-4)
    assert plane.card.skew_rad == pytest.approx(np.radians(0.3), abs=4e-4)
    points = np.array([[10.0, 10.0], [90.0, 30.0]])
    np.testing.assert_allclose(plane.to_card(plane.card_to_image(points)), points, atol=1e-6)


@pytest.mark.parametrize("focal_u", [0.02, 0.25], ids=["focal length known", "focal length vague"])
def test_over_many_prints_and_views_the_errors_are_as_large_as_stated(focal_u: float) -> None:
    rng = np.random.default_rng(52)
    scaled = np.array([_scaled_errors(rng, focal_u) for _ in range(80)])
    # Prints within the allowances, corners to 0.05 px, cameras tilted up to 20 degrees: 80 draws know a standard
    # deviation to 8 %, four of those; rectangular allowances have no tails, and none should lie far out.
    np.testing.assert_allclose(np.sqrt(np.mean(scaled**2, axis=0)), 1.0, atol=0.32)
    assert np.abs(scaled).max() < 4.0


def _scaled_errors(rng: np.random.Generator, focal_u: float) -> Floats:
    """Errors of log focal length, tilt and the length of a line on the end, in their stated standard uncertainties."""
    x_scale, y_scale = 1.0 + rng.uniform(-0.005, 0.005, 2)
    shape = PrintShape(x_scale, y_scale, np.radians(rng.uniform(-0.2, 0.2)))
    scene = Scene(tilt_deg=tuple(rng.uniform(-14.0, 14.0, 2)), roll_deg=float(rng.uniform(-180.0, 180.0)))
    true, points = camera(scene), CARDS["short"].corner_points_mm
    seen = true.to_image(shape.true_points(points)) + 0.05 * rng.standard_normal(points.shape)
    lens = LensPrior.from_focal(scene.focal_px * np.exp(focal_u * rng.standard_normal()), focal_u, scene.size_px)
    plane, _ = solve_plane(points, seen, size_px=scene.size_px, lens=lens, card=UNCHECKED)
    line = true.to_image(np.array([[20.0, 50.0], [100.0, 62.0]]))
    return np.array([_scaled(plane, true, quantity) for quantity in (_focal, _tilt, lambda each: _length(each, line))])


def _scaled(plane: PlaneMap, true: PlaneMap, quantity: Callable[[PlaneMap], float]) -> float:
    """Error of a quantity of the plane in its standard uncertainty, by the covariance's principal axes."""
    deviations = np.sqrt(np.diag(plane.covariance))
    values, vectors = np.linalg.eigh(plane.covariance / np.outer(deviations, deviations))
    steps = (vectors * np.sqrt(np.maximum(values, 0.0))).T * deviations
    here = quantity(plane)
    changes = [(quantity(plane.with_theta(plane.theta + 0.1 * step)) - here) / 0.1 for step in steps]
    return float((here - quantity(true)) / np.linalg.norm(changes))


def _focal(plane: PlaneMap) -> float:
    return float(np.log(plane.focal_px))


def _tilt(plane: PlaneMap) -> float:
    return plane.tilt_deg


def _length(plane: PlaneMap, line_px: Floats) -> float:
    return float(np.linalg.norm(np.diff(plane.to_plane(line_px), axis=0)))
