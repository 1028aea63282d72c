"""`tailproof check --same-end`: the answer for one end from all its photos."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from calibration.outcome import Refusal
from service.answers.paint import wants_colour
from service.answers.table import caution_text, explanation_text, paragraphs, refusal_text, report_text
from service.commands.budget_job import budgets_dict, budgets_shown
from service.commands.layout_asked import layout_shown, with_layout
from service.errors import UsageError
from service.measuring.checking import CheckSettings
from service.measuring.same_end_check import RefusedEnd, SameEndResult, check_same_end
from service.output import overlay_paths, write_overlay
from service.status import Status
from vision.together.same_end_words import same_end_sentences

if TYPE_CHECKING:
    from service.commands.layout_job import LayoutAsked


def run_same_end(options: argparse.Namespace, settings: CheckSettings, asked: LayoutAsked | None) -> int:
    """Check all photos of the command line as one end and return the exit status. Raises UsageError."""
    paths: list[Path] = options.photos
    if len(paths) < 2:
        raise UsageError("--same-end: give at least two photos of the end.")
    overlay = overlay_paths(options.overlay, paths[:1])[0] if options.overlay else None
    result = check_same_end(paths, settings)
    print(_as_json(result, options, asked) if options.json else _as_text(result, options, asked), flush=True)
    if isinstance(result, RefusedEnd):
        return Status.REFUSED
    if overlay is not None:
        _write_overlay(result, overlay, options)
    return Status.REFUSED if result.refused else Status.MEASURED


def _as_json(result: SameEndResult | RefusedEnd, options: argparse.Namespace, asked: LayoutAsked | None) -> str:
    if isinstance(result, RefusedEnd):
        return json.dumps(result.to_dict())
    value = with_layout(result.to_dict(), result.report, asked)
    return json.dumps(value | budgets_dict(result.report, options.budget, _used(result)))


def _as_text(result: SameEndResult | RefusedEnd, options: argparse.Namespace, asked: LayoutAsked | None) -> str:
    colour = wants_colour(sys.stdout, os.environ)
    if isinstance(result, RefusedEnd):
        return _refused_text(result, colour=colour)
    parts = [report_text(result.report, options.units, colour=colour), *layout_shown(result.report, asked)]
    parts.append(_photos_text(result, options))
    if options.explain:
        parts.append(explanation_text(result.report, options.units))
    if options.budget is not None:
        parts.append(budgets_shown(result.report, options.budget, options.units, _used(result)))
    return "\n\n".join([*parts, caution_text()])


def _refused_text(result: RefusedEnd, *, colour: bool) -> str:
    """Why there is no result; photos that could not be measured with their names, each with its own refusal."""
    if result.refusal is not None:
        unused = [paragraphs(_not_measured(result.refused))] if result.refused else []
        return "\n\n".join([refusal_text(result.refusal, colour=colour), *unused])
    each = (f"{name}\n{'=' * len(name)}\n{refusal_text(why, colour=colour)}" for name, why in result.refused)
    return "\n\n".join(each)


def _photos_text(result: SameEndResult, options: argparse.Namespace) -> str:
    """What every photo was to the result."""
    sentences = [*same_end_sentences(result.end, options.units), *_not_measured(result.refused)]
    return "Photos of this end:\n" + paragraphs(sentences)


def _not_measured(refused: Sequence[tuple[str, Refusal]]) -> list[str]:
    return [f"{name}: not measured. {refusal.message} {refusal.what_to_do}" for name, refusal in refused]


def _used(result: SameEndResult) -> int:
    return sum(role.used for role in result.end.roles)


def _write_overlay(result: SameEndResult, path: Path, options: argparse.Namespace) -> None:
    from vision.answer.overlay import draw_overlay

    side = result.end.measurement.placement.side
    picture = draw_overlay(result.photo, result.report, units=options.units, card_side=side)
    write_overlay(path, picture)
