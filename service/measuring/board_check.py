"""The job of `board`: photos of one board's end and faces in, one result out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from calibration.outcome import CannotMeasure, Refusal, refuse
from service.measuring.checking import CheckSettings, known_of, measure_photo
from service.measuring.reading import load_photo
from vision.answer.result import refusal_dict
from vision.board.judge import BoardReport, judge_board
from vision.board.result import board_dict
from vision.board.views import ViewName
from vision.end.report import Measurement
from vision.face.measure import measure_face
from vision.face.report import FaceMeasurement, FaceView
from vision.photo.photo import Photo

MeasureEnd = Callable[[Photo, CheckSettings], Measurement]
MeasureFace = Callable[[Photo, FaceView, CheckSettings], FaceMeasurement]


@dataclass(frozen=True)
class BoardPhotos:
    """Where the photos of one board are; one of the faces may be missing."""

    end: Path
    show: Path | None = None
    transfer: Path | None = None

    def faces(self) -> Iterator[tuple[FaceView, Path]]:
        """The faces that there are photos of."""
        if self.show is not None:
            yield "show", self.show
        if self.transfer is not None:
            yield "transfer", self.transfer

    @property
    def files(self) -> dict[ViewName, str]:
        """The photos' names by view."""
        named: dict[ViewName, str] = {"end": str(self.end)}
        return named | {view: str(path) for view, path in self.faces()}


@dataclass(frozen=True)
class BoardResult:
    """The board's report from those photos; `refused` are the faces that could not be measured."""

    photos: BoardPhotos
    report: BoardReport
    refused: dict[FaceView, Refusal]

    def to_dict(self) -> dict[str, Any]:
        """The result JSON."""
        return board_dict(self.report, self.photos.files, self.refused)


@dataclass(frozen=True)
class RefusedBoard:
    """Why nothing can be said of the board, and the photo that it is about (None: all together)."""

    refusal: Refusal
    file: str | None = None

    def to_dict(self) -> dict[str, Any]:
        """The result JSON."""
        named = {} if self.file is None else {"file": self.file}
        return named | refusal_dict(self.refusal)


def face_of(photo: Photo, view: FaceView, settings: CheckSettings) -> FaceMeasurement:
    """What a decoded photo of a face shows. Raises CannotMeasure."""
    return measure_face(photo, view, stage=settings.stage, known=known_of(photo, settings))


def check_board(
    photos: BoardPhotos,
    settings: CheckSettings,
    *,
    measure_end: MeasureEnd = measure_photo,
    measure_face: MeasureFace = face_of,
) -> BoardResult | RefusedBoard:
    """The result of all photos of one board together; the end, and at least one face, must be measurable."""
    try:
        end = measure_end(load_photo(photos.end), settings)
    except CannotMeasure as error:
        return RefusedBoard(error.refusal, str(photos.end))
    faces, refused = _faces(photos, settings, measure_face)
    if not faces:
        view, refusal = next(iter(refused.items()))
        return RefusedBoard(refusal, photos.files[view])
    try:
        return BoardResult(photos, judged(end, faces, settings), refused)
    except CannotMeasure as error:
        return RefusedBoard(error.refusal)


def _faces(
    photos: BoardPhotos, settings: CheckSettings, measure: MeasureFace
) -> tuple[list[FaceMeasurement], dict[FaceView, Refusal]]:
    """The faces that can be measured, and why the others cannot."""
    faces: list[FaceMeasurement] = []
    refused: dict[FaceView, Refusal] = {}
    for view, path in photos.faces():
        try:
            faces.append(measure(load_photo(path), view, settings))
        except CannotMeasure as error:
            refused[view] = error.refusal
    return faces, refused


def judged(end: Measurement, faces: Sequence[FaceMeasurement], settings: CheckSettings) -> BoardReport:
    """The report on an end and its faces. Raises CannotMeasure when the walls cannot belong to one row of tails."""
    try:
        return judge_board(
            end, faces, species=settings.species, limits=settings.limits, depth_mm=settings.baseline_depth_mm
        )
    except ValueError as error:
        raise refuse("kerfs_do_not_pair", f"({error}.)") from error
