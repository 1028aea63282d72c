"""The claim of uncertainty, over many seeded photos: errors fit what is stated of them, and are not far below it.

Twenty scenes vary leans, tilt of the camera, focal length, distortion, blur, noise, kerf and board. What their
budgets also hold but the scenes do not (print scale and skew, card's height and tilt against the end) is not realised,
so fewer errors exceed U than the 5 % of JCGM 100.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from tests.scenes import Rendered, Scene, render
from tests.vision.claims import Claims, by_chance
from vision.end.check import measure_end
from vision.end.report import Measurement

SCENES = 20


def scene(seed: int) -> Scene:
    """A board, a camera and a saw by chance; every third board has lines drawn beside two of its walls."""
    rng = np.random.default_rng([7, seed])
    half, gap = rng.uniform(5.0, 8.0), rng.uniform(8.0, 11.0)
    tail = rng.uniform(13.0, 17.0)
    places = np.cumsum([half, tail, gap, tail, gap, tail])
    walls = Scene(
        leans_deg=tuple(rng.normal(0.0, 0.5, 6).round(3).tolist()),
        places_mm=tuple(places.round(3).tolist()),
        width_mm=float(places[-1] + half),
        lines=(1, 4) if seed % 3 == 0 else (),
    )
    return by_chance(walls, rng, seed)


@cache
def results() -> tuple[list[tuple[Rendered, Measurement]], int]:
    """Scenes with what was measured on them, and how many were refused."""
    found, refused = [], 0
    for seed in range(SCENES):
        truth = render(scene(seed))
        try:
            found.append((truth, measure_end(truth.photo)))
        except CannotMeasure:
            refused += 1
    return found, refused


@cache
def claims(name: str) -> Claims:
    """A wall's number over all walls."""
    truth_name = {"lean": "lean_deg"}.get(name, name)
    return Claims.of(
        (getattr(wall, name), truth)
        for rendered, measured in results()[0]
        for wall, truth in zip(measured.walls, getattr(rendered, truth_name), strict=True)
    )


def test_no_plain_photo_is_refused_and_no_wall_is_missed_or_made_up() -> None:
    found, refused = results()
    assert refused == 0
    assert [len(measured.walls) for _, measured in found] == [6] * SCENES
    assert {measured.stage for _, measured in found} == {"sawn"}


@pytest.mark.parametrize("name", ["lean", "x_show", "x_transfer"])
def test_at_least_nine_in_ten_errors_lie_within_the_stated_uncertainty(name: str) -> None:
    # 95 % is claimed; 120 walls that share photos by sixes know the share to about 4 %.
    assert claims(name).inside >= 0.90


def test_stated_uncertainty_of_leans_is_not_idle() -> None:
    # Normal errors are 0.8 u = 0.4 U on average; a board without the set-up's errors, painted without tear-out, has
    # smaller ones, but a tenth of U would mean a claim without content.
    assert claims("lean").use_of_u > 0.1


def test_leans_are_as_good_as_the_aim() -> None:
    # The project's aim on photos: 95th percentile within 0.10 degrees; plain painted walls must do as well.
    assert claims("lean").p95 < 0.10


def test_leans_have_no_steady_error() -> None:
    error, u95 = claims("lean")
    # 120 walls: the mean is known to about u / sqrt(120), and walls of a photo share errors: half of the mean u.
    assert abs(error.mean()) < 0.25 * u95.mean()


def test_width_and_thickness_lie_within_their_uncertainty() -> None:
    scores = [
        ((m.width.value - r.scene.width_mm) / m.width.u95, (m.thickness.value - r.scene.thickness_mm) / m.thickness.u95)
        for r, m in results()[0]
    ]
    # 20 photos at 95 %: three or more outside happen by chance in 8 % of runs, four in 2 %; seeds are fixed.
    assert np.sum(np.abs(scores) > 1.0, axis=0).max() <= 3
