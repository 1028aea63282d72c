"""The main job: one photo in, its result out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

import numpy.ma  # noqa: F401  (numpy's medians load it when first called: better here, while the photo is being read)

from calibration.outcome import CannotMeasure, Refusal, refuse
from calibration.prints.known import NOTHING_KNOWN, Known
from service.measuring.camera_choice import NO_CAMERAS, Cameras
from service.measuring.reading import load_photo
from vision.answer.result import Report
from vision.end.check import measure_end
from vision.end.report import CardSide, Measurement, Stage
from vision.joint.seating import Limits, Prediction, predict_seating
from vision.photo.photo import Photo
from vision.walls.placed import ToldWall

Result = TypeVar("Result")


@dataclass(frozen=True)
class CheckSettings:
    """What a person may tell the check: everything else it finds for itself. `baseline_depth_mm` is the sockets'.

    `known` is what was measured beforehand, such as the print; `cameras` the profiles that photos may use; `walls` the
    row of walls as a person corrected it, empty for the program's own.
    """

    stage: Stage | None = None
    card_side: CardSide = "show"
    species: str | None = None
    baseline_depth_mm: float | None = None
    limits: Limits = field(default_factory=Limits)
    known: Known = NOTHING_KNOWN
    cameras: Cameras = NO_CAMERAS
    walls: tuple[ToldWall, ...] = ()


def check_photo(photo: Photo, settings: CheckSettings) -> Report | Refusal:
    """The result for a decoded photo: measured, or the reason why not."""
    try:
        measurement = measure_photo(photo, settings)
        return Report(photo.name, measurement, predict(measurement, settings))
    except CannotMeasure as error:
        return error.refusal


def measure_photo(photo: Photo, settings: CheckSettings) -> Measurement:
    """What a decoded photo shows, before any verdict. Raises CannotMeasure."""
    known = known_of(photo, settings)
    return measure_end(photo, stage=settings.stage, card_side=settings.card_side, known=known, told=settings.walls)


def known_of(photo: Photo, settings: CheckSettings) -> Known:
    """What is known of this photo: the camera's profile with the rest. Raises CannotMeasure `other_camera`."""
    profile = settings.cameras.of(photo)
    return settings.known if profile is None else replace(settings.known, lens=profile)


def measured_or_refused(path: Path, measure: Callable[[Photo], Result]) -> Result | Refusal:
    """What `measure` finds in the photo of that file, or why it cannot."""
    try:
        return measure(load_photo(path))
    except CannotMeasure as error:
        return error.refusal


def predict(measurement: Measurement, settings: CheckSettings) -> Prediction:
    """What the pins will do. Raises CannotMeasure when the walls that were found cannot belong to one row of tails."""
    try:
        return predict_seating(
            measurement.walls,
            measurement.width,
            measurement.thickness,
            species=settings.species,
            limits=settings.limits,
            socket_depth_mm=settings.baseline_depth_mm,
        )
    except ValueError as error:
        raise refuse("kerfs_do_not_pair", f"({error}.)") from error
