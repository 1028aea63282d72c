"""`check --plan` and `check --layout`: what they add to the answer of a check."""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from calibration.quantity import Quantity
from service.answers.layout_text import layout_text
from service.answers.plan_text import plan_check_text
from service.kept.data_folder import data_folder
from service.kept.plan_store import PlanStore, plan_named
from service.kept.rules_store import rules_in_use
from vision.answer.result import Report
from vision.answer.words import Units
from vision.joint.strength import strength_of
from vision.layout.plan import Plan
from vision.layout.plan_check import PlanCheck, check_plan
from vision.layout.review import Review, review_layout
from vision.layout.rules import Rule
from vision.layout.shape import shape_of


@dataclass(frozen=True)
class LayoutAsked:
    """What was asked for: the plan to hold the end against, the rules to review it by; None for not asked."""

    plan: Plan | None
    rules: tuple[Rule, ...] | None
    line_limit_mm: float
    depth_mm: float | None
    units: Units

    def plan_check(self, report: Report) -> PlanCheck | None:
        """The end against its plan."""
        return None if self.plan is None else check_plan(report.measurement, self.plan, self.line_limit_mm)

    def review(self, report: Report, slopes: Sequence[Quantity] = ()) -> Review | None:
        """The trade's remarks on the layout; `slopes` (run over rise) of the walls where a face was measured."""
        if self.rules is None:
            return None
        planned = self.plan
        depth_mm = self.depth_mm or (planned.depth_mm if planned else None)
        slope = planned.slope if planned else None
        shape = shape_of(report.measurement, depth_mm=depth_mm, slopes=slopes, planned_slope=slope)
        return review_layout(shape, strength_of(report.prediction.species.name), self.rules, self.units)

    def added_to(self, value: dict[str, Any], report: Report) -> dict[str, Any]:
        """The report's JSON with what was asked for."""
        added: dict[str, Any] = {}
        if (check := self.plan_check(report)) is not None:
            added["plan"] = check.to_dict()
            if check.lines:
                walls = zip(value["walls"], check.lines, strict=True)
                added["walls"] = [wall | {"plan": line.to_dict()} for wall, line in walls]
        if (review := self.review(report)) is not None:
            added["layout"] = review.to_dict()
        return value | added

    def shown(self, report: Report) -> list[str]:
        """What was asked for, as blocks of text."""
        check, review = self.plan_check(report), self.review(report)
        blocks = [] if check is None else [plan_check_text(check, self.units)]
        return blocks if review is None else [*blocks, layout_text(review, self.units)]


def asked_by(options: argparse.Namespace) -> LayoutAsked:
    """What the command line asks for. Raises UsageError when a plan is not kept or the rules cannot be read."""
    folder = data_folder(options.data, os.environ)
    plan = None if options.plan is None else plan_named(options.plan, PlanStore(folder))
    wanted = options.layout or options.rules is not None
    rules = rules_in_use(options.rules, folder) if wanted else None
    return LayoutAsked(plan, rules, options.line_limit, options.baseline_depth, options.units)
