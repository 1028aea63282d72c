"""`tailproof plan`: lay out an intended joint, draw it at full size, and keep it for checks to be held against."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from calibration.sheet.card_sheet import FileFormat, render_drawing
from service.answers.plan_text import plan_text
from service.commands.drawing_file import drawing_format, write_drawing
from service.errors import UsageError
from service.kept.data_folder import data_folder
from service.kept.plan_store import PlanStore, plan_named
from service.status import Status
from vision.layout.plan import Plan
from vision.layout.plan_drawing import draw_plan, fits_paper
from vision.layout.plan_words import plan_sentence

SIZES = ("width", "thickness", "half_pin", "pin")
"""The lengths that a new plan needs, beside the number of tails and the slope."""


def run_plan(options: argparse.Namespace) -> int:
    """Lay out, show, list or forget plans, as the command line asks. Raises UsageError."""
    store = PlanStore(data_folder(options.data, os.environ))
    if options.list:
        plans = store.list()
        print("\n".join(plan_sentence(plan, options.units) for plan in plans) or f"No plan is kept in {store.folder}.")
    elif options.forget is not None:
        _forget(store, options.forget)
    else:
        _lay_out(store, options)
    return Status.MEASURED


def _lay_out(store: PlanStore, options: argparse.Namespace) -> None:
    file_format = None if options.output is None else drawing_format(options.output, "a plan")
    plan = _new_plan(options) if _sizes_given(options) else _kept_plan(store, options)
    print(plan_text(plan, options.units))
    if file_format is not None:
        _draw(plan, options, file_format)
    if plan.name and _sizes_given(options):
        store.put(plan)
        print(f"\nKept in {store.path}: tailproof check --plan {plan.name} PHOTO")


def _sizes_given(options: argparse.Namespace) -> bool:
    return any(getattr(options, name) is not None for name in (*SIZES, "tails", "depth", "slope"))


def _kept_plan(store: PlanStore, options: argparse.Namespace) -> Plan:
    if options.name is None:
        raise UsageError("give the sizes of the layout, --width and the others, or the --name of a kept plan.")
    return plan_named(options.name, store)


def _new_plan(options: argparse.Namespace) -> Plan:
    """The plan of the command line. Raises UsageError for one that lacks a size or cannot be cut."""
    missing = [f"--{name.replace('_', '-')}" for name in (*SIZES, "tails") if getattr(options, name) is None]
    if missing:
        raise UsageError(f"the layout also needs {', '.join(missing)}.")
    lengths = {f"{name}_mm": getattr(options, name) for name in SIZES}
    depth_mm = options.thickness if options.depth is None else options.depth
    slope = 1.0 / 6.0 if options.slope is None else options.slope
    try:
        return Plan(**lengths, tails=options.tails, slope=slope, depth_mm=depth_mm, name=options.name or "")
    except ValueError as error:
        raise UsageError(f"{error}.") from error


def _draw(plan: Plan, options: argparse.Namespace, file_format: FileFormat) -> None:
    path: Path = options.output
    data = render_drawing(draw_plan(plan, options.paper, options.units), file_format)
    write_drawing(path, data)
    paper = {"a4": "A4", "letter": "US Letter"}[options.paper]
    sheet = f"on {paper}" if fits_paper(plan, options.paper) else f"on a larger sheet, for it is wider than {paper}"
    print(f"\nWrote {path}. Print it at 100 %, {sheet}; cut it out and fold it over the end.")


def _forget(store: PlanStore, name: str) -> None:
    if not store.forget(name):
        raise UsageError(f"--forget: no plan is kept as {name!r}.")
    print(f"The plan {name} is forgotten.")
