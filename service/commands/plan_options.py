"""The options of `plan` and `rules`, and those that hold a check against a plan or review its layout."""

from __future__ import annotations

import argparse
import math
import re
from pathlib import Path

from service.option_types import add_list_and_forget, kept_name, length, whole

FLATTEST = 1.0 / 20.0
"""Flatter tails are straight: nothing would hold."""
_ONE_IN = re.compile(r"\s*1\s*:\s*(\d+(?:\.\d+)?)\s*")
_DEGREES = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?:deg|°)\s*")


def add_plan_arguments(parser: argparse.ArgumentParser) -> None:
    """What `tailproof plan` takes, but for where data are kept."""
    sizes = parser.add_argument_group("the layout, lengths in mm or as 3.5in or 3 9/16in")
    for name, what in (
        ("width", "width of the board"),
        ("thickness", "its thickness"),
        ("half-pin", "width of the half pins at the end"),
        ("pin", "width of the inner pins at the end"),
        ("depth", "depth of the baseline (default: the thickness)"),
    ):
        sizes.add_argument(f"--{name}", type=length, metavar="LENGTH", help=what)
    sizes.add_argument("--tails", type=whole(0, 1000), metavar="N", help="number of tails")
    sizes.add_argument("--slope", type=slope, metavar="SLOPE", help="such as 1:6, 1:8 or 9.5deg (default: 1:6)")
    parser.add_argument(
        "--name", type=kept_name, metavar="NAME", help="keep the plan under this name; alone, show the kept one"
    )
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", help="draw it at full size: .pdf, .svg or .png")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="paper size (default: a4)")
    parser.add_argument("--units", choices=("mm", "inch"), default="mm", help="units to show (default: mm)")
    add_list_and_forget(parser, "plan")


def add_rules_arguments(parser: argparse.ArgumentParser) -> None:
    """What `tailproof rules` takes, but for where data are kept."""
    one = parser.add_mutually_exclusive_group().add_argument
    one("--default", action="store_true", help="print the default rules, even when others are kept")
    one("--keep", type=Path, metavar="FILE", help="use the rules in this file from now on")
    one("--reset", action="store_true", help="go back to the default rules")
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", help="write the rules into this file, to edit")


def add_layout_arguments(parser: argparse.ArgumentParser) -> None:
    """What `check` takes to be held against a plan and reviewed."""
    add = parser.add_argument_group("the layout").add_argument
    add("--plan", metavar="NAME", help="the kept plan that was laid out: measured minus intended for every line")
    add("--line-limit", type=length, metavar="MM", help="off the line to accept (default: 0.25)")
    add("--layout", action="store_true", help="add the trade's remarks on the layout, with their rules")
    add("--rules", type=Path, metavar="FILE", help="review the layout by the rules in this file")


def slope(text: str) -> float:
    """Run over rise of `1:6` or of an angle such as `9.5deg`. Raises ArgumentTypeError for anything else."""
    one_in, degrees = _ONE_IN.fullmatch(text), _DEGREES.fullmatch(text)
    value = math.tan(math.radians(float(degrees[1]))) if degrees else 0.0
    if one_in and float(one_in[1]) > 0.0:
        value = 1.0 / float(one_in[1])
    if not FLATTEST <= value < 1.0:
        raise argparse.ArgumentTypeError(f"must be a slope such as 1:6, 1:8 or 9.5deg, up to 1:20, got {text!r}")
    return value
