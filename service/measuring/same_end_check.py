"""The job of `check --same-end`: several photos of one end in, one result out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from calibration.outcome import CannotMeasure, Refusal, refuse
from service.measuring.checking import CheckSettings, measure_photo, predict
from service.measuring.copies import copies
from service.measuring.reading import load_photo
from vision.answer.result import Report, refusal_dict
from vision.end.report import Measurement
from vision.photo.photo import Photo
from vision.together.agreement import FIRM
from vision.together.same_end import SameEnd, View, combine_views, likeness


@dataclass(frozen=True)
class SameEndResult:
    """The combined end's report and what each photo was to it; `refused` are the photos that could not be measured.

    `photo` is the one that the report's `to_image` belongs to.
    """

    report: Report
    end: SameEnd
    refused: tuple[tuple[str, Refusal], ...]
    photo: Photo

    def to_dict(self) -> dict[str, Any]:
        """The result JSON of one photo, with `photos` and `cancelled`."""
        used = [role.to_dict() for role in self.end.roles]
        cancelled = [each.to_dict() for each in self.end.cancelled]
        return self.report.to_dict() | {"photos": [*used, *_unused(self.refused)], "cancelled": cancelled}


@dataclass(frozen=True)
class RefusedEnd:
    """Why there is no result: `refusal` if the photos do not go together, None if none of them can be measured.

    `refused` are the photos that could not be measured.
    """

    refused: tuple[tuple[str, Refusal], ...]
    refusal: Refusal | None = None

    def to_dict(self) -> dict[str, Any]:
        """The result JSON of a refusal, the first photo's where none is of all together; with `photos`."""
        whole = self.refused[0][1] if self.refusal is None else self.refusal
        return refusal_dict(whole) | ({"photos": _unused(self.refused)} if self.refused else {})


def check_same_end(paths: Sequence[Path], settings: CheckSettings) -> SameEndResult | RefusedEnd:
    """The result of all photos of one end together, or why there is none."""
    views: list[tuple[Photo, View]] = []
    refused: list[tuple[str, Refusal]] = []
    again = copies(paths)
    for index, path in enumerate(paths):
        try:
            if index in again:
                raise refuse("photo_given_twice", f"It is the same as {paths[again[index]].name}.")
            photo = load_photo(path)
            views.append((photo, View(path.name, measured_beside(photo, settings, views))))
        except CannotMeasure as error:
            refused.append((path.name, error.refusal))
    if not views:
        return RefusedEnd(tuple(refused))
    try:
        return combined(views, tuple(refused), settings)
    except CannotMeasure as error:
        return RefusedEnd(tuple(refused), error.refusal)


def measured_beside(photo: Photo, settings: CheckSettings, before: Sequence[tuple[Photo, View]]) -> Measurement:
    """The photo measured with the card along the face that was told or, if it is unlike the first so, the other.

    Walls that somebody placed are taken as they are. Raises CannotMeasure.
    """
    told = measure_photo(photo, settings)
    if not before or settings.walls or likeness(before[0][1].measurement, told) >= FIRM:
        return told
    try:
        other = measure_photo(photo, replace(settings, card_side=_other(settings.card_side)))
    except CannotMeasure:
        return told
    first = before[0][1].measurement
    return other if likeness(first, other) > max(FIRM, likeness(first, told)) else told


def _other(side: str) -> Any:
    return "transfer" if side == "show" else "show"


def combined(
    views: Sequence[tuple[Photo, View]], refused: tuple[tuple[str, Refusal], ...], settings: CheckSettings
) -> SameEndResult:
    """The one end that all these photos show. Raises CannotMeasure when they do not."""
    end = combine_views([view for _, view in views])
    used = [pair for pair, role in zip(views, end.roles, strict=True) if role.used]
    photo, view = max(used, key=lambda pair: pair[1].measurement.px_per_mm)
    report = Report(view.name, end.measurement, predict(end.measurement, settings))
    return SameEndResult(report, end, refused, photo)


def _unused(refused: Sequence[tuple[str, Refusal]]) -> list[dict[str, Any]]:
    """The `photos` of the result JSON that could not be measured."""
    return [{"file": name, "used": False, "refusal": refusal.to_dict()} for name, refusal in refused]
