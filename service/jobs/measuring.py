"""One stored photo to its answer, in numbers, words and pictures: the only place where the service measures."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from calibration.outcome import CannotMeasure, Refusal
from calibration.prints.known import Known, told_size
from service.domain.check import Answer, Pictures
from service.jobs.answer_words import refusal_words, report_words
from service.jobs.pictures import store_pictures
from service.kept.camera_store import CameraStore
from service.kept.print_store import PrintStore, print_named
from service.measuring.camera_choice import cameras_named
from service.measuring.checking import CheckSettings, check_photo
from service.use_cases.answer_job import Assignment
from service.use_cases.ports import PhotoStore
from vision.answer.overlay import draw_overlay
from vision.answer.result import Report, refusal_dict, result_dict
from vision.joint.species import find_species
from vision.photo.decode import decode
from vision.photo.photo import Photo


@dataclass(frozen=True)
class Bench:
    """Where a worker measures: the photos, and the folder of kept prints and camera profiles."""

    photos: PhotoStore
    data: Path


def measure(assignment: Assignment, bench: Bench) -> Answer:
    """The answer to an assignment. Raises whatever a fault of the program raises, and MemoryError."""
    started = time.monotonic()
    check = assignment.check
    try:
        photo = decode(bench.photos.read(check.photo.name), assignment.board.name)
        answer = _face(photo, bench) if check.view == "face" else _end(photo, assignment, bench)
    except CannotMeasure as error:
        answer = _refused(error.refusal, Pictures())
    return Answer(answer.result, answer.words, answer.pictures, seconds=time.monotonic() - started)


def _face(photo: Photo, bench: Bench) -> Answer:
    """A face is kept and shown, not measured."""
    return Answer({}, {}, store_pictures(photo, None, bench.photos))


def _end(photo: Photo, assignment: Assignment, bench: Bench) -> Answer:
    settings = _settings(assignment, bench.data)
    found = check_photo(photo, settings)
    if isinstance(found, Refusal):
        return _refused(found, store_pictures(photo, None, bench.photos))
    overlay = draw_overlay(photo, found, units=assignment.person.units, card_side=settings.card_side)
    return Answer(result_dict(found), _words(found), store_pictures(photo, overlay, bench.photos))


def _words(report: Report) -> dict[str, Any]:
    return {"mm": report_words(report, "mm"), "inch": report_words(report, "inch")}


def _refused(refusal: Refusal, pictures: Pictures) -> Answer:
    words = refusal_words(refusal)
    return Answer(refusal_dict(refusal), {"mm": words, "inch": words}, pictures)


def _settings(assignment: Assignment, data: Path) -> CheckSettings:
    """What was told of board and photo, and what is kept of print and cameras."""
    told, details = assignment.check.told, assignment.board.details
    size = told_size("thickness", details.thickness_mm) if details.thickness_mm else None
    return CheckSettings(
        stage=told.stage,
        card_side=told.card_side,
        species=_species(details.species),
        known=Known(print=print_named(None, PrintStore(data)), thickness=size),
        cameras=cameras_named(None, CameraStore(data)),
    )


def _species(name: str) -> str | None:
    """The wood by a name that the tables know; any other is only the person's own note."""
    try:
        return find_species(name).name
    except ValueError:
        return None
