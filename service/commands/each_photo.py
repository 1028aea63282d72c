"""The photos of a command line one after the other: progress, and past those that cannot be measured."""

from __future__ import annotations

import argparse
import gc
import json
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from calibration.outcome import CannotMeasure, Refusal
from service.answers.table import caution_text
from service.errors import UsageError, report_fault
from service.measuring.reading import load_photo
from service.output import overlay_paths
from service.status import Status
from vision.photo.photo import Photo

Result = TypeVar("Result")

One = Callable[[Path, Path | None], bool]
"""Answers the photo at a path, draws it to another unless that is None, and tells whether it could be measured."""

_ORDER = (Status.MEASURED, Status.REFUSED, Status.USAGE, Status.FAULT)
"""A fault goes before an output that could not be written, that before a refusal before success."""


def answer_each(options: argparse.Namespace, one: One) -> Status:
    """Answer all photos, then the cautions if one was measured; the worst of their statuses.

    A fault of our own is told on stderr and does not stop the others. Raises UsageError and BrokenPipeError.
    """
    photos: list[Path] = options.photos
    overlays = overlay_paths(options.overlay, photos) if options.overlay else [None] * len(photos)
    statuses: list[Status] = []
    for number, (path, overlay) in enumerate(zip(photos, overlays, strict=True), start=1):
        if number > 1:
            gc.collect()  # so that no earlier photo is still in memory
        if len(photos) > 1:
            print(f"[{number}/{len(photos)}] {path.name}", file=sys.stderr, flush=True)
        statuses.append(_status_of(path.name, partial(one, path, overlay)))
    worst = max(statuses, key=_ORDER.index)
    if Status.MEASURED in statuses and worst is not Status.FAULT and not options.json:
        print(f"\n{caution_text()}")
    return worst


def photo_and_result(path: Path, check: Callable[[Photo], Result]) -> tuple[Photo | None, Result | Refusal]:
    """The photo in a file and what `check` makes of it; no photo, and why, where it cannot be read."""
    try:
        photo = load_photo(path)
    except CannotMeasure as error:
        return None, error.refusal
    return photo, check(photo)


def print_answer(
    path: Path, options: argparse.Namespace, as_dict: Callable[[], dict[str, Any]], as_text: Callable[[], str]
) -> None:
    """One photo's answer, as JSON or for people; where there are several, with the photo's name."""
    several = len(options.photos) > 1
    if options.json:
        print(json.dumps(({"file": str(path)} if several else {}) | as_dict()), flush=True)
        return
    if several:
        print(f"{path.name}\n{'=' * len(path.name)}")
    print(as_text() + ("\n" if several else ""), flush=True)


def _status_of(name: str, measured: Callable[[], bool]) -> Status:
    try:
        return Status.MEASURED if measured() else Status.REFUSED
    except (UsageError, BrokenPipeError):
        raise
    except Exception as error:
        return Status(report_fault(error, name))
