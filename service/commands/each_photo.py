"""The photos of a command line one after the other: progress, and past those that cannot be measured."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

from service.answers.table import caution_text
from service.errors import UsageError, report_fault
from service.output import overlay_paths
from service.status import Status

One = Callable[[Path, Path | None], bool]
"""Answers the photo at a path, draws it to another unless that is None, and tells whether it could be measured."""

_ORDER = (Status.MEASURED, Status.REFUSED, Status.USAGE, Status.FAULT)
"""A fault goes before an output that could not be written, that before a refusal before success."""


def answer_each(options: argparse.Namespace, one: One) -> Status:
    """Answer all photos, then the cautions; the worst of their statuses.

    A fault of our own is told on stderr and does not stop the others. Raises UsageError and BrokenPipeError.
    """
    photos: list[Path] = options.photos
    overlays = overlay_paths(options.overlay, photos) if options.overlay else [None] * len(photos)
    worst = Status.MEASURED
    for number, (path, overlay) in enumerate(zip(photos, overlays, strict=True), start=1):
        if len(photos) > 1:
            print(f"[{number}/{len(photos)}] {path.name}", file=sys.stderr, flush=True)
        worst = max(worst, _status_of(path.name, partial(one, path, overlay)), key=_ORDER.index)
    if worst is not Status.FAULT and not options.json:
        print(f"\n{caution_text()}")
    return worst


def _status_of(name: str, measured: Callable[[], bool]) -> Status:
    try:
        return Status.MEASURED if measured() else Status.REFUSED
    except (UsageError, BrokenPipeError):
        raise
    except Exception as error:
        return Status(report_fault(error, name))
