"""The usual out-of-control signals of a control chart, each explained in plain words.

Western Electric Company, Statistical Quality Control Handbook (1956), and L. S. Nelson, "The Shewhart control chart:
tests for special causes", Journal of Quality Technology 16 (1984), both from memory. All their rules at once cry wolf
too often (with the four of Western Electric alone, once in 92 points: Champ and Woodall 1987): a practice log shows
those four and trends, which are what learning looks like.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]


@dataclass(frozen=True)
class Rule:
    """One rule: how many points in a row it looks at, whether such a window signals, and what that means to people.

    `fires` takes the (windows, span) scores in sigmas and returns (windows,) flags; `side_of` takes those that signal
    and says on which side of the centre, or which way, each does.
    """

    name: str
    source: str
    span: int
    meaning: str
    fires: Callable[[Floats], Booleans]
    side_of: Callable[[Floats], Floats]


@dataclass(frozen=True)
class Signal:
    """A rule that fired: the points from `first` to `last` (indices) are its evidence; windows that overlap are one."""

    rule: str
    first: int
    last: int
    side: int
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """For a chart on a page; `side` is 1 above the centre or upward, -1 below it or downward."""
        rule = RULES[self.rule]
        return {
            "rule": self.rule,
            "source": rule.source,
            "first": self.first,
            "last": self.last,
            "side": self.side,
            "sentence": self.sentence,
        }


@dataclass(frozen=True)
class Recurrence:
    """A signal and its repetitions: the same rule on the same side, in their order, with nothing of its kind to the
    other side between."""

    signals: tuple[Signal, ...]

    @property
    def latest(self) -> Signal:
        """The last of them, whose sentence is told."""
        return self.signals[-1]

    @property
    def first(self) -> int:
        """The first point of any."""
        return min(signal.first for signal in self.signals)

    @property
    def last(self) -> int:
        """The last point of any."""
        return self.latest.last

    @property
    def times(self) -> str:
        """How often, as words that follow its dates: nothing for once."""
        return f", {len(self.signals)} times; the last" if len(self.signals) > 1 else ""


def _count_beyond(scores: Floats, sigmas: float, needed: int) -> Booleans:
    """So many of the window beyond so many sigmas on one side."""
    above, below = (scores > sigmas).sum(axis=1), (scores < -sigmas).sum(axis=1)
    return np.asarray(np.maximum(above, below) >= needed)


def _beyond_three(scores: Floats) -> Booleans:
    return np.asarray(abs(scores[:, 0]) > 3.0)


def _two_of_three(scores: Floats) -> Booleans:
    return _count_beyond(scores, 2.0, 2)


def _four_of_five(scores: Floats) -> Booleans:
    return _count_beyond(scores, 1.0, 4)


def _one_side(scores: Floats) -> Booleans:
    return _count_beyond(scores, 0.0, scores.shape[1])


def _trend(scores: Floats) -> Booleans:
    steps = np.diff(scores, axis=1)
    return np.asarray((steps > 0).all(axis=1) | (steps < 0).all(axis=1))


def _median_side(scores: Floats) -> Floats:
    """Most of the window lies there."""
    return np.asarray(np.sign(np.median(scores, axis=1)))


def _step_side(scores: Floats) -> Floats:
    return np.asarray(np.sign(scores[:, -1] - scores[:, 0]))


_WESTERN, _NELSON = "Western Electric 1956", "Nelson 1984"

RULES: Mapping[str, Rule] = {
    rule.name: rule
    for rule in (
        Rule(
            "beyond_limits",
            _WESTERN,
            1,
            "{Side} the control limit: this board is unlike the others.",
            _beyond_three,
            _median_side,
        ),
        Rule(
            "two_of_three",
            _WESTERN,
            3,
            "Two of three boards far {side} your usual: likely a shift.",
            _two_of_three,
            _median_side,
        ),
        Rule(
            "four_of_five",
            _WESTERN,
            5,
            "Four of five boards well {side} your usual: likely a shift.",
            _four_of_five,
            _median_side,
        ),
        Rule(
            "one_side",
            _WESTERN,
            8,
            "{count} boards in a row {side} your usual: the level has shifted.",
            _one_side,
            _median_side,
        ),
        Rule(
            "trend",
            _NELSON,
            6,
            "{count} boards in a row, each {step} than the one before: a trend.",
            _trend,
            _step_side,
        ),
    )
}


def find_signals(scores: Floats, rules: Collection[str] = tuple(RULES)) -> list[Signal]:
    """Signals in (n,) `scores` (sigmas from the centre), by where they end. Raises ValueError for an unknown rule."""
    unknown = set(rules) - set(RULES)
    if unknown:
        raise ValueError(f"rules must be of {', '.join(RULES)}, got {', '.join(sorted(unknown))}")
    found = [signal for name in RULES if name in rules for signal in _signals_of(RULES[name], scores)]
    return sorted(found, key=lambda signal: (signal.last, signal.first))


def recurrences(signals: Sequence[Signal]) -> list[Recurrence]:
    """Signals, in the order of where they end, each told once with its repetitions; the latest first.

    Levels and trends are kinds of their own: a few boards that get better one after the other do not end a time in
    which all were worse than usual.
    """
    under_way: dict[bool, tuple[int, dict[str, list[Signal]]]] = {}
    found: list[list[Signal]] = []
    for signal in signals:
        kind = signal.rule == "trend"
        if kind not in under_way or under_way[kind][0] != signal.side:
            under_way[kind] = signal.side, {}
        own = under_way[kind][1].setdefault(signal.rule, [])
        if not own:
            found.append(own)
        own.append(signal)
    told = [Recurrence(tuple(own)) for own in found]
    return sorted(told, key=lambda one: (one.latest.last, one.latest.first), reverse=True)


def _signals_of(rule: Rule, scores: Floats) -> list[Signal]:
    if len(scores) < rule.span:
        return []
    windows = np.lib.stride_tricks.sliding_window_view(scores, rule.span)
    starts = np.flatnonzero(rule.fires(windows))
    if not len(starts):
        return []
    sides = rule.side_of(windows[starts])
    apart = np.flatnonzero((np.diff(starts) > _reach(rule)) | (np.diff(sides) != 0)) + 1
    groups = zip(np.split(starts, apart), np.split(sides, apart), strict=True)
    return [_signal(rule, int(own[0]), int(own[-1]) + rule.span - 1, int(side[0])) for own, side in groups]


def _reach(rule: Rule) -> int:
    """How far apart the starts of two windows may lie to be told as one: neighbours, but for single points."""
    return 0 if rule.span == 1 else 1


def _signal(rule: Rule, first: int, last: int, side: int) -> Signal:
    where, step = ("above", "higher") if side > 0 else ("below", "lower")
    words = {"side": where, "Side": where.capitalize(), "step": step, "count": str(last - first + 1)}
    return Signal(rule.name, first, last, side, rule.meaning.format(**words))
