"""What a row of practice cuts says of the sawyer: bias, spread, drift, left against right, bow; and what to work on.

Each is told only as far as its uncertainty carries it. The one to work on is the one that is largest for certain, in
millimetres over the thickness: a drift by how far it takes the first and the last cut from the mean, a difference of
the sides by how far it takes either. Five are looked at, so each is held against its 99 % interval: that a sentence
wrongly blames any of them then happens in one row of twenty at most (Bonferroni).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Quantity
from vision.drill.report import DrillCut
from vision.drill.statistics import Estimate, Fit, Spread, estimate, mean_fit, own_u

Floats = NDArray[np.float64]
Aspect = Literal["bias", "spread", "drift", "sides", "straightness"]
Advice = Literal["bias", "spread", "drift", "sides", "straightness", "nothing", "more cuts", "better photo"]

ASPECTS: tuple[Aspect, ...] = ("bias", "spread", "drift", "sides", "straightness")
JUDGED_AT = 1.0 - (1.0 - 0.95) / len(ASPECTS)
"""Confidence at which each of the five is judged, so that all five together are judged at 95 %."""
WORTH_WORK_MM = 0.05
"""From what error over the thickness on work is worth while: half the gap that is seen at arm's length, since a socket
has two walls (common practice, no source)."""
FEWEST_CUTS = 5
"""Fewer cuts leave Student's factor so large that hardly anything can be told."""


@dataclass(frozen=True)
class Size:
    """One aspect in mm over the thickness: what is certain of it, and what is possible."""

    firm_mm: float
    possible_mm: float


@dataclass(frozen=True)
class DrillReview:
    """The statistics of one drill; None where there are too few cuts for one.

    All in degrees of deviation from the intended lean, positive to the right, but for `bow` (mm). `bias` is the mean,
    `spread` the standard deviation about it. `drift` is the change from one cut to the next in the order cut, and
    `sides` is how much farther right the cuts meant for the right deviate than those meant for the left, each allowing
    for the other; `scatter` is the standard deviation that both leave. `neighbours_mm` are the distances from each cut
    to the next along the board, at mid thickness.
    """

    count: int
    thickness_mm: float
    bias: Estimate | None
    spread: Spread | None
    drift: Estimate | None
    sides: Estimate | None
    scatter: Spread | None
    bow: Estimate | None
    neighbours_mm: tuple[float, ...]

    def sizes(self) -> dict[Aspect, Size]:
        """Every aspect that there are cuts enough for."""
        found: dict[Aspect, Size | None] = {
            "bias": self._of(self.bias, 1.0),
            "spread": self._of_scatter(),
            "drift": self._of(self.drift, (self.count - 1) / 2.0),
            "sides": self._of(self.sides, 0.5),
            "straightness": None if self.bow is None else Size(self.bow.firm(JUDGED_AT), self.bow.possible(JUDGED_AT)),
        }
        return {aspect: size for aspect, size in found.items() if size is not None}

    @property
    def advice(self) -> Advice:
        """What to work on: the aspect that is largest for certain, if any is large enough to be worth it."""
        sizes = self.sizes()
        worst = max(sizes, key=lambda aspect: sizes[aspect].firm_mm, default=None)
        if worst is not None and sizes[worst].firm_mm > WORTH_WORK_MM:
            return worst
        if self.count >= FEWEST_CUTS and all(size.possible_mm <= WORTH_WORK_MM for size in sizes.values()):
            return "nothing"
        return "more cuts" if self.count < FEWEST_CUTS or self._more_cuts_help() else "better photo"

    @property
    def likeliest(self) -> Aspect | None:
        """The aspect that may be the largest; None without any."""
        sizes = self.sizes()
        return max(sizes, key=lambda aspect: sizes[aspect].possible_mm, default=None)

    def _more_cuts_help(self) -> bool:
        """Whether the aspect that may be the largest is open for want of cuts rather than of a better photo."""
        told = {"bias": self.bias, "drift": self.drift, "sides": self.sides, "straightness": self.bow}
        best = told.get(self.likeliest or "spread")
        return best is None or best.sample_share > 0.5

    def _of(self, found: Estimate | None, times: float) -> Size | None:
        if found is None:
            return None
        return Size(*(self._over_thickness(times * deg) for deg in (found.firm(JUDGED_AT), found.possible(JUDGED_AT))))

    def _of_scatter(self) -> Size | None:
        spread = self.scatter or self.spread
        return None if spread is None else Size(*map(self._over_thickness, spread.own_interval(JUDGED_AT)))

    def _over_thickness(self, lean_deg: float) -> float:
        """What a lean makes over the thickness, mm; beyond a right angle there is no more."""
        return self.thickness_mm * math.tan(math.radians(min(lean_deg, 89.0)))


def review_drill(cuts: Sequence[DrillCut], thickness_mm: float) -> DrillReview:
    """The statistics of `cuts`, given in the order cut."""
    deviations = [cut.deviation for cut in cuts]
    values = np.array([deviation.value for deviation in deviations])
    noise = float(np.sqrt(np.mean([own_u(deviation) ** 2 for deviation in deviations])))
    drift, sides, scatter = _trends(cuts, deviations, values, noise)
    bias, spread = _mean(deviations, noise)
    bow, _ = _mean([Quantity(cut.bow_mm) for cut in cuts], 0.0)
    places = np.sort([cut.x_mid_mm for cut in cuts])
    return DrillReview(
        len(cuts), thickness_mm, bias, spread, drift, sides, scatter, bow, tuple(np.diff(places).tolist())
    )


def _mean(values: Sequence[Quantity], noise: float) -> tuple[Estimate | None, Spread | None]:
    """Mean and standard deviation; neither of a single value."""
    if len(values) < 2:
        return None, None
    fit = mean_fit(np.array([value.value for value in values]))
    return estimate(fit.weights[0], values, fit.sd, fit.freedom), Spread(fit.sd, fit.freedom, noise)


def _trends(
    cuts: Sequence[DrillCut], deviations: Sequence[Quantity], values: Floats, noise: float
) -> tuple[Estimate | None, Estimate | None, Spread | None]:
    """Drift and difference of the sides, each allowing for the other, and the scatter that is left."""
    turns = np.array([cut.turn for cut in cuts], float)
    columns, names = [np.ones(len(cuts)), turns - turns.mean()], ["mean", "drift"]
    meant = np.array([{"left": -0.5, "right": 0.5}.get(cut.intent.side or "", 0.0) for cut in cuts])
    if min((meant < 0).sum(), (meant > 0).sum()) >= 2:
        columns.append(meant - meant.mean())
        names.append("sides")
    if len(cuts) <= len(columns):
        return None, None, None
    fit = Fit.of(np.column_stack(columns), values)
    found = {name: estimate(row, deviations, fit.sd, fit.freedom) for name, row in zip(names, fit.weights, strict=True)}
    return found["drift"], found.get("sides"), Spread(fit.sd, fit.freedom, noise)
