"""Kept plans as versioned data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from calibration.prints.record import NewerFormatError
from vision.layout.plan import Plan

FORMAT = 1
"""Version of the file of kept plans. Every version ever written stays readable."""


def plans_to_dict(plans: Mapping[str, Plan]) -> dict[str, Any]:
    """The file of kept plans as data for JSON."""
    return {"format": FORMAT, "plans": {name: _plan_to_dict(plans[name]) for name in sorted(plans)}}


def plans_from_dict(data: object) -> dict[str, Plan]:
    """The kept plans by name. Raises NewerFormatError, or ValueError when the data are not kept plans."""
    if not isinstance(data, dict) or not isinstance(data.get("format"), int):
        raise ValueError("these are not kept plans")
    if data["format"] > FORMAT:
        raise NewerFormatError(f"kept in format {data['format']}, this version of the program reads up to {FORMAT}")
    if not isinstance(data.get("plans"), dict):
        raise ValueError("these are not kept plans")
    return {name: _plan_from_dict(name, each) for name, each in data["plans"].items()}


def _plan_to_dict(plan: Plan) -> dict[str, Any]:
    return {key: value for key, value in asdict(plan).items() if key != "name"}


def _plan_from_dict(name: str, data: Mapping[str, Any]) -> Plan:
    try:
        return Plan(**data, name=name)
    except TypeError as error:
        raise ValueError(f"the plan {name!r} is damaged") from error
