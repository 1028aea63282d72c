"""Out-of-control signals: each rule on its smallest example, and how often all of them cry wolf."""

from __future__ import annotations

import numpy as np
import pytest

from service.practice.signals import RULES, Signal, find_signals, recurrences

EXAMPLES = {
    "beyond_limits": [3.1],
    "two_of_three": [2.1, 0.0, 2.1],
    "four_of_five": [1.1, 1.1, 0.0, 1.1, 1.1],
    "one_side": [0.1] * 8,
    "trend": [0.0, 0.1, 0.2, 0.3, 0.4, 0.5],
}
"""The shortest series that each rule must signal."""
WESTERN_ELECTRIC = ("beyond_limits", "two_of_three", "four_of_five", "one_side")


@pytest.mark.parametrize("rule", RULES)
def test_a_rule_fires_on_its_smallest_example_and_on_no_shorter_one(rule: str) -> None:
    scores = np.array(EXAMPLES[rule])
    assert len(scores) == RULES[rule].span
    assert [(signal.first, signal.last) for signal in find_signals(scores, [rule])] == [(0, len(scores) - 1)]
    assert find_signals(scores[:-1], [rule]) == []


@pytest.mark.parametrize("rule", [name for name in RULES if RULES[name].source.startswith("Western")])
def test_zone_rules_see_both_sides_but_not_a_mixture(rule: str) -> None:
    scores = np.array(EXAMPLES[rule])
    assert [signal.side for signal in find_signals(-scores, [rule])] == [-1]
    mixed = scores.copy()
    mixed[-1] = -mixed[-1]
    assert find_signals(mixed, [rule]) == [] or rule == "beyond_limits"


@pytest.mark.parametrize(
    ("rule", "near_miss"),
    [
        ("beyond_limits", [2.99]),
        ("two_of_three", [1.9, 2.1, 0.0]),
        ("four_of_five", [0.9, 1.1, 1.1, 0.9, 1.1]),
        ("one_side", [0.1] * 7 + [0.0]),
        ("trend", [0.0, 0.1, 0.2, 0.3, 0.4, 0.4]),
    ],
)
def test_a_near_miss_is_no_signal(rule: str, near_miss: list[float]) -> None:
    for scores in (np.array(near_miss), -np.array(near_miss)):
        assert find_signals(scores, [rule]) == []


def test_a_longer_stretch_is_one_signal_that_tells_its_length() -> None:
    signals = find_signals(np.array([0.1] * 11), ["one_side"])
    assert [(signal.first, signal.last) for signal in signals] == [(0, 10)]
    assert signals[0].sentence == "11 boards in a row above your usual: the level has shifted."


def test_a_stretch_that_changes_sides_is_two_signals() -> None:
    signals = find_signals(np.array([0.1] * 9 + [-0.1] * 8), ["one_side"])
    assert [(signal.first, signal.last, signal.side) for signal in signals] == [(0, 8, 1), (9, 16, -1)]


def test_every_board_beyond_the_limits_is_a_signal_of_its_own() -> None:
    signals = find_signals(np.array([0.0, 3.1, 3.2, 0.0]), ["beyond_limits"])
    assert [(signal.first, signal.last) for signal in signals] == [(1, 1), (2, 2)]


def test_a_falling_trend_says_lower() -> None:
    (signal,) = find_signals(np.linspace(1.0, -1.0, 7), ["trend"])
    assert signal.side == -1
    assert signal.sentence == "7 boards in a row, each lower than the one before: a trend."


def test_every_rule_names_its_source_and_says_what_it_means() -> None:
    for rule in RULES.values():
        assert rule.source in ("Western Electric 1956", "Nelson 1984")
        assert rule.meaning.endswith(".")


def test_unknown_rules_are_refused() -> None:
    with pytest.raises(ValueError, match=r"rules must be of .*, got seven"):
        find_signals(np.zeros(20), ["seven"])


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        (("beyond_limits",), 370.4),
        (("beyond_limits", "two_of_three"), 225.44),
        (("beyond_limits", "one_side"), 152.73),
        (WESTERN_ELECTRIC, 91.75),
    ],
)
def test_false_alarms_come_as_often_as_champ_and_woodall_reckoned(rules: tuple[str, ...], expected: float) -> None:
    """Average run lengths in control: Champ and Woodall (1987), Technometrics 29, table 1, from memory.

    Run lengths are nearly exponential: the mean of 1500 has a standard error of its 39th part; four of them. 5000
    points are at least thirteen mean run lengths, so that practically none is cut off.
    """
    rng = np.random.default_rng(len(rules))
    lengths = [_run_length(rng.standard_normal(5000), rules) for _ in range(1500)]
    assert np.mean(lengths) == pytest.approx(expected, abs=4.0 * expected / np.sqrt(1500))


def test_all_rules_together_are_quiet_on_a_short_steady_series() -> None:
    """Twenty boards in control: with the four zone rules and trends about one series in five shows a signal."""
    rng = np.random.default_rng(9)
    share = np.mean([bool(find_signals(rng.standard_normal(20))) for _ in range(1000)])
    assert share < 0.25  # 1 - exp(-20 / 92) = 0.20 for the zone rules, four standard deviations are 0.05


def _run_length(scores: np.ndarray, rules: tuple[str, ...]) -> int:
    """Points up to and with the first that makes a rule fire; looks at more of them only if need be."""
    for length in (300, 1500, len(scores)):
        signals = find_signals(scores[:length], rules)
        if signals:
            return min(signal.first + RULES[signal.rule].span for signal in signals)
    return len(scores)


def told(*signals: tuple[str, int, int, int]) -> list[list[tuple[int, int]]]:
    """Of signals (rule, first, last, side), where those are that are told as one."""
    made = [Signal(*each, "") for each in signals]
    return [[(signal.first, signal.last) for signal in one.signals] for one in recurrences(made)]


def test_a_signal_that_comes_again_on_its_side_is_told_once_the_latest_first() -> None:
    limits, shifts = [("beyond_limits", at, at, 1) for at in (1, 3, 6)], ("one_side", 0, 7, 1)
    assert told(*limits, shifts) == [[(0, 7)], [(1, 1), (3, 3), (6, 6)]]


def test_a_signal_of_the_other_side_parts_those_before_from_those_after() -> None:
    assert told(("beyond_limits", 1, 1, 1), ("four_of_five", 2, 6, -1), ("beyond_limits", 9, 9, 1)) == [
        [(9, 9)],
        [(2, 6)],
        [(1, 1)],
    ]


def test_a_trend_parts_no_levels_and_a_level_no_trends() -> None:
    trends = ("trend", 2, 7, -1), ("trend", 20, 25, -1)
    limits = ("beyond_limits", 1, 1, 1), ("beyond_limits", 9, 9, 1)
    assert told(limits[0], trends[0], limits[1], trends[1]) == [[(2, 7), (20, 25)], [(1, 1), (9, 9)]]


def test_over_a_year_of_learning_no_signal_is_lost_and_few_are_told() -> None:
    rng = np.random.default_rng(7)
    signals = find_signals(8.0 * np.exp(-np.arange(250) / 60.0) - 2.0 + rng.normal(0.0, 1.0, 250))
    told_once = recurrences(signals)
    assert sorted(id(each) for one in told_once for each in one.signals) == sorted(map(id, signals))
    assert len(signals) > 30
    assert len(told_once) <= 12
