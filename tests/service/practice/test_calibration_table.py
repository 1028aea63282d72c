"""Predictions against outcomes: Brier's own example, exact partitions, Wilson's intervals."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy.stats import binomtest

from service.practice.calibration_table import (
    brier_parts,
    reliability_table,
    scorecard,
    scorecards,
    spiegelhalter_z,
    wilson,
)
from service.practice.entries import with_fits
from service.practice.outcomes import Event, Outcome, forecasts_of, outcomes_of
from tests.service.practice.builders import Sawyer, boards_of, driven

RAIN = np.array([0.7, 0.9, 0.8, 0.4, 0.2, 0.0, 0.0, 0.0, 0.0, 0.1])
RAINED = np.array([0.0, 1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])
"""Brier (1950), table 1, from memory: ten forecasts of rain, P = 0.19 over the two classes."""


def outcome(seats: float, loose: float, splitting: float, happened: Event, person: str = "a") -> Outcome:
    return Outcome(person, "oak", "full", "seats", 0.0, 0.0, (seats, loose, splitting), happened)


def outcomes(seed: int, count: int) -> list[Outcome]:
    """Sockets that fit by the very chances that were foretold."""
    rng = np.random.default_rng(seed)
    boards = boards_of(Sawyer(walls_deg=0.3), count, rng)
    return outcomes_of([with_fits(each, fits) for each, fits in zip(boards, driven(boards, rng), strict=True)])


def test_the_score_is_that_of_briers_example() -> None:
    both = brier_parts(RAIN, RAINED).score + brier_parts(1.0 - RAIN, 1.0 - RAINED).score
    assert both == pytest.approx(0.19, abs=1e-12)  # sums of squares of tenths


def test_three_events_score_as_brier_defined_it() -> None:
    card = scorecard([outcome(0.6, 0.3, 0.1, "seats"), outcome(0.2, 0.5, 0.3, "splitting")])
    expected = (0.4**2 + 0.3**2 + 0.1**2 + 0.2**2 + 0.5**2 + 0.7**2) / 2
    assert card.brier == pytest.approx(expected, rel=1e-12)


def test_the_parts_add_up() -> None:
    """Stephenson and others' partition is an identity."""
    rng = np.random.default_rng(1)
    chances = rng.random(300)
    came = (rng.random(300) < chances**2).astype(float)
    parts = brier_parts(chances, came)
    total = parts.reliability - parts.resolution + parts.uncertainty + parts.within_bins
    assert total == pytest.approx(parts.score, abs=1e-12)


def test_forecasts_that_are_equal_within_bins_leave_murphys_partition() -> None:
    chances, came = np.repeat([0.1, 0.5, 0.9], 20), np.tile([0.0, 1.0, 1.0, 0.0, 0.0], 12)
    parts = brier_parts(chances, came)
    groups = [came[chances == level].mean() for level in (0.1, 0.5, 0.9)]
    assert parts.within_bins == pytest.approx(0.0, abs=1e-12)
    assert parts.reliability == pytest.approx(
        np.mean([(p - o) ** 2 for p, o in zip((0.1, 0.5, 0.9), groups, strict=True)]), abs=1e-12
    )
    assert parts.resolution == pytest.approx(np.mean([(o - came.mean()) ** 2 for o in groups]), abs=1e-12)


def test_perfect_and_useless_forecasts_have_skill_one_and_none() -> None:
    came = np.tile([0.0, 1.0, 1.0, 0.0], 10)
    assert brier_parts(came, came).skill == pytest.approx(1.0, abs=1e-12)
    assert brier_parts(np.full(40, 0.5), came).skill == pytest.approx(0.0, abs=1e-12)
    assert brier_parts(np.zeros(4), np.zeros(4)).skill == 0.0


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilsons_interval_is_newcombes(successes: int, trials: int, low: float, high: float) -> None:
    """Newcombe (1998), Statistics in Medicine 17, table I, method 3, from memory; four printed decimals."""
    assert wilson(successes, trials) == pytest.approx((low, high), abs=5e-5)


def test_wilsons_interval_is_scipys() -> None:
    for successes, trials in ((0, 1), (1, 1), (3, 11), (50, 50), (17, 400)):
        expected = binomtest(successes, trials).proportion_ci(method="wilson")
        assert wilson(successes, trials) == pytest.approx((expected.low, expected.high), abs=1e-12)
    with pytest.raises(ValueError, match="successes must lie between 0 and trials"):
        wilson(3, 2)


def test_the_table_counts_every_forecast_once_and_a_certain_one_in_the_last_row() -> None:
    rows = reliability_table(RAIN, RAINED)
    assert [(row.low, row.count) for row in rows] == [(0.0, 5), (0.2, 1), (0.4, 1), (0.6, 1), (0.8, 2)]
    assert [row.high for row in rows] == [0.2, 0.4, 0.6, 0.8, 1.0]
    assert (rows[0].forecast, rows[0].observed) == pytest.approx((0.02, 0.0), abs=1e-12)
    assert reliability_table(np.array([1.0]), np.array([1.0]))[0].low == 0.8


def test_honest_forecasts_have_a_standard_normal_z() -> None:
    """2000 sets of 200: standard deviation of a mean 0.022, of a standard deviation 0.016; four of each."""
    rng = np.random.default_rng(2)
    chances = rng.random((2000, 200))
    z = [spiegelhalter_z(row, (rng.random(200) < row).astype(float)) for row in chances]
    assert np.mean(z) == pytest.approx(0.0, abs=0.09)
    assert np.std(z) == pytest.approx(1.0, abs=0.064)


def test_forecasts_that_are_too_sure_are_not_believed() -> None:
    rng = np.random.default_rng(3)
    came = (rng.random(300) < 0.7).astype(float)
    assert not brier_parts(np.full(300, 0.95), came).believable
    assert brier_parts(np.full(300, 0.7), came).believable


def test_certain_forecasts_are_believed_until_one_fails() -> None:
    assert brier_parts(np.ones(5), np.ones(5)).believable
    assert not brier_parts(np.ones(5), np.array([1.0, 1.0, 0.0, 1.0, 1.0])).believable


def test_predictions_that_are_right_by_construction_are_called_so() -> None:
    card = scorecard(outcomes(4, 40))
    assert card.count == 160
    assert card.sentence == "Over 160 driven pins things came about as often as predicted, as far as chance lets see."


def test_wrong_predictions_are_called_so_by_name() -> None:
    wrong = [outcome(0.9, 0.05, 0.05, "loose") for _ in range(30)]
    expected = "Predictions of seats and loose do not match what 30 driven pins did, beyond chance."
    assert scorecard(wrong).sentence == expected


def test_few_sockets_are_told_and_none_refused() -> None:
    assert scorecard([outcome(0.9, 0.1, 0.0, "seats")]).sentence.startswith("1 driven pin so far;")
    with pytest.raises(ValueError, match="outcomes must not be empty"):
        scorecard([])


def test_sockets_that_were_not_assembled_or_not_foretold_tell_nothing() -> None:
    (each,) = boards_of(Sawyer(), 1, np.random.default_rng(5))
    assert outcomes_of([each]) == []
    assert [o.happened for o in outcomes_of([with_fits(each, ["not assembled", "split", None, "loose"])])] == [
        "splitting",
        "loose",
    ]


def test_scorecards_are_kept_by_person_or_species() -> None:
    cards = scorecards([outcome(1.0, 0.0, 0.0, "seats", name) for name in "bab"], lambda each: each.person)
    assert {name: card.count for name, card in cards.items()} == {"a": 1, "b": 2}
    assert list(cards) == ["a", "b"]


def test_forecasts_and_events_belong_together() -> None:
    chances, came = forecasts_of([outcome(0.6, 0.3, 0.1, "loose"), outcome(0.2, 0.7, 0.1, "seats")], "loose")
    assert (chances.tolist(), came.tolist()) == ([0.3, 0.7], [1.0, 0.0])


def test_the_chart_is_json_even_where_a_certain_forecast_failed() -> None:
    chart = scorecard([outcome(1.0, 0.0, 0.0, "loose")]).to_chart()
    told = json.loads(json.dumps(chart, allow_nan=False))
    assert told["events"]["seats"]["z"] is None
    assert told["events"]["seats"]["rows"][0]["count"] == 1
