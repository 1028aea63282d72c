"""All photos of a board put together: the end from all photos of it, and end and faces in depth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast, get_args

from calibration.outcome import CannotMeasure, Refusal
from service.domain.check import FACES, Answer, Check, Pictures
from service.jobs.answer_words import refusal_words, report_words
from service.jobs.bench import Bench
from service.jobs.board_words import board_words
from service.jobs.pictures import keep_drawing
from service.jobs.told import settings_of
from service.measuring.board_check import face_of, judged
from service.measuring.checking import CheckSettings
from service.measuring.same_end_check import SameEndResult, combined, measured_beside
from service.use_cases.answer_job import Task
from service.use_cases.put_together import Photos
from vision.answer.overlay import draw_overlay
from vision.answer.result import refusal_dict
from vision.answer.words import Units
from vision.board.judge import BoardReport
from vision.board.overlay import draw_board_photos
from vision.board.result import board_dict
from vision.board.views import ViewName
from vision.end.report import Measurement
from vision.face.report import FaceMeasurement
from vision.photo.decode import decode
from vision.photo.photo import Photo
from vision.together.same_end import View
from vision.together.same_end_words import same_end_sentences

ALL_UNITS: tuple[Units, ...] = get_args(Units)


@dataclass(frozen=True)
class _Seen:
    """One photo, measured anew: what a result needs of it is more than its answer holds."""

    check: Check
    name: str
    photo: Photo
    settings: CheckSettings
    found: Measurement | FaceMeasurement


@dataclass(frozen=True)
class _Part:
    """One of the two results: the JSON, the sentences by units, and the picture, empty for a refusal."""

    result: dict[str, Any]
    words: Mapping[Units, Mapping[str, Any]]
    picture: str = ""


def put_together(task: Task, photos: Photos, bench: Bench) -> Answer:
    """The answer for a board: its `result` and `words` have a part `end` and a part `board`, None where there is none.

    `photos` tells which photo has which name and part in it. Pictures are the end drawn, then the board.
    """
    seen, refused = _measured(task, photos, bench)
    end = _end_part(seen, refused, task, bench) if _count(photos, "end") > 1 else None
    board = _board_part(seen, refused, task, bench) if any(check.view in FACES for check in photos.chosen) else None
    listed = [_listed(check, photos) for check in photos.chosen]
    parts = {"end": end, "board": board}
    result = {"photos": listed} | {name: part.result if part else None for name, part in parts.items()}
    words: dict[str, Any] = {units: _words(parts, listed, units) for units in ALL_UNITS}
    return Answer(result, words, Pictures(end.picture if end else "", board.picture if board else ""))


def _count(photos: Photos, view: str) -> int:
    return sum(check.view == view for check in photos.chosen)


def name_of(check: Check, photos: Photos) -> str:
    """`Photo 2`: as the board's photos are counted from the first that was sent."""
    return f"Photo {[each.id for each in photos.all].index(check.id) + 1}"


def _listed(check: Check, photos: Photos) -> dict[str, str]:
    return {"name": name_of(check, photos), "check": check.id, "view": check.view}


def _words(parts: Mapping[str, _Part | None], listed: Sequence[Mapping[str, str]], units: Units) -> dict[str, Any]:
    return {"photos": listed} | {name: part.words[units] if part else None for name, part in parts.items()}


def _measured(task: Task, photos: Photos, bench: Bench) -> tuple[list[_Seen], dict[str, Refusal]]:
    """The photos that can be measured, and by check why the others cannot; ends beside those before them."""
    seen: list[_Seen] = []
    refused: dict[str, Refusal] = {}
    for check in photos.chosen:
        settings = settings_of(replace(task, check=check), bench.data)
        name = name_of(check, photos)
        try:
            photo = decode(bench.photos.read(check.photo.name), name)
            seen.append(_Seen(check, name, photo, settings, _found(check, photo, settings, seen)))
        except CannotMeasure as error:
            refused[check.id] = error.refusal
    return seen, refused


def _found(
    check: Check, photo: Photo, settings: CheckSettings, before: Sequence[_Seen]
) -> Measurement | FaceMeasurement:
    if check.view in FACES:
        return face_of(photo, check.view, settings)
    return measured_beside(photo, settings, _views(before))


def _views(seen: Sequence[_Seen]) -> list[tuple[Photo, View]]:
    """The ends among them, as the combination wants them."""
    return [(each.photo, View(each.name, each.found)) for each in seen if isinstance(each.found, Measurement)]


def _end_part(seen: Sequence[_Seen], refused: Mapping[str, Refusal], task: Task, bench: Bench) -> _Part:
    """The end from all its photos."""
    views, settings = _views(seen), settings_of(task, bench.data)
    if not views:
        return _refusal(next(iter(refused.values())))
    try:
        result = combined(views, (), settings)
    except CannotMeasure as error:
        return _refusal(error.refusal)
    side = result.end.measurement.placement.side
    picture = draw_overlay(result.photo, result.report, units=task.person.units, card_side=side)
    words = {units: _end_words(result, units) for units in ALL_UNITS}
    return _Part(result.to_dict(), words, keep_drawing(picture, bench))


def _end_words(result: SameEndResult, units: Units) -> dict[str, Any]:
    used = sum(role.used for role in result.end.roles)
    return report_words(result.report, units, used) | {"agreement": same_end_sentences(result.end, units)}


def _board_part(seen: Sequence[_Seen], refused: Mapping[str, Refusal], task: Task, bench: Bench) -> _Part:
    """The newest end and the faces in depth."""
    end = next((each for each in seen if each.check.id == task.check.id), None)
    faces = [each for each in seen if isinstance(each.found, FaceMeasurement)]
    if end is None or not faces:
        return _refusal(next(iter(refused.values())))
    assert isinstance(end.found, Measurement)
    try:
        report = judged(end.found, [cast(FaceMeasurement, face.found) for face in faces], end.settings)
    except CannotMeasure as error:
        return _refusal(error.refusal)
    shown: dict[ViewName, _Seen] = {"end": end, **{cast(FaceMeasurement, face.found).view: face for face in faces}}
    words = {units: board_words(report, units) for units in ALL_UNITS}
    result = board_dict(report, {view: each.name for view, each in shown.items()})
    return _Part(result, words, keep_drawing(_drawn(shown, report, task), bench))


def _drawn(shown: Mapping[ViewName, _Seen], report: BoardReport, task: Task) -> Any:
    photos = {view: each.photo for view, each in shown.items()}
    return draw_board_photos(photos, report, units=task.person.units, card_side=shown["end"].settings.card_side)


def _refusal(refusal: Refusal) -> _Part:
    words = refusal_words(refusal)
    return _Part(refusal_dict(refusal), dict.fromkeys(ALL_UNITS, words))
