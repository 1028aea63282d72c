"""`tailproof drill`: practice cuts in a scrap's end, and what to work on."""

from __future__ import annotations

import argparse
import json
import os
import sys
from dataclasses import dataclass
from pathlib import Path

from calibration.outcome import CannotMeasure, Refusal
from service.answers.drill_table import drill_text
from service.answers.paint import wants_colour
from service.answers.table import paragraphs, refusal_text
from service.commands.check_job import settings_from
from service.errors import UsageError
from service.measuring.checking import CheckSettings
from service.measuring.drill_check import check_drill
from service.measuring.reading import load_photo
from service.output import overlay_paths, write_overlay
from service.status import Status
from vision.answer.result import refusal_dict
from vision.answer.words import CAUTIONS
from vision.drill.plan import DrillPlan, PlanMismatch
from vision.drill.result import DrillResult
from vision.photo.photo import Photo


@dataclass(frozen=True)
class DrillAnswer:
    """One photo and its result, or why there is none."""

    photo: Photo | None
    result: DrillResult | Refusal


def run_drill(options: argparse.Namespace) -> int:
    """Measure the drill board of the command line and return the exit status. Raises UsageError."""
    overlay = overlay_paths(options.overlay, [options.photo])[0] if options.overlay else None
    plan = DrillPlan(options.order, options.intended, options.keep)
    answer = drill_photo(options.photo, plan, settings_from(options))
    print(_shown(answer.result, options), flush=True)
    if isinstance(answer.result, Refusal) or answer.photo is None:
        return Status.REFUSED
    if overlay is not None:
        _write_overlay(answer.photo, answer.result, overlay, options)
    return Status.MEASURED


def drill_photo(path: Path, plan: DrillPlan, settings: CheckSettings) -> DrillAnswer:
    """The result for the photo in a file. Raises UsageError when the plan tells of other cuts than the photo shows."""
    try:
        photo = load_photo(path)
        return DrillAnswer(photo, check_drill(photo, plan, settings))
    except CannotMeasure as error:
        return DrillAnswer(None, error.refusal)
    except PlanMismatch as error:
        raise UsageError(f"{error}.") from error


def _shown(result: DrillResult | Refusal, options: argparse.Namespace) -> str:
    if options.json:
        return json.dumps(refusal_dict(result) if isinstance(result, Refusal) else result.to_dict())
    colour = wants_colour(sys.stdout, os.environ)
    if isinstance(result, Refusal):
        return refusal_text(result, colour=colour)
    return f"{drill_text(result, options.units, colour=colour)}\n\n{paragraphs([CAUTIONS[0], CAUTIONS[-1]])}"


def _write_overlay(photo: Photo, result: DrillResult, path: Path, options: argparse.Namespace) -> None:
    from vision.drill.overlay import draw_drill

    picture = draw_drill(photo, result, units=options.units, card_side=options.card_side)
    write_overlay(path, picture)
