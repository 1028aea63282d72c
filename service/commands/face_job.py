"""`tailproof check --view`: every photo of a face to its answer."""

from __future__ import annotations

import argparse
import json
import os
import sys
from pathlib import Path

from calibration.outcome import CannotMeasure, Refusal
from service.answers.face_table import face_explanation, face_text
from service.answers.paint import wants_colour
from service.answers.table import caution_text, refusal_text
from service.errors import UsageError, report_fault
from service.measuring.checking import CheckSettings, load_photo
from service.measuring.face_check import check_face
from service.output import encode_overlay, overlay_paths, write_file
from service.status import Status
from vision.face.result import FaceReport, face_result_dict
from vision.photo.photo import Photo

_ORDER = (Status.MEASURED, Status.REFUSED, Status.FAULT)
_OF_ENDS_ONLY = ("same_end", "budget", "layout", "plan")


def run_faces(options: argparse.Namespace, settings: CheckSettings) -> int:
    """Check all photos as faces and return the exit status. Raises UsageError."""
    _check_options(options)
    photos: list[Path] = options.photos
    overlays = overlay_paths(options.overlay, photos) if options.overlay else [None] * len(photos)
    worst = Status.MEASURED
    for path, overlay in zip(photos, overlays, strict=True):
        worst = max(worst, _check_one(path, overlay, settings, options), key=_ORDER.index)
    if worst is not Status.FAULT and not options.json:
        print(f"\n{caution_text()}")
    return worst


def _check_options(options: argparse.Namespace) -> None:
    for name in _OF_ENDS_ONLY:
        if getattr(options, name, None) not in (None, False):
            raise UsageError(f"--{name.replace('_', '-')} is for photos of the end; leave it out, or leave out --view.")


def _check_one(path: Path, overlay: Path | None, settings: CheckSettings, options: argparse.Namespace) -> Status:
    """One photo's answer, printed; a fault of our own is told and does not stop the others."""
    try:
        photo, result = _measure(path, settings, options)
        _print_result(path, result, options)
        if photo is not None and isinstance(result, FaceReport) and overlay is not None:
            _write_overlay(photo, result, overlay, options)
    except (UsageError, BrokenPipeError):
        raise
    except Exception as error:
        return Status(report_fault(error, path.name))
    return Status.MEASURED if isinstance(result, FaceReport) else Status.REFUSED


def _measure(
    path: Path, settings: CheckSettings, options: argparse.Namespace
) -> tuple[Photo | None, FaceReport | Refusal]:
    try:
        photo = load_photo(path)
    except CannotMeasure as error:
        return None, error.refusal
    return photo, check_face(photo, options.view, settings, options.past_limit)


def _print_result(path: Path, result: FaceReport | Refusal, options: argparse.Namespace) -> None:
    several = len(options.photos) > 1
    if options.json:
        print(json.dumps(({"file": str(path)} if several else {}) | face_result_dict(result)), flush=True)
        return
    if several:
        print(f"{path.name}\n{'=' * len(path.name)}")
    colour = wants_colour(sys.stdout, os.environ)
    if isinstance(result, FaceReport):
        text = face_text(result, options.units, colour=colour)
        text += "\n\n" + face_explanation(result, options.units) if options.explain else ""
    else:
        text = refusal_text(result, colour=colour)
    print(text + ("\n" if several else ""), flush=True)


def _write_overlay(photo: Photo, report: FaceReport, path: Path, options: argparse.Namespace) -> None:
    from vision.face.overlay import draw_face

    write_file(path, encode_overlay(draw_face(photo, report.measurement, units=options.units), path))
