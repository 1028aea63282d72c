"""`--plan` and `--layout`: what they add to the answer of a check, and to that of a board."""

from __future__ import annotations

import argparse
import os
from dataclasses import dataclass
from typing import Any

from calibration.quantity import Quantity
from service.answers.layout_text import layout_text
from service.answers.plan_text import deep_plan_text, plan_check_text
from service.kept.data_folder import data_folder
from service.kept.plan_store import PlanStore, plan_named
from service.kept.rules_store import rules_in_use
from vision.answer.result import Report
from vision.answer.words import Units
from vision.board.judge import BoardReport
from vision.board.walls import BoardShape
from vision.end.report import Measurement
from vision.joint.strength import strength_of
from vision.layout.plan import Plan
from vision.layout.plan_check import LINE_LIMIT_MM, PlanCheck, check_plan
from vision.layout.plan_in_depth import PlanInDepth, check_in_depth
from vision.layout.review import Review, review_layout
from vision.layout.rules import Rule
from vision.layout.shape import shape_of


@dataclass(frozen=True)
class Subject:
    """What a layout is reviewed by: the measured end, its wood and, where faces were measured, the board in depth."""

    measurement: Measurement
    wood: str
    shape: BoardShape | None = None

    @property
    def slopes(self) -> list[Quantity]:
        """The walls' slopes (run over rise) in the middle of the thickness, where faces were measured."""
        return [] if self.shape is None else [wall.slope_at(wall.thickness_mm / 2.0) for wall in self.shape.walls]

    @classmethod
    def of_end(cls, report: Report) -> Subject:
        """The subject of one photo's check."""
        return cls(report.measurement, report.prediction.species.name)

    @classmethod
    def of_board(cls, report: BoardReport) -> Subject:
        """The subject of end and faces together."""
        return cls(report.end_of_all, report.joint.prediction.species.name, report.shape)


@dataclass(frozen=True)
class LayoutAsked:
    """What was asked for: the plan to hold the end against, the rules to review it by; None for not asked."""

    plan: Plan | None
    rules: tuple[Rule, ...] | None
    line_limit_mm: float
    depth_mm: float | None
    units: Units

    def plan_check(self, subject: Subject) -> PlanCheck | None:
        """The end against its plan."""
        return None if self.plan is None else check_plan(subject.measurement, self.plan, self.line_limit_mm)

    def plan_in_depth(self, subject: Subject) -> PlanInDepth | None:
        """The board below its end against its plan, when faces were measured and its tails are those of the plan."""
        if self.plan is None or subject.shape is None or len(subject.shape.walls) != 2 * self.plan.tails:
            return None
        return check_in_depth(subject.shape, self.plan, self.line_limit_mm)

    def review(self, subject: Subject) -> Review | None:
        """The trade's remarks on the layout."""
        if self.rules is None:
            return None
        slope = self.plan.slope if self.plan else None
        shape = shape_of(subject.measurement, depth_mm=self._depth(subject), slopes=subject.slopes, planned_slope=slope)
        return review_layout(shape, strength_of(subject.wood), self.rules, self.units)

    def _depth(self, subject: Subject) -> Quantity | float | None:
        """The baseline's depth as it was told, as the faces show it, or as it was planned."""
        if self.depth_mm is not None or subject.shape is not None:
            return self.depth_mm if subject.shape is None else subject.shape.depth
        return self.plan.depth_mm if self.plan else None

    def on_board(self, subject: Subject) -> dict[str, Any]:
        """The objects `plan` and `layout` of the result JSON, as far as they were asked for."""
        check, deep, review = self.plan_check(subject), self.plan_in_depth(subject), self.review(subject)
        added = {} if check is None else {"plan": check.to_dict() | (deep.to_dict() if deep else {})}
        return added if review is None else added | {"layout": review.to_dict()}

    def on_walls(self, walls: list[dict[str, Any]], subject: Subject) -> list[dict[str, Any]]:
        """The walls of the result JSON with their lines' `plan` in them."""
        check, deep = self.plan_check(subject), self.plan_in_depth(subject)
        if check is None or not check.lines:
            return walls
        below = [line.to_dict() for line in deep.lines] if deep else [{}] * len(walls)
        lines = zip(walls, check.lines, below, strict=True)
        return [wall | {"plan": line.to_dict() | under} for wall, line, under in lines]

    def shown(self, subject: Subject) -> list[str]:
        """What was asked for, as blocks of text."""
        check, deep, review = self.plan_check(subject), self.plan_in_depth(subject), self.review(subject)
        blocks = [] if check is None else [plan_check_text(check, self.units)]
        blocks += [] if deep is None else [deep_plan_text(deep, self.units)]
        return blocks if review is None else [*blocks, layout_text(review, self.units)]


def asked_by(options: argparse.Namespace) -> LayoutAsked:
    """What the command line asks for. Raises UsageError when a plan is not kept or the rules cannot be read."""
    folder = data_folder(options.data, os.environ)
    plan = None if options.plan is None else plan_named(options.plan, PlanStore(folder))
    wanted = options.layout or options.rules is not None
    rules = rules_in_use(options.rules, folder) if wanted else None
    return LayoutAsked(plan, rules, options.line_limit or LINE_LIMIT_MM, options.baseline_depth, options.units)


def end_with_layout(value: dict[str, Any], report: Report, asked: LayoutAsked) -> dict[str, Any]:
    """A check's JSON with what was asked for."""
    subject = Subject.of_end(report)
    return value | {"walls": asked.on_walls(value["walls"], subject)} | asked.on_board(subject)


def board_with_layout(value: dict[str, Any], report: BoardReport, asked: LayoutAsked) -> dict[str, Any]:
    """A board's JSON with what was asked for."""
    subject, deep = Subject.of_board(report), value["in_depth"]
    return value | {"in_depth": deep | {"walls": asked.on_walls(deep["walls"], subject)}} | asked.on_board(subject)
