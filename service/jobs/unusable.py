"""Kept files that cannot be used: a photo is measured without them, and its answer says so."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

from service.domain.check import Answer
from service.errors import UsageError
from service.kept.camera_store import CameraStore
from service.kept.plan_store import PlanStore
from service.kept.print_store import PrintStore
from service.use_cases.answer_job import Task
from vision.answer.words import Units

WITHOUT = "Measured without something that is kept for it, because its file cannot be used."


def with_unusable(answer: Answer, task: Task, data: Path) -> Answer:
    """The answer to a measured photo with a doubt for every file in the folder `data` that it should have gone by."""
    doubts = [{"message": WITHOUT, "what_to_do": fault} for fault in _unusable(task, data)]
    told = {
        units: answer.words[units] | {"doubts": answer.words[units]["doubts"] + doubts} for units in get_args(Units)
    }
    return replace(answer, words=answer.words | told)


def _unusable(task: Task, data: Path) -> list[str]:
    """What is wrong with each file, and what to do: which camera or print one holds, nobody can tell."""
    faults = [*CameraStore(data).usable()[1], *_faults(PrintStore(data).list)]
    if task.check.view == "end" and (task.board.details.plan or (task.assignment and task.assignment.plan)):
        faults += _faults(PlanStore(data).list)
    return [str(fault).removeprefix(f"{data}{os.sep}") for fault in faults]


def _faults(read: Callable[[], Sequence[Any]]) -> list[UsageError]:
    try:
        read()
    except UsageError as error:
        return [error]
    return []
