"""Left against right, places, woods and saws."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy import stats

from service.practice.columns import columns_of
from service.practice.comparing import Comparison, all_comparisons, side_mean
from service.practice.entries import PracticeBoard
from tests.service.practice.builders import Sawyer, board, boards_of


def compared(boards: list[PracticeBoard], topic: str) -> list[Comparison]:
    return [each for each in all_comparisons(columns_of(boards)) if each.topic == topic]


def test_left_against_right_is_a_paired_comparison_over_boards() -> None:
    """Student's paired interval on the boards' means, since the photos' own error is below the scatter."""
    boards = boards_of(Sawyer(0.1, -0.3), 9, np.random.default_rng(1))
    sides = [[np.mean([w.lean_deg for w in b.walls if w.side == side]) for b in boards] for side in ("left", "right")]
    expected = stats.ttest_rel(*sides).confidence_interval(0.95)
    (found,) = compared(boards, "side")
    assert (found.difference.low, found.difference.high) == pytest.approx(tuple(expected), rel=1e-9)
    means = [side_mean(columns_of(boards), left) for left in (True, False)]
    assert [mean.value for mean in means if mean] == pytest.approx(np.mean(sides, axis=1))


def test_an_error_that_all_walls_share_does_not_touch_left_against_right() -> None:
    straight, crooked = (
        compared(boards_of(Sawyer(common_deg=shift), 9, np.random.default_rng(2)), "side")[0] for shift in (0.0, 0.5)
    )
    assert straight.difference.value == pytest.approx(crooked.difference.value, abs=1e-12)  # it cancels exactly


def test_walls_that_fan_out_are_found_at_both_ends_with_the_cards_part_in_it_named() -> None:
    found = compared(boards_of(Sawyer(fan_deg=0.8), 12, np.random.default_rng(3)), "position")
    firm = {each.group: each.difference.firm for each in found}
    assert firm == {"left third": True, "middle third": False, "right third": True}
    assert found[0].sentence().endswith("A card that is not parallel to the end fans the walls out in the same way.")
    assert "may be chance" not in found[0].sentence()
    assert found[1].sentence().endswith(", which may be chance.")


def test_a_fan_that_a_tilted_card_makes_is_within_the_uncertainty_of_places() -> None:
    """Every photo fans the walls out alike, by one standard uncertainty at the ends, and nothing else is wrong."""
    boards = [board(list(np.linspace(-0.1, 0.1, 6)), number=n, lean_u95_deg=0.2) for n in range(12)]
    assert not any(each.difference.firm for each in compared(boards, "position"))
    for each in compared(boards, "position"):
        assert abs(each.difference.value) < each.difference.half_width


def test_two_woods_are_one_comparison_by_name_after_welch() -> None:
    rng = np.random.default_rng(4)
    boards = boards_of(Sawyer(0.6, 0.6), 5, rng, species="oak")
    boards += boards_of(Sawyer(), 8, rng, first=5, species="cherry")
    (found,) = compared(boards, "species")
    assert (found.group, found.other, found.difference.counts) == ("cherry", "oak", (8, 5))
    assert found.difference.firm
    assert found.difference.value < 0.0


def test_three_saws_are_each_held_against_all_others() -> None:
    rng = np.random.default_rng(5)
    boards = [b for i, saw in enumerate("abc") for b in boards_of(Sawyer(), 4, rng, first=4 * i, saw=saw)]
    assert [(each.group, each.other) for each in compared(boards, "saw")] == [(saw, "all others") for saw in "abc"]


def test_small_groups_and_boards_without_a_word_are_left_out() -> None:
    rng = np.random.default_rng(6)
    boards = boards_of(Sawyer(), 5, rng, saw="a") + boards_of(Sawyer(), 2, rng, first=5, saw="b")
    assert compared(boards, "saw") == []
    assert compared(boards_of(Sawyer(), 5, rng), "saw") == []


def test_each_comparison_knows_how_many_there_are() -> None:
    rng = np.random.default_rng(7)
    boards = [b for i, saw in enumerate("abc") for b in boards_of(Sawyer(), 4, rng, first=4 * i, saw=saw)]
    found = all_comparisons(columns_of(boards))
    assert {each.difference.comparisons for each in found} == {len(found)} == {7}


def test_among_many_comparisons_one_seldom_seems_firm_by_chance() -> None:
    """All of them together in at most 5 % of 300 logs, and four standard deviations of that share: 0.05."""
    alarms = [_any_firm(seed) for seed in range(300)]
    assert np.mean(alarms) < 0.05 + 0.05


def test_fewer_than_three_boards_carry_no_comparison() -> None:
    columns = columns_of(boards_of(Sawyer(), 2, np.random.default_rng(8)))
    assert all_comparisons(columns) == []
    assert side_mean(columns, True) is None


def test_comparisons_are_json() -> None:
    found = all_comparisons(columns_of(boards_of(Sawyer(), 5, np.random.default_rng(9))))
    told = json.loads(json.dumps([each.to_dict() for each in found], allow_nan=False))
    assert told[0]["half_width"] < told[0]["simultaneous"]
    assert told[0]["sentence"].startswith("Lean, left walls less right walls: ")


def _any_firm(seed: int) -> bool:
    rng = np.random.default_rng(1000 + seed)
    boards = [b for i, saw in enumerate("abc") for b in boards_of(Sawyer(), 5, rng, first=5 * i, saw=saw)]
    return any(each.difference.firm for each in all_comparisons(columns_of(boards)))
