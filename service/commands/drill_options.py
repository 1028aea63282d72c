"""What a person may tell of a drill, as options of the command line."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import Any

NOT_ASKED = {"species", "stage", "baseline_depth", "gap_limit", "squeeze_limit", "allow_paring"}
"""What a check asks of tails and pins; a drill has neither."""


def add_drill_arguments(parser: argparse.ArgumentParser) -> None:
    """The photo, what was meant by its cuts, and how to answer."""
    add = parser.add_argument
    add("photo", type=Path, metavar="PHOTO", help="photo of the scrap's end beside the card")
    add("--json", action="store_true", help="print the result as JSON")
    add("--overlay", metavar="FILE", help="draw the result on the photo: a .png or .jpg file")
    add("--units", choices=("mm", "inch"), default="mm", help="units for people (default: mm)")
    add(
        "--order",
        type=_told("order_from"),
        default="left-to-right",
        metavar="ORDER",
        help="the order cut: left-to-right, right-to-left, or the cuts' numbers from the left, such as 3,1,2",
    )
    add(
        "--intended",
        type=_told("intents_from"),
        default="0",
        metavar="LEANS",
        help="leans meant, in degrees, right positive, or left and right for slopes that do not show on the end: one"
        " for all, two that take turns, or one for each in the order cut (begin with =, as in --intended=-7,7)",
    )
    add(
        "--keep",
        type=_told("keeps_from"),
        default="both",
        metavar="SIDE",
        help="the side of the line: measure the kerf's left or right edge, or the middle of both (default: both)",
    )
    parser.set_defaults(**dict.fromkeys(NOT_ASKED))


def _told(reader: str) -> Callable[[str], Any]:
    """A reader of `vision.drill.plan`, imported when there is something to read."""

    def read(text: str) -> Any:
        from vision.drill import plan as drill_plan

        try:
            return getattr(drill_plan, reader)(text)
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from error

    return read
