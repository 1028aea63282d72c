"""What a repeatability study found, as one value and as JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calibration.study.gauge_study import GaugeStudy, Spread, study_gauge
from calibration.study.random_effects import Anova
from service.measuring.repeat_values import HALF_TAPER, TAPER, Value
from vision.joint.seating import Limits
from vision.joint.species import Group

SCHEMA = 1


@dataclass(frozen=True)
class QuantityStudy:
    """One quantity's study in its `unit`, and the limits (in that unit) it is held against: gap, then squeeze."""

    quantity: str
    unit: str
    study: GaugeStudy
    limits: Mapping[str, float]

    @property
    def tolerance(self) -> float | None:
        """Width of the zone between the two limits: tight on one side, loose on the other."""
        return sum(self.limits.values()) if self.limits else None


@dataclass(frozen=True)
class RepeatResult:
    """All quantities studied, and why the others could not be."""

    studied: tuple[QuantityStudy, ...]
    not_studied: Mapping[str, str]

    def to_dict(self) -> dict[str, Any]:
        """The result as one JSON object."""
        return {
            "schema": SCHEMA,
            "studies": [_study_dict(each) for each in self.studied],
            "not_studied": dict(self.not_studied),
        }


def study_values(values: Sequence[Value], limits: Limits, group: Group) -> RepeatResult:
    """Study every quantity by itself; a quantity that cannot carry a study is told with its reason."""
    studied, failed = [], {}
    for quantity in dict.fromkeys(value.quantity for value in values):
        own = [value for value in values if value.quantity == quantity]
        try:
            study = study_gauge([value.reading for value in own])
        except ValueError as error:
            failed[quantity] = str(error)
            continue
        studied.append(QuantityStudy(quantity, own[0].unit, study, _limits(quantity, limits, group)))
    return RepeatResult(tuple(studied), failed)


def _limits(quantity: str, limits: Limits, group: Group) -> dict[str, float]:
    """What the class accepts of a taper, mm: positive it shows as a gap, negative it squeezes."""
    if quantity not in (TAPER, HALF_TAPER):
        return {}
    return {"gap": limits.gap_mm, "squeeze": limits.squeeze_mm(group, "half" if quantity == HALF_TAPER else "full")}


def _study_dict(each: QuantityStudy) -> dict[str, Any]:
    study = each.study
    return {
        "quantity": each.quantity,
        "unit": each.unit,
        "parts": len(study.parts),
        "persons": list(study.persons),
        "readings": len(study.readings),
        "balanced": study.balanced,
        "repeatability": _spread_dict(study, study.repeatability),
        "reproducibility": _spread_dict(study, study.reproducibility),
        "gauge": _spread_dict(study, study.gauge),
        "parts_spread": _spread_dict(study, study.part),
        "total": _spread_dict(study, study.total),
        "distinct_categories": study.categories if study.gauge.sd else None,
        "percent_of_limit": {name: study.limit_percent(limit) for name, limit in each.limits.items()},
        "percent_of_tolerance": study.tolerance_percent(each.tolerance) if each.tolerance else None,
        "claimed_u95": study.claimed_u95,
        "realised_over_claimed": _ratio_list(study),
        "pooled": list(study.pooled),
        "anova": _anova_list(study.full),
        "outlying": [
            {"part": reading.part, "photo": reading.photo, "value": reading.value} for reading in study.outlying()
        ],
    }


def _spread_dict(study: GaugeStudy, spread: Spread | None) -> dict[str, float] | None:
    if spread is None:
        return None
    return {
        "sd": spread.sd,
        "dof": spread.dof,
        "u95": spread.u95,
        "percent_of_variance": study.contribution_percent(spread),
        "percent_of_total": study.total_percent(spread),
    }


def _ratio_list(study: GaugeStudy) -> list[float | None] | None:
    """Ratio, low and high end; JSON has no infinity, so an end without bound is None."""
    if study.claim_ratio is None:
        return None
    return [number if math.isfinite(number) else None for number in study.claim_ratio]


def _anova_list(anova: Anova) -> list[dict[str, Any]]:
    return [
        {
            "factor": row.name,
            "dof": row.dof,
            "sum_squares": row.sum_squares,
            "mean_square": row.mean_square,
            "f": row.f,
            "f_dof": row.f_dof,
            "p": row.p,
            "variance": anova.raw_variance(row.name),
        }
        for row in anova.rows
    ]
