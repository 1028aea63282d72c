"""How long the log's statistics take: `python -m tests.service.practice.benchmark`.

Ends with a non-zero status when 5000 boards of one person take longer than 0.2 s of the processor's time, the best of
five runs, or when ten times the boards take much more than ten times as long.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence

import numpy as np

from service.practice.columns import columns_of
from service.practice.comparing import all_comparisons
from service.practice.entries import PracticeBoard
from service.practice.findings import what_next
from service.practice.trend import all_trends
from tests.service.practice.builders import Sawyer, boards_of

BOARDS, LIMIT_S = 5000, 0.2
LINEAR = 15.0
"""Times as long for ten times the boards: ten, and half as much again for caches and chance."""


def charts(boards: Sequence[PracticeBoard]) -> object:
    """Every trend as a page gets it."""
    return [trend.to_chart() for trend in all_trends(boards).values()]


def comparisons(boards: Sequence[PracticeBoard]) -> object:
    """Every comparison."""
    return all_comparisons(columns_of(boards))


def seconds(job: Callable[[Sequence[PracticeBoard]], object], boards: Sequence[PracticeBoard], runs: int = 5) -> float:
    """The best of some runs."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        job(boards)
        times.append(time.process_time() - start)
    return min(times)


def main() -> int:
    boards = boards_of(Sawyer(), BOARDS, np.random.default_rng(1), species="oak", saw="dovetail saw")
    charts(boards[:50])
    missed = False
    for job in (charts, comparisons, what_next):
        few, many = seconds(job, boards[: BOARDS // 10]), seconds(job, boards)
        missed |= many > LIMIT_S or many > LINEAR * few
        print(f"{job.__name__:12} {BOARDS // 10} boards {1e3 * few:6.1f} ms, {BOARDS} boards {1e3 * many:6.1f} ms")
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
