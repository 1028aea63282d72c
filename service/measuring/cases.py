"""Photos with their truths in a folder, and every one of them scored."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from service.errors import UsageError, report_fault


class NamesPhoto(Protocol):
    """A truth tells which photo it is of."""

    @property
    def photo(self) -> str:
        """The photo's file name."""


Truth = TypeVar("Truth", bound=NamesPhoto)
Score = TypeVar("Score")


@dataclass(frozen=True)
class Case(Generic[Truth]):
    """A photo with its truth."""

    photo: Path
    truth: Truth


def cases_in(folder: Path, is_one: Callable[[Any], bool], parse: Callable[[Any], Truth]) -> list[Case[Truth]]:
    """The photos in `folder` and below with truths of one kind: JSON values that `is_one` knows and `parse` reads.

    Raises UsageError when a truth is broken.
    """
    values = [(path, _json(path)) for path in sorted(folder.rglob("*.json"))] if folder.is_dir() else []
    return [_case(path, value, parse) for path, value in values if is_one(value)]


def score_each(
    cases: list[Case[Truth]], score: Callable[[Case[Truth]], Score], kind: str = ""
) -> tuple[list[Score], int]:
    """The scores, with progress on stderr that begins with the `kind`; and the number of faults, which stop nothing."""
    scores: list[Score] = []
    faults = 0
    for number, case in enumerate(cases, start=1):
        print(f"[{kind}{number}/{len(cases)}] {case.photo.name}", file=sys.stderr, flush=True)
        try:
            scores.append(score(case))
        except Exception as error:
            faults += bool(report_fault(error, case.photo.name))
    return scores, faults


def _case(path: Path, value: Any, parse: Callable[[Any], Truth]) -> Case[Truth]:
    try:
        truth = parse(value)
    except ValueError as error:
        raise UsageError(f"{path}: {error}.") from error
    return Case(path.with_name(Path(truth.photo).name), truth)


def _json(path: Path) -> Any:
    """The file's JSON value; None for a file that is not JSON, which then is no truth."""
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
