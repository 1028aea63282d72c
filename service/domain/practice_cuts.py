"""A measured board of practice cuts as log and charts take it: what its cuts say together."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from statistics import fmean
from typing import Any, get_args

from calibration.quantity import COVERAGE_FACTOR
from vision.drill.review import Advice

WORK_ON: tuple[str, ...] = get_args(Advice)
"""What practice cuts may say to work on."""


@dataclass(frozen=True)
class CutFigures:
    """The mean of the leans off what was meant and their standard deviation, degrees; not a number for a single cut.

    `u` are the standard uncertainties that measuring alone leaves: of the mean whatever the cuts' errors have in
    common, of the standard deviation what every cut has for itself.
    """

    mean_deg: float
    mean_u_deg: float
    sd_deg: float
    sd_u_deg: float


@dataclass(frozen=True)
class LoggedCuts:
    """A board of practice cuts, by its newest measured photo."""

    identity: str
    name: str
    created: datetime
    figures: CutFigures

    @property
    def date(self) -> date:
        """The day it was begun, in UTC."""
        return self.created.date()


def figures_of(result: Mapping[str, Any]) -> CutFigures:
    """The figures of a result JSON. Raises KeyError, TypeError or ValueError for one that is damaged."""
    drill = result["drill"]
    if drill["work_on"] not in WORK_ON:
        raise ValueError("nothing that practice cuts say to work on")
    mean, spread = drill["mean_lean_deg"], drill["spread_deg"]
    u_deg = fmean(float(cut["lean_u95_deg"]) for cut in drill["cuts"]) / COVERAGE_FACTOR
    if mean is None or spread is None:
        return CutFigures(math.nan, u_deg, math.nan, math.nan)
    return CutFigures(float(mean["value"]), u_deg, float(spread["sd"]), float(spread["measuring"]))
