"""Run chart: values over time, their median, and whether they fall about it as by chance.

Rules of Anhoej and Olesen (2014), PLoS ONE 9(11), e113825: of n useful values (those not on the median), the longest
run on one side should not exceed round(log2(n) + 3), and the median should not be crossed more seldom than the 5 %
quantile of the binomial distribution (n - 1, 1/2). They need no normal distribution, and hold from about ten values on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FEWEST = 10
"""Useful values below which neither rule says anything (Anhoej and Olesen 2014)."""
CROSSINGS_TAIL = 0.05


@dataclass(frozen=True)
class RunChart:
    """Median, and runs about it: `useful` values off the median, in `runs` runs, the longest being `longest` long.

    `longest_limit` and `fewest_crossings` are what chance allows; None with fewer than ten useful values.
    """

    median: float
    useful: int
    runs: int
    longest: int
    longest_limit: int | None
    fewest_crossings: int | None

    @property
    def crossings(self) -> int:
        """How often the line crosses the median."""
        return max(self.runs - 1, 0)

    @property
    def long_run(self) -> bool:
        """A run longer than chance allows: the level has shifted."""
        return self.longest_limit is not None and self.longest > self.longest_limit

    @property
    def few_crossings(self) -> bool:
        """Fewer crossings than chance allows: the level wanders."""
        return self.fewest_crossings is not None and self.crossings < self.fewest_crossings

    @property
    def signal(self) -> bool:
        """Whether something has changed beyond chance, by these two rules."""
        return self.long_run or self.few_crossings

    @property
    def sentence(self) -> str:
        """What the chart says, in plain words."""
        if self.longest_limit is None:
            return f"{self.useful} values off the median so far; runs can be judged from {FEWEST} on."
        if self.long_run:
            return (
                f"{self.longest} boards in a row lie on one side of your median; chance alone seldom makes more than"
                f" {self.longest_limit}. Something changed."
            )
        if self.few_crossings:
            return (
                f"The line crosses your median {self.crossings} times; chance alone would make it at least"
                f" {self.fewest_crossings}. Your level is drifting."
            )
        return "By the runs about your median nothing has changed beyond chance."

    def to_dict(self) -> dict[str, Any]:
        """For a chart on a page."""
        return {
            "median": self.median,
            "useful": self.useful,
            "runs": self.runs,
            "longest": self.longest,
            "longest_limit": self.longest_limit,
            "fewest_crossings": self.fewest_crossings,
            "signal": self.signal,
            "sentence": self.sentence,
            "source": "Anhoej and Olesen 2014",
        }


def run_chart(values: Floats) -> RunChart:
    """The run chart of (n,) `values` in time order. Raises ValueError for none."""
    if len(values) == 0:
        raise ValueError("values must not be empty")
    median = float(np.median(values))
    above = (values > median)[values != median]
    lengths = run_lengths(above)
    useful, longest = len(above), int(lengths.max(initial=0))
    limits = (longest_run_limit(useful), fewest_crossings(useful)) if useful >= FEWEST else (None, None)
    return RunChart(median, useful, len(lengths), longest, *limits)


def run_lengths(flags: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Lengths of the stretches of equal flags, in order."""
    if len(flags) == 0:
        return np.zeros(0, np.int64)
    ends = np.flatnonzero(np.append(flags[1:] != flags[:-1], True))
    return np.diff(ends, prepend=-1)


def longest_run_limit(useful: int) -> int:
    """The longest run about the median that chance makes of so many values."""
    return round(math.log2(useful) + 3)


def fewest_crossings(useful: int) -> int:
    """The fewest crossings of the median that chance makes of so many values."""
    return _half_binomial_quantile(CROSSINGS_TAIL, useful - 1)


def _half_binomial_quantile(probability: float, trials: int) -> int:
    """Smallest count of heads, in `trials` throws of a fair coin, that has at least `probability` at or below it."""
    from scipy.special import bdtrik

    return max(0, math.ceil(float(bdtrik(probability, trials, 0.5)) - 1e-9)) if trials else 0
