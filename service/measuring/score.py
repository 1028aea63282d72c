"""The check proved on photos whose truth is known."""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from service.measuring.cases import Case, score_each
from service.measuring.checking import CheckSettings, check_photo, measured_or_refused
from vision.answer.result import Report
from vision.score.scoring import PhotoScore, score_photo
from vision.score.tally import Tally, tally
from vision.score.truth import Truth
from vision.score.yardstick import measure_yardstick


@dataclass(frozen=True)
class Timing:
    """Seconds that one check took, decoding included, and that decoding and detecting the card alone took."""

    check_s: float
    yardstick_s: float

    @property
    def ratio(self) -> float:
        """How many times longer the check took."""
        return self.check_s / self.yardstick_s


@dataclass(frozen=True)
class Scored:
    """A folder's score, the timing of every measured photo, and the process's peak memory (MB; None if not told)."""

    tally: Tally
    timings: tuple[Timing, ...]
    peak_memory_mb: float | None
    faults: int

    def to_dict(self) -> dict[str, Any]:
        """The score as one JSON object."""
        ratios = [timing.ratio for timing in self.timings]
        return self.tally.to_dict() | {
            "time_ratio": {"median": float(np.median(ratios)), "worst": max(ratios)} if ratios else None,
            "seconds": float(np.median([timing.check_s for timing in self.timings])) if ratios else None,
            "peak_memory_mb": self.peak_memory_mb,
            "faults": self.faults,
        }


def score_cases(cases: list[Case[Truth]], settings: CheckSettings) -> Scored:
    """Check every case and score it, with progress on stderr; the truth's own wood is used unless one is told."""

    def score(case: Case[Truth]) -> tuple[PhotoScore, Timing | None]:
        return _score_case(case, replace(settings, species=settings.species or case.truth.species))

    scored, faults = score_each(cases, score)
    timings = tuple(timing for _, timing in scored if timing)
    return Scored(tally([score for score, _ in scored]), timings, _peak_memory_mb(), faults)


def _score_case(case: Case[Truth], settings: CheckSettings) -> tuple[PhotoScore, Timing | None]:
    start = time.perf_counter()
    result = measured_or_refused(case.photo, lambda photo: check_photo(photo, settings))
    check_s = time.perf_counter() - start
    score = score_photo(case.truth, result, settings.limits)
    if not isinstance(result, Report):
        return score, None
    yardstick = measure_yardstick(case.photo.read_bytes(), result.measurement.card.kind)
    return score, Timing(check_s, yardstick.total_s)


def _peak_memory_mb() -> float | None:
    """Most memory this process has held, all photos and the yardstick included; None where it cannot be told."""
    try:
        import resource
    except ImportError:
        return None
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1e6 if sys.platform == "darwin" else 1e3)
