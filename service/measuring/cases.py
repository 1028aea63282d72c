"""Photos with their truths in a folder, and every one of them scored."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, NamedTuple, Protocol, TypeVar

from service.errors import report_fault
from service.measuring.repeat_folder import PHOTO_KINDS


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


class LeftOut(NamedTuple):
    """A file that is meant as a truth but cannot be scored by, and a sentence that says why and what to do."""

    truth: Path
    why: str


class TruthFile(NamedTuple):
    """A JSON file and its value; None where there is none, and then `wrong` says why."""

    path: Path
    value: Any
    wrong: str = ""

    @property
    def is_meant(self) -> bool:
        """Whether somebody meant it as a truth: it names a photo, or lies beside the photo of its own name.

        A result of the program itself, kept beside its photo, is none.
        """
        if isinstance(self.value, Mapping):
            return "schema" not in self.value and ("photo" in self.value or self._beside_photo())
        return self._beside_photo()

    def _beside_photo(self) -> bool:
        return any(_is_photo_of(self.path, other) for other in self.path.parent.iterdir())


def truth_files(folder: Path) -> list[TruthFile]:
    """All JSON files in `folder` and below."""
    return [_read(path) for path in sorted(folder.rglob("*.json"))] if folder.is_dir() else []


def cases_of(
    files: Iterable[TruthFile], is_one: Callable[[Any], bool], parse: Callable[[Any], Truth]
) -> tuple[list[Case[Truth]], list[LeftOut]]:
    """The photos with truths of one kind, JSON values that `is_one` knows and `parse` reads; and the broken ones."""
    cases: list[Case[Truth]] = []
    left_out: list[LeftOut] = []
    for path, value, _ in files:
        if not is_one(value):
            continue
        try:
            cases.append(_case(path, parse(value)))
        except ValueError as error:
            left_out.append(LeftOut(path, f"{error}."))
    return cases, left_out


def of_no_kind(files: Iterable[TruthFile], kinds: Sequence[Callable[[Any], bool]]) -> list[LeftOut]:
    """The files that are meant as truths but that none of `kinds` knows."""
    unknown = [file for file in files if file.is_meant and not any(is_one(file.value) for is_one in kinds)]
    return [LeftOut(file.path, file.wrong or _what_lacks(file.value)) for file in unknown]


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


def _case(path: Path, truth: Truth) -> Case[Truth]:
    """The truth with its photo. Raises ValueError when there is none."""
    photo = path.parent / Path(truth.photo).name
    if not photo.is_file():
        raise ValueError(f"its photo {photo.name} is not there; put it beside the truth file or correct the name in it")
    return Case(photo, truth)


def _what_lacks(value: Any) -> str:
    """What a JSON value must have to be a truth."""
    if not isinstance(value, Mapping):
        return "it holds no JSON object, as a truth file must; make it anew."
    missing = [key for key in ("photo", "board") if key not in value] or ["kerfs"]
    return f"the truth file has no {' and no '.join(map(repr, missing))}; add what is missing or make it anew."


def _is_photo_of(truth: Path, other: Path) -> bool:
    return other.stem == truth.stem and other.suffix.lower() in PHOTO_KINDS


def _read(path: Path) -> TruthFile:
    try:
        return TruthFile(path, json.loads(path.read_text(encoding="utf-8")))
    except OSError as error:
        return TruthFile(path, None, f"it could not be read ({error.strerror or error}); look whether you may read it.")
    except json.JSONDecodeError as error:
        return TruthFile(path, None, f"it is damaged: no JSON from line {error.lineno} on; copy or make it anew.")
    except RecursionError:
        return TruthFile(path, None, "it is damaged: nothing in it is a truth; copy or make it anew.")
    except ValueError:
        return TruthFile(path, None, "it is damaged: it is not a text in UTF-8; copy or make it anew.")
