"""Limits fitted to one person's own results: the gap from which joints came loose, the squeeze that split them.

Logistic regression of the outcome on the number as it was measured, which is also how the next one will be known. Weak
normal priors (2.5 wide on the logit scale, as Gelman and others 2008 suggest for their Cauchy) keep it finite where the
two kinds do not overlap. It is shown beside the policy and never applied by itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from calibration.study.student import student
from service.practice.entries import DrivenBoard, PracticeBoard
from service.practice.estimates import CONFIDENCE
from service.practice.say import amount, counted
from vision.answer.words import Units

Floats = NDArray[np.float64]
What = Literal["gap", "squeeze"]

NEEDED = 5
"""Outcomes of either kind: five for each thing estimated (Vittinghoff and McCulloch 2007, American Journal of
Epidemiology 165: 5 to 9 events per variable are seldom worse than 10)."""
PRIOR_WIDTH = 2.5
_STEPS, _CLOSE = 50, 1e-10
_WORDS: dict[What, tuple[str, str]] = {"gap": ("loose", "tight enough"), "squeeze": ("split", "whole")}


@dataclass(frozen=True)
class LogisticFit:
    """logit P = at_policy + slope z, z = (mm - policy) / policy: (2,) coefficients and their (2, 2) covariance."""

    coefficients: Floats
    covariance: Floats

    @property
    def crossing(self) -> float:
        """z at which the chance is one half."""
        return float(-self.coefficients[0] / self.coefficients[1])

    def crossing_interval(self) -> tuple[float, float] | None:
        """Fieller's (1954) 95 % interval of the crossing; None where the slope is not firmly above zero."""
        (a, b), v = self.coefficients, self.covariance
        t2 = student(CONFIDENCE, math.inf) ** 2
        square, middle, rest = b * b - t2 * v[1, 1], -(a * b - t2 * v[0, 1]), a * a - t2 * v[0, 0]
        if square <= 0.0 or b <= 0.0:
            return None
        root = math.sqrt(max(middle * middle - square * rest, 0.0))
        return float((middle - root) / square), float((middle + root) / square)


@dataclass(frozen=True)
class OwnLimit:
    """A person's own limit beside the policy's, mm; None where there are too few outcomes or they show no limit."""

    what: What
    policy_mm: float
    bad: int
    good: int
    limit_mm: float | None = None
    low_mm: float | None = None
    high_mm: float | None = None

    @property
    def missing(self) -> tuple[int, int]:
        """How many more bad and good outcomes are needed."""
        return max(NEEDED - self.bad, 0), max(NEEDED - self.good, 0)

    def sentence(self, units: Units = "mm") -> str:
        """The limit beside the policy, or what is missing."""
        bad_word, good_word = _WORDS[self.what]
        if any(self.missing):
            return self._missing_sentence(bad_word, good_word)
        if self.limit_mm is None or self.low_mm is None or self.high_mm is None:
            return (
                f"Your {counted(self.bad + self.good, 'result')} do not show from which {self.what} on joints come out"
                f" {bad_word}: the policy of {amount(self.policy_mm, 'mm', units)} stays the only limit."
            )
        low, high = (amount(max(end, 0.0), "mm", units) for end in (self.low_mm, self.high_mm))
        return (
            f"By your own results half of the joints come out {bad_word} at a {self.what} of"
            f" {amount(self.limit_mm, 'mm', units)} (95 % interval {low} to {high}); the policy says"
            f" {amount(self.policy_mm, 'mm', units)}. It is shown for comparison and changes no verdict."
        )

    def to_dict(self) -> dict[str, Any]:
        """For a page."""
        return {**vars(self), "missing": list(self.missing), "sentence": self.sentence()}

    def _missing_sentence(self, bad_word: str, good_word: str) -> str:
        pairs = zip(self.missing, (bad_word, good_word), strict=True)
        wanted = " and ".join(f"{counted(number, 'more pin')} that came out {word}" for number, word in pairs if number)
        caution = " Do not split wood to get there." if self.what == "squeeze" and self.missing[0] else ""
        return f"No limit of your own for {self.what} yet: it takes {wanted}.{caution}"


def own_limit(boards: Sequence[PracticeBoard | DrivenBoard], what: What) -> OwnLimit | None:
    """One person's limit for `what`, from driven sockets; None if none has been driven.

    Sockets with several policies (half pins take half the squeeze) are put on one scale, size over policy, and told at
    the policy of a full pin, the largest.
    """
    cases = [case for board in boards for case in _cases(board, what)]
    if not cases:
        return None
    size, policy, bad = (np.array(column, float) for column in zip(*cases, strict=True))
    counts = OwnLimit(what, float(policy.max()), int(bad.sum()), int((1.0 - bad).sum()))
    return counts if any(counts.missing) else _fitted(counts, size / policy - 1.0, bad)


def fit_logistic(z: Floats, bad: Floats) -> LogisticFit:
    """Most probable coefficients under normal priors about zero, by Newton's method (the posterior is log-concave)."""
    design = np.column_stack([np.ones_like(z), z])
    precision = np.eye(2) / PRIOR_WIDTH**2
    beta = np.zeros(2)
    for _ in range(_STEPS):
        chance = _logistic(design @ beta)
        gradient = design.T @ (bad - chance) - precision @ beta
        step = np.asarray(np.linalg.solve(_information(design, chance, precision), gradient), float)
        beta = beta + _damped(step, beta, design, bad, precision)
        if abs(step).max() < _CLOSE:
            break
    covariance = np.asarray(np.linalg.inv(_information(design, _logistic(design @ beta), precision)), float)
    return LogisticFit(beta, covariance)


def _cases(board: PracticeBoard | DrivenBoard, what: What) -> list[tuple[float, float, bool]]:
    """Size, policy (mm) and whether it went wrong, for every driven socket that tells something of it.

    A split socket says nothing of gaps, and a loose one had no squeeze to take.
    """
    driven = [socket for socket in board.sockets if socket.fit in ("seated", "loose", "split")]
    if what == "gap":
        return [(s.gap_mm, s.gap_limit_mm, s.fit == "loose") for s in driven if s.fit != "split"]
    return [
        (s.squeeze_mm, s.squeeze_limit_mm, s.fit == "split") for s in driven if s.squeeze_limit_mm and s.fit != "loose"
    ]


def _fitted(counts: OwnLimit, z: Floats, bad: Floats) -> OwnLimit:
    fit = fit_logistic(z, bad)
    interval = fit.crossing_interval()
    if interval is None:
        return counts
    limit, low, high = (counts.policy_mm * (1.0 + end) for end in (fit.crossing, *interval))
    return OwnLimit(counts.what, counts.policy_mm, counts.bad, counts.good, limit, low, high)


def _logistic(logit: Floats) -> Floats:
    return np.asarray(0.5 * (1.0 + np.tanh(0.5 * logit)))


def _information(design: Floats, chance: Floats, precision: Floats) -> Floats:
    return np.asarray((design * (chance * (1.0 - chance))[:, None]).T @ design + precision)


def _log_posterior(beta: Floats, design: Floats, bad: Floats, precision: Floats) -> float:
    logit = design @ beta
    return float(bad @ logit - np.logaddexp(0.0, logit).sum() - 0.5 * beta @ precision @ beta)


def _damped(step: Floats, beta: Floats, design: Floats, bad: Floats, precision: Floats) -> Floats:
    """The step, halved until it does not lose ground: Newton's method alone can overshoot."""
    here = _log_posterior(beta, design, bad, precision)
    while abs(step).max() > _CLOSE and _log_posterior(beta + step, design, bad, precision) < here:
        step = step / 2.0
    return step
