"""Better, worse, or no change that is sure."""

from __future__ import annotations

import json

import numpy as np
import pytest

from service.practice.columns import columns_of
from service.practice.progress import Progress, progress_of
from service.practice.series import ABS_LEAN, LEAN, METRICS, SPREAD, series_of
from tests.service.practice.builders import Sawyer, board, boards_of


def progress_between(
    early: Sawyer, late: Sawyer, seed: int, metric: str = "abs_lean", *, comparisons: int = 1, common: float = 0.5
) -> Progress:
    """Of ten boards sawn one way and ten sawn another."""
    rng = np.random.default_rng(seed)
    boards = boards_of(early, 10, rng) + boards_of(late, 10, rng, first=10)
    return progress_of(series_of(columns_of(boards), METRICS[metric]), comparisons=comparisons, common=common)


def test_a_large_change_is_better_one_way_and_worse_the_other() -> None:
    crooked, square = Sawyer(left_deg=0.8, right_deg=0.8), Sawyer()
    assert progress_between(crooked, square, 1).verdict == "better"
    assert progress_between(square, crooked, 1).verdict == "worse"


def test_a_change_smaller_than_the_uncertainty_is_not_called_improvement() -> None:
    """U is 0.2 degrees; the mean falls by 0.05 without any scatter of the hand: the photos cannot tell."""
    steady = {"walls_deg": 0.0, "boards_deg": 0.0, "u_deg": 0.0, "common_deg": 0.1}
    progress = progress_between(Sawyer(0.30, 0.30, **steady), Sawyer(0.25, 0.25, **steady), 2)
    assert progress.change is not None
    assert progress.change.value == pytest.approx(-0.05, abs=1e-9)  # nothing scatters
    assert progress.verdict == "no change"
    assert "no change that is sure" in progress.sentence()
    assert progress.sentence().endswith("Most of the doubt is the measurement's own.")


def test_where_boards_differ_more_than_photos_that_is_what_the_sentence_blames() -> None:
    wild = Sawyer(0.5, 0.5, walls_deg=0.1, boards_deg=0.5, u_deg=0.01)
    assert "how much your boards differ" in progress_between(wild, wild, 3).sentence()


def test_a_lean_that_changes_sides_by_as_much_is_no_change() -> None:
    progress = progress_between(Sawyer(0.5, 0.5), Sawyer(-0.5, -0.5), 4, LEAN.name)
    assert progress.verdict == "no change"


def test_someone_who_does_not_change_seldom_seems_to() -> None:
    """At most 5 % of 400, and four standard deviations of that share: 0.044. It is less, because shared error counts as
    if two cards had been used."""
    verdicts = [progress_between(Sawyer(), Sawyer(), seed).verdict for seed in range(400)]
    assert np.mean([verdict != "no change" for verdict in verdicts]) < 0.05 + 0.044


def test_a_change_of_card_is_not_taken_for_progress() -> None:
    """A new card whose error differs by 0.06 degrees, within the 0.14 that the two cards may differ by. Counted as if
    every photo's error were its own, it would pass for progress."""
    steady = {"walls_deg": 0.03, "boards_deg": 0.01, "u_deg": 0.05}
    first, second = Sawyer(0.4, 0.4, common_deg=0.05, **steady), Sawyer(0.34, 0.34, common_deg=0.05, **steady)
    assert {progress_between(first, second, seed).verdict for seed in range(40)} == {"no change"}
    naive = [progress_between(first, second, seed, common=0.0).verdict for seed in range(40)]
    assert naive.count("better") > 10  # of 40, where an interval that is right lets 2 pass


def test_a_better_measurement_is_not_taken_for_better_sawing() -> None:
    """Noise makes square walls look off square, the more of it the more: with a better camera they seem to improve."""
    verdicts = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        boards = [
            board(list(rng.normal(0.0, u, 6)), number=n, lean_u95_deg=2.0 * u)
            for n, u in enumerate([0.08] * 10 + [0.02] * 10)
        ]
        progress = progress_of(series_of(columns_of(boards), ABS_LEAN))
        assert progress.change is not None
        assert progress.change.value < 0.0
        verdicts.append(progress.verdict)
    assert set(verdicts) == {"no change"}


def test_five_boards_are_too_few_and_one_more_will_do() -> None:
    boards = boards_of(Sawyer(), 6, np.random.default_rng(5))
    few = progress_of(series_of(columns_of(boards[:5]), ABS_LEAN))
    assert (few.verdict, few.change) == ("too few", None)
    assert few.sentence() == "Lean, mean size: too few boards to compare yet; 1 more will do."
    assert progress_of(series_of(columns_of(boards), ABS_LEAN)).verdict != "too few"


def test_a_period_is_half_of_the_boards_and_ten_at_most() -> None:
    boards = boards_of(Sawyer(), 25, np.random.default_rng(6))
    for many, expected in ((9, 4), (12, 6), (25, 10)):
        progress = progress_of(series_of(columns_of(boards[:many]), SPREAD))
        assert progress.first is not None
        assert progress.last is not None
        assert (progress.first.counts, progress.last.counts) == ((expected,), (expected,))


def test_more_comparisons_ask_for_more_evidence() -> None:
    """A change of three standard errors is firm alone and not among a hundred."""
    alone = progress_between(Sawyer(0.4, 0.4), Sawyer(0.1, 0.1), 7)
    among = progress_between(Sawyer(0.4, 0.4), Sawyer(0.1, 0.1), 7, comparisons=100)
    assert alone.change is not None
    assert 2.5 < abs(alone.change.value) / alone.change.error < 4.0
    assert (alone.verdict, among.verdict) == ("better", "no change")


def test_time_between_boards_has_no_better_or_worse() -> None:
    series = series_of(columns_of(boards_of(Sawyer(), 12, np.random.default_rng(8))), METRICS["days_between"])
    with pytest.raises(ValueError, match="days_between has no better or worse"):
        progress_of(series)


def test_progress_is_json_with_its_sentence() -> None:
    told = json.loads(json.dumps(progress_between(Sawyer(0.8, 0.8), Sawyer(), 1).to_dict(), allow_nan=False))
    assert told["sentence"].startswith("Lean, mean size: better. It was ")
    assert told["sentence"].endswith(" over the last 10 boards.")  # nothing stands in the way of a verdict
    assert told["change"][0] == pytest.approx(told["last"][0] - told["first"][0])
    assert told["change"][0] < 0.0
