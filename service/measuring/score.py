"""The check proved on photos whose truth is known."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from calibration.outcome import CannotMeasure, Refusal
from service.errors import UsageError, report_fault
from service.measuring.checking import CheckSettings, check_photo, load_photo
from service.measuring.score_drills import DrillCase, drill_case
from service.measuring.score_faces import FaceCase, face_case
from vision.answer.result import Report
from vision.score.scoring import PhotoScore, score_photo
from vision.score.tally import Tally, tally
from vision.score.truth import Truth, is_truth, truth_from_dict
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
class Case:
    """A photo with its truth."""

    photo: Path
    truth: Truth


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


def find_faces(folder: Path) -> list[FaceCase]:
    """The photos of faces with truths in `folder` and below. Raises UsageError when a truth is broken."""
    found = [face_case(path, _json(path)) for path in sorted(folder.rglob("*.json"))] if folder.is_dir() else []
    return [case for case in found if case is not None]


def find_drills(folder: Path) -> list[DrillCase]:
    """The photos of drill boards with truths in `folder` and below. Raises UsageError when a truth is broken."""
    found = [drill_case(path, _json(path)) for path in sorted(folder.rglob("*.json"))] if folder.is_dir() else []
    return [case for case in found if case is not None]


def find_cases(folder: Path, *, alone: bool = True) -> list[Case]:
    """The photos of ends with truths in `folder` and below.

    Raises UsageError when a truth is broken, or when there is none and they stand `alone`.
    """
    if not folder.is_dir():
        raise UsageError(f"there is no folder {folder}.")
    cases = list(_cases(folder))
    if not cases and alone:
        raise UsageError(
            f"no photo in {folder} has a truth file: for NAME.jpg that is NAME.json beside it, as"
            " sample_images/README.md has it."
        )
    return cases


def score_cases(cases: list[Case], *, species: str | None, card_side: Any = "show") -> Scored:
    """Check every case and score it, with progress on stderr; the truth's own wood is used unless one is named."""
    scores: list[PhotoScore] = []
    timings: list[Timing] = []
    faults = 0
    for number, case in enumerate(cases, start=1):
        print(f"[{number}/{len(cases)}] {case.photo.name}", file=sys.stderr, flush=True)
        settings = CheckSettings(species=species or case.truth.species, card_side=card_side)
        try:
            score, timing = _score_case(case, settings)
        except Exception as error:
            faults += bool(report_fault(error, case.photo.name))
            continue
        scores.append(score)
        timings += [timing] if timing else []
    return Scored(tally(scores), tuple(timings), _peak_memory_mb(), faults)


def _score_case(case: Case, settings: CheckSettings) -> tuple[PhotoScore, Timing | None]:
    start = time.perf_counter()
    result = _result(case.photo, settings)
    check_s = time.perf_counter() - start
    score = score_photo(case.truth, result, settings.limits)
    if not isinstance(result, Report):
        return score, None
    yardstick = measure_yardstick(case.photo.read_bytes(), result.measurement.card.kind)
    return score, Timing(check_s, yardstick.total_s)


def _result(photo: Path, settings: CheckSettings) -> Report | Refusal:
    try:
        return check_photo(load_photo(photo), settings)
    except CannotMeasure as error:
        return error.refusal


def _cases(folder: Path) -> Iterator[Case]:
    for path in sorted(folder.rglob("*.json")):
        data = _json(path)
        if not is_truth(data):
            continue
        try:
            truth = truth_from_dict(data)
        except ValueError as error:
            raise UsageError(f"{path}: {error}.") from error
        yield Case(path.with_name(Path(truth.photo).name), truth)


def _json(path: Path) -> Any:
    """The file's JSON value; None for a file that is not JSON, which then is no truth."""
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None


def _peak_memory_mb() -> float | None:
    """Most memory this process has held, all photos and the yardstick included; None where it cannot be told."""
    try:
        import resource
    except ImportError:
        return None
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1e6 if sys.platform == "darwin" else 1e3)
