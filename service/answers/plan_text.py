"""A plan, and an end held against its plan, for the terminal."""

from __future__ import annotations

from service.answers.table import length_unit, paragraphs, table_text
from vision.answer.words import Units
from vision.layout.plan import Plan
from vision.layout.plan_check import PlanCheck
from vision.layout.plan_in_depth import PlanInDepth
from vision.layout.plan_words import (
    check_row,
    check_sentences,
    deep_row,
    depth_sentence,
    line_row,
    part_row,
    plan_sentence,
    step_sentences,
)


def plan_text(plan: Plan, units: Units = "mm") -> str:
    """Every line's place, every part's width, and how to step it off."""
    unit = length_unit(units)
    columns = (f"end {unit}", "baseline")
    lines = table_text(("Line, from the left edge", *columns), [line_row(line, units) for line in plan.lines])
    parts = table_text(("Width", *columns), [part_row(plan, part, units) for part in plan.parts])
    blocks = (paragraphs([plan_sentence(plan, units)]), "\n".join(lines), "\n".join(parts))
    return "\n\n".join([*blocks, paragraphs(step_sentences(plan, units))])


def plan_check_text(check: PlanCheck, units: Units = "mm") -> str:
    """Measured minus intended for every line, and what the saw did."""
    unit = length_unit(units)
    heading = f"Plan {check.plan.name!r}: measured minus intended ({unit}, positive to the right), from the left edge."
    head = ("Line", "intended", "off at show", "off at transfer", "the saw")
    rows = table_text(head, [check_row(line, units) for line in check.lines], left=(0, 4)) if check.lines else []
    blocks = (paragraphs([heading]), "\n".join(rows), paragraphs(check_sentences(check, units)))
    return "\n\n".join(block for block in blocks if block)


def deep_plan_text(check: PlanInDepth, units: Units = "mm") -> str:
    """Measured minus intended at the baseline for every line, and the slopes."""
    heading = f"At the baseline, measured minus intended ({length_unit(units)}; slopes as run over rise)."
    head = ("Line", "off at show", "off at transfer", "slope off", "the saw")
    rows = table_text(head, [deep_row(line, units) for line in check.lines], left=(0, 4))
    return "\n\n".join([paragraphs([heading]), "\n".join(rows), paragraphs([depth_sentence(check.depth_off, units)])])
