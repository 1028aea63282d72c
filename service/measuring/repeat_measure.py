"""Measuring the photos of a repeatability study, and leaving out, by name, those that do not belong in it."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calibration.outcome import Refusal
from service.errors import report_fault
from service.measuring.checking import CheckSettings, check_photo, measured_or_refused
from service.measuring.copies import copies
from service.measuring.repeat_folder import ONE_PERSON, Shot
from service.measuring.repeat_values import Value, values_of
from vision.answer.result import Report

OTHER_BOARD_MM = 1.0
"""Walls further than this from where the board's other photos have them belong to another board, or the board was
turned round: far beyond any uncertainty of a wall's place, far below the width of a tail."""


@dataclass(frozen=True)
class LeftOut:
    """A photo that is not in the study, and the sentence that says why."""

    photo: str
    why: str


@dataclass(frozen=True)
class Measured:
    """The values of a study's photos, those left out, and how many of these by a fault of the program."""

    values: tuple[Value, ...]
    left_out: tuple[LeftOut, ...] = ()
    faults: int = 0


@dataclass(frozen=True)
class _Taken:
    shot: Shot
    report: Report


def measure_shots(shots: Sequence[Shot], settings: CheckSettings) -> Measured:
    """Check every photo, with progress on stderr, and keep what shows the same walls as the board's other photos."""
    taken: list[_Taken] = []
    out: dict[Shot, str] = {}
    faults = 0
    twins = {shots[copy]: shots[first] for copy, first in copies([shot.path for shot in shots]).items()}
    for number, shot in enumerate(shots, start=1):
        print(f"[{number}/{len(shots)}] {name_of(shot)}", file=sys.stderr, flush=True)
        try:
            result = _result(shot, settings, twins)
        except Exception as error:
            faults += bool(report_fault(error, name_of(shot)))
            result = "A fault in the program: see the message above."
        if isinstance(result, Report):
            taken.append(_Taken(shot, result))
        else:
            out[shot] = result
    out |= _strangers(taken)
    values = [value for each in taken if each.shot not in out for value in _values(each)]
    return Measured(tuple(values), tuple(LeftOut(name_of(shot), why) for shot, why in out.items()), faults)


def name_of(shot: Shot) -> str:
    """How people find the photo again: its path within the study."""
    person = [] if shot.person == ONE_PERSON else [shot.person]
    return "/".join([shot.board, *person, shot.path.name])


def _values(taken: _Taken) -> Iterator[Value]:
    shot = taken.shot
    return values_of(taken.report, shot.board, shot.person, name_of(shot))


def _result(shot: Shot, settings: CheckSettings, twins: Mapping[Shot, Shot]) -> Report | str:
    """The photo's report, or why it is left out."""
    if shot in twins:
        return f"It is the same file as {name_of(twins[shot])}: a study needs a new photo each time."
    result = measured_or_refused(shot.path, lambda photo: check_photo(photo, settings))
    return f"{result.message} {result.what_to_do}" if isinstance(result, Refusal) else result


def _strangers(taken: Sequence[_Taken]) -> dict[Shot, str]:
    """The photos that do not show the same walls as the other photos of their board, and why."""
    out: dict[Shot, str] = {}
    for board in dict.fromkeys(each.shot.board for each in taken):
        group = [each for each in taken if each.shot.board == board]
        out |= _of_other_count(group)
        out |= _elsewhere([each for each in group if each.shot not in out])
    return out


def _of_other_count(group: Sequence[_Taken]) -> dict[Shot, str]:
    counts = Counter(len(each.report.measurement.walls) for each in group)
    (usual, most), *others = counts.most_common()
    if others and others[0][1] == most:
        listed = " and ".join(str(count) for count in sorted(counts))
        why = f"As many photos of this board show {listed} walls: which is right cannot be told."
        return {each.shot: why for each in group}
    found = {each.shot: len(each.report.measurement.walls) for each in group}
    return {
        shot: f"{count} walls were found, in the board's other photos {usual}."
        for shot, count in found.items()
        if count != usual
    }


def _elsewhere(group: Sequence[_Taken]) -> dict[Shot, str]:
    if not group:
        return {}
    places = np.array([[wall.x_show.value for wall in each.report.measurement.walls] for each in group])
    away_mm = np.abs(places - np.median(places, axis=0)).max(axis=1)
    return {
        each.shot: f"Its walls stand up to {away:.1f} mm from where the board's other photos have them: another board,"
        " or the card on its other face."
        for each, away in zip(group, away_mm, strict=True)
        if away > OTHER_BOARD_MM
    }
