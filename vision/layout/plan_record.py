"""Kept plans as versioned data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from calibration.kept_format import in_known_format
from vision.layout.plan import Plan

FORMAT = 1
"""Version of the file of kept plans. Every version ever written stays readable."""
_NO_PLANS = "these are not kept plans"


def plans_to_dict(plans: Mapping[str, Plan]) -> dict[str, Any]:
    """The file of kept plans as data for JSON."""
    return {"format": FORMAT, "plans": {name: _plan_to_dict(plans[name]) for name in sorted(plans)}}


def plans_from_dict(data: object) -> dict[str, Plan]:
    """The kept plans by name. Raises NewerFormatError, or ValueError when the data are not kept plans."""
    plans = in_known_format(data, FORMAT, _NO_PLANS).get("plans")
    if not isinstance(plans, dict):
        raise ValueError(_NO_PLANS)
    return {name: _plan_from_dict(name, each) for name, each in plans.items()}


def _plan_to_dict(plan: Plan) -> dict[str, Any]:
    return {key: value for key, value in asdict(plan).items() if key != "name"}


def _plan_from_dict(name: str, data: Mapping[str, Any]) -> Plan:
    try:
        return Plan(**data, name=name)
    except TypeError as error:
        raise ValueError(f"the plan {name!r} is damaged") from error
