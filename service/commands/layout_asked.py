"""Whether a check was asked about its layout: what answers that is only loaded when it was."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from calibration.outcome import Refusal
from service.errors import UsageError
from vision.answer.result import Report

if TYPE_CHECKING:
    from service.commands.layout_job import LayoutAsked


def layout_asked(options: argparse.Namespace) -> LayoutAsked | None:
    """What the command line asks for; None for nothing.

    Raises UsageError when a plan is not kept, the rules cannot be read, or a limit is told without a plan to keep to.
    """
    if options.line_limit is not None and options.plan is None:
        raise UsageError("--line-limit is for lines of a plan: add --plan NAME, or leave it out.")
    if options.plan is None and options.rules is None and not options.layout:
        return None
    from service.commands.layout_job import asked_by

    return asked_by(options)


def with_layout(value: dict[str, Any], result: Report | Refusal, asked: LayoutAsked | None) -> dict[str, Any]:
    """The result JSON with `plan` in it and in its walls, and with `layout`, as far as they were asked for."""
    if asked is None or isinstance(result, Refusal):
        return value
    from service.commands.layout_job import end_with_layout

    return end_with_layout(value, result, asked)


def layout_shown(result: Report, asked: LayoutAsked | None) -> list[str]:
    """The blocks that a plan and a review add to the answer for people."""
    if asked is None:
        return []
    from service.commands.layout_job import Subject

    return asked.shown(Subject.of_end(result))
