"""The drill's claim of uncertainty, over twenty seeded photos of boards with 5 to 11 cuts, some of them sloped."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.scenes import Rendered, Scene, render
from tests.vision.claims import Claims, by_chance
from vision.drill.measure import measure_drill
from vision.drill.plan import DrillPlan, intents_from
from vision.drill.report import DrillMeasurement
from vision.drill.review import DrillReview, review_drill

SCENES = 20
BIAS_DEG, SPREAD_DEG = 0.3, 0.5
"""The sawyer of all twenty boards."""


def slope(seed: int) -> float:
    """Degrees that the cuts are meant to lean by, to the right and to the left in turn: half of the boards square."""
    return (0.0, 0.0, 7.0, 2.0)[seed % 4]


def scene(seed: int) -> Scene:
    """A board, a camera and a saw by chance."""
    rng = np.random.default_rng([11, seed])
    count = int(rng.integers(5, 12))
    places = np.cumsum(rng.uniform(5.0, 9.0, count))
    meant = np.where(np.arange(count) % 2, -slope(seed), slope(seed))
    cuts = Scene(
        drill=True,
        leans_deg=tuple((meant + rng.normal(BIAS_DEG, SPREAD_DEG, count)).round(3).tolist()),
        places_mm=tuple(places.round(3).tolist()),
        width_mm=float(places[-1] + 6.0),
    )
    return by_chance(cuts, rng, seed)


def plan(seed: int) -> DrillPlan:
    return DrillPlan(intents=intents_from(f"{slope(seed)},{-slope(seed)}"))


@cache
def results() -> list[tuple[Rendered, DrillMeasurement]]:
    truths = [(render(scene(seed)), plan(seed)) for seed in range(SCENES)]
    return [(truth, measure_drill(truth.photo, told)) for truth, told in truths]


@cache
def reviews() -> list[DrillReview]:
    return [review_drill(found.cuts, found.end.thickness.value) for _, found in results()]


def leans() -> Claims:
    return Claims.of(
        (cut.lean, lean) for truth, m in results() for cut, lean in zip(m.cuts, truth.lean_deg, strict=True)
    )


def test_no_cut_is_missed_or_made_up() -> None:
    assert [len(found.cuts) for _, found in results()] == [len(truth.scene.places_mm) for truth, _ in results()]


def test_leans_lie_within_their_uncertainty_and_are_good() -> None:
    # 95 % is claimed; what budgets hold but scenes do not (print, set-up) makes it more.
    assert leans().inside >= 0.95
    assert leans().p95 < 0.10  # the check's aim for one wall in twenty
    assert leans().use_of_u > 0.1  # the claim is not idle


def test_the_sawyers_mean_lies_within_the_uncertainty_told_of_it() -> None:
    inside = [abs(review.bias.value - BIAS_DEG) <= review.bias.u95 for review in reviews() if review.bias]
    # 95 % of twenty: four or more outside happen by chance in 1.6 % of runs; seeds are fixed.
    assert len(inside) == SCENES
    assert inside.count(False) <= 3


def test_the_sawyers_spread_lies_within_its_interval() -> None:
    intervals = [review.spread.own_interval() for review in reviews() if review.spread]
    inside = [low <= SPREAD_DEG <= high for low, high in intervals]
    assert len(inside) == SCENES
    assert inside.count(False) <= 3


@pytest.mark.parametrize("name", ["drift", "sides"])
def test_no_drift_and_no_difference_of_sides_is_found_where_there_is_none(name: str) -> None:
    found = [getattr(review, name) for review in reviews()]
    false = [one for one in found if one is not None and abs(one.value) > one.u95]
    assert len(false) <= 3
