"""`tailproof check --view`: every photo of a face to its answer."""

from __future__ import annotations

import argparse
import os
import sys
from functools import partial
from pathlib import Path

from calibration.outcome import Refusal
from service.answers.face_table import face_explanation, face_text
from service.answers.paint import wants_colour
from service.answers.table import refusal_text
from service.commands.each_photo import answer_each, photo_and_result, print_answer
from service.errors import UsageError
from service.measuring.checking import CheckSettings
from service.measuring.other_view import check_face_told
from service.output import write_overlay
from vision.face.result import FaceReport, face_result_dict
from vision.photo.photo import Photo

_OF_ENDS_ONLY = (
    *("same_end", "budget", "layout", "plan", "rules", "line_limit"),
    *("gap_limit", "squeeze_limit", "allow_paring", "baseline_depth"),
)


def run_faces(options: argparse.Namespace, settings: CheckSettings) -> int:
    """Check all photos as faces and return the exit status. Raises UsageError."""
    _check_options(options)
    return answer_each(options, partial(_check_one, settings=settings, options=options))


def _check_options(options: argparse.Namespace) -> None:
    for name in _OF_ENDS_ONLY:
        if getattr(options, name, None) not in (None, False):
            raise UsageError(f"--{name.replace('_', '-')} is for photos of the end; leave it out, or leave out --view.")


def _check_one(path: Path, overlay: Path | None, settings: CheckSettings, options: argparse.Namespace) -> bool:
    """One photo's answer, printed, and whether it could be measured."""
    check = partial(check_face_told, view=options.view, settings=settings, past_limit_mm=options.past_limit)
    photo, result = photo_and_result(path, check)
    print_answer(path, options, lambda: face_result_dict(result), lambda: _as_text(result, options))
    if photo is not None and isinstance(result, FaceReport) and overlay is not None:
        _write_overlay(photo, result, overlay, options)
    return isinstance(result, FaceReport)


def _as_text(result: FaceReport | Refusal, options: argparse.Namespace) -> str:
    colour = wants_colour(sys.stdout, os.environ)
    if isinstance(result, Refusal):
        return refusal_text(result, colour=colour)
    parts = [face_text(result, options.units, colour=colour)]
    parts += [face_explanation(result, options.units)] if options.explain else []
    return "\n\n".join(parts)


def _write_overlay(photo: Photo, report: FaceReport, path: Path, options: argparse.Namespace) -> None:
    from vision.face.overlay import draw_face

    write_overlay(path, draw_face(photo, report.measurement, units=options.units))
