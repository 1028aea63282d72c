"""`tailproof check`: every photo to its answer, past the ones that cannot be measured."""

from __future__ import annotations

import argparse
import os
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from calibration.outcome import Refusal
from calibration.prints.known import Known, told_size
from service.answers.paint import wants_colour
from service.answers.table import explanation_text, refusal_text, report_text
from service.commands.each_photo import answer_each, photo_and_result, print_answer
from service.commands.layout_asked import layout_asked, layout_shown, with_layout
from service.errors import UsageError
from service.kept.camera_store import CameraStore
from service.kept.data_folder import data_folder
from service.kept.print_store import PrintStore, print_named
from service.measuring.camera_choice import Cameras, cameras_named
from service.measuring.checking import CheckSettings
from service.measuring.other_view import check_end_told
from service.output import write_overlay
from vision.answer.result import Report, result_dict
from vision.joint.seating import Limits
from vision.joint.species import find_species
from vision.photo.photo import Photo

if TYPE_CHECKING:
    from service.commands.layout_job import LayoutAsked


def run_check(options: argparse.Namespace) -> int:
    """Check all photos of the command line and return the exit status. Raises UsageError."""
    if options.view is not None:
        from service.commands.face_job import run_faces

        return run_faces(options, settings_from(options))
    if options.past_limit is not None:
        raise UsageError("--past-limit is for photos of a face: add --view show or --view transfer, or leave it out.")
    settings, asked = settings_from(options), layout_asked(options)
    if options.same_end:
        from service.commands.same_end_job import run_same_end

        return run_same_end(options, settings, asked)
    return answer_each(options, partial(_check_one, settings=settings, options=options, asked=asked))


def settings_from(options: argparse.Namespace) -> CheckSettings:
    """What the person told the check. Raises UsageError for a wood that is not in the table or a print not kept."""
    if options.species is not None:
        _check_species(options.species)
    limits, known = _limits_from(options), _known(options)
    told = options.stage, options.card_side, options.species, options.baseline_depth
    return CheckSettings(*told, limits, known, _cameras(options))


def _known(options: argparse.Namespace) -> Known:
    """What was measured beforehand and is kept. Raises UsageError when a kept thing is missing or cannot be read."""
    shape = print_named(options.print, PrintStore(data_folder(options.data, os.environ)))
    sizes = {name: getattr(options, name) for name in ("width", "thickness")}
    width, thickness = (told_size(name, size) if size is not None else None for name, size in sizes.items())
    return Known(print=shape, width=width, thickness=thickness)


def _cameras(options: argparse.Namespace) -> Cameras:
    """The kept camera profiles that may be used. Raises UsageError when one is missing or cannot be read."""
    return cameras_named(options.camera, CameraStore(data_folder(options.data, os.environ)))


def _check_species(name: str) -> None:
    try:
        find_species(name)
    except ValueError as error:
        raise UsageError(f"--species: {error}.".replace(": species ", ": ", 1)) from error


def _limits_from(options: argparse.Namespace) -> Limits:
    """The default limits with what was given in their place; one squeeze limit holds for every wood."""
    given: dict[str, Any] = {"paring_allowed": options.allow_paring}
    if options.gap_limit is not None:
        given["gap_mm"] = options.gap_limit
    if options.squeeze_limit is not None:
        given |= {"squeeze_softwood_mm": options.squeeze_limit, "squeeze_hardwood_mm": options.squeeze_limit}
    return Limits(**given)


def _check_one(
    path: Path, overlay: Path | None, settings: CheckSettings, options: argparse.Namespace, asked: LayoutAsked | None
) -> bool:
    """One photo's answer, printed, and whether it could be measured."""
    photo, result = photo_and_result(path, partial(check_end_told, settings=settings))
    print_answer(path, options, lambda: _as_dict(result, options, asked), lambda: _as_text(result, options, asked))
    if photo is not None and isinstance(result, Report) and overlay is not None:
        _write_overlay(photo, result, overlay, options)
    return isinstance(result, Report)


def _as_dict(result: Report | Refusal, options: argparse.Namespace, asked: LayoutAsked | None) -> dict[str, Any]:
    return with_layout(result_dict(result), result, asked) | _budgets(result, options)


def _as_text(result: Report | Refusal, options: argparse.Namespace, asked: LayoutAsked | None) -> str:
    colour = wants_colour(sys.stdout, os.environ)
    if isinstance(result, Refusal):
        return refusal_text(result, colour=colour)
    parts = [report_text(result, options.units, colour=colour), *layout_shown(result, asked)]
    parts += [explanation_text(result, options.units)] if options.explain else []
    return "\n\n".join([*parts, *_budgets_below(result, options)])


def _budgets(result: Report | Refusal, options: argparse.Namespace) -> dict[str, Any]:
    if options.budget is None:
        return {}
    from service.commands.budget_job import budgets_dict

    return budgets_dict(result, options.budget)


def _budgets_below(report: Report, options: argparse.Namespace) -> list[str]:
    if options.budget is None:
        return []
    from service.commands.budget_job import budgets_shown

    return [budgets_shown(report, options.budget, options.units)]


def _write_overlay(photo: Photo, report: Report, path: Path, options: argparse.Namespace) -> None:
    from vision.answer.overlay import draw_overlay

    picture = draw_overlay(photo, report, units=options.units, card_side=options.card_side)
    write_overlay(path, picture)
