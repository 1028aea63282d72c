"""An end held against the plan that its board names, in the result JSON and as sentences and a table for a page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from service.errors import UsageError
from service.kept.plan_store import PlanStore
from vision.answer.words import Units
from vision.layout.plan import Plan
from vision.layout.plan_check import PlanCheck
from vision.layout.plan_words import check_row, check_sentences, plan_sentence


def kept_plan(name: str, data: Path) -> Plan | None:
    """The plan kept under that name in the folder; None for any other text that a person wrote there."""
    try:
        return PlanStore(data).get(name) if name else None
    except UsageError:  # told beside the answer
        return None


def with_plan(result: dict[str, Any], check: PlanCheck) -> dict[str, Any]:
    """The result JSON as `tailproof check --plan` prints it."""
    if not check.lines:
        return result | {"plan": check.to_dict()}
    walls = [wall | {"plan": line.to_dict()} for wall, line in zip(result["walls"], check.lines, strict=True)]
    return result | {"walls": walls, "plan": check.to_dict()}


def plan_words(check: PlanCheck, units: Units) -> dict[str, Any]:
    """What the plan is, what is told of the end beside it, and a row for every line."""
    names = ("name", "intended", "off_show", "off_transfer", "course")
    rows = [dict(zip(names, check_row(line, units), strict=True)) for line in check.lines]
    return {"plan": plan_sentence(check.plan, units), "said": check_sentences(check, units), "lines": rows}
