"""The JSON API of corrected walls: the lines of a photo, who corrected them, and putting others in their place."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter
from pydantic import Field
from starlette.responses import Response

from service.domain.correction import LONGEST_WHY, Correction, CorrectionState
from service.domain.fit import MOST_SOCKETS
from service.domain.wall_line import LARGEST_PX, LEAST_ZOOM, MOST_ZOOM, WallLine
from service.use_cases.correct_walls import correct_walls, look_at_corrections, look_at_walls, withdraw_correction
from service.web.api import PROBLEMS, Id
from service.web.api_models import TYPED, Model
from service.web.desk import Asking, AtDesk

router = APIRouter(prefix="/api/v1", responses=PROBLEMS)
Px = Annotated[float, Field(ge=0.0, le=LARGEST_PX)]


class LineModel(Model):
    """A wall's ends (x, y) in pixels of the upright photo.

    `zoom` is how many pixels of the screen one of the photo had when a person placed it; null for a line of the
    program's own, or one that was typed.
    """

    show_px: tuple[Px, Px]
    transfer_px: tuple[Px, Px]
    zoom: Annotated[float | None, Field(ge=LEAST_ZOOM, le=MOST_ZOOM)] = None

    def line(self) -> WallLine:
        """As a value of the domain."""
        return WallLine(self.show_px, self.transfer_px, self.zoom)

    @classmethod
    def of(cls, line: WallLine) -> LineModel:
        """From a value of the domain."""
        return cls(show_px=line.show_px, transfer_px=line.transfer_px, zoom=line.zoom)


class RowWanted(Model):
    """The whole row of walls from left to right; lines that are where they were stay what they are."""

    walls: Annotated[list[LineModel], Field(min_length=2, max_length=2 * MOST_SOCKETS)]
    why: Annotated[str, Field(max_length=LONGEST_WHY, pattern=TYPED)] = ""


class CorrectionModel(Model):
    """One person's row of walls for a photo, and what became of it."""

    id: str
    name: str
    made_at: datetime
    why: str
    state: CorrectionState
    advice: str
    said: str
    ended_at: datetime | None
    ended_name: str
    walls: list[LineModel]

    @classmethod
    def of(cls, correction: Correction) -> CorrectionModel:
        """From a value of the domain."""
        return cls(
            id=correction.id,
            name=correction.name,
            made_at=correction.made_at,
            why=correction.why,
            state=correction.state,
            advice=correction.advice,
            said=correction.said,
            ended_at=correction.ended_at,
            ended_name=correction.ended_name,
            walls=[LineModel.of(line) for line in correction.walls],
        )


@router.get("/checks/{check}/walls")
def get_walls(desk: AtDesk, person: Asking, check: Id) -> list[LineModel]:
    """The lines that a measured photo's answer rests on, from left to right, for somebody who may correct them."""
    return [LineModel.of(line) for line in look_at_walls(person.id, check, desk.ports).lines]


@router.put("/checks/{check}/walls", status_code=202)
def put_walls(desk: AtDesk, person: Asking, check: Id, wanted: RowWanted) -> CorrectionModel:
    """Measure the photo once more by these lines; the program's own answer is kept."""
    lines = [line.line() for line in wanted.walls]
    return CorrectionModel.of(correct_walls(person.id, check, lines, wanted.why, desk.ports))


@router.delete("/checks/{check}/walls", status_code=204)
def withdraw(desk: AtDesk, person: Asking, check: Id) -> Response:
    """The program's own lines and answer stand again."""
    withdraw_correction(person.id, check, desk.ports)
    return Response(status_code=204)


@router.get("/checks/{check}/corrections")
def get_corrections(desk: AtDesk, person: Asking, check: Id) -> list[CorrectionModel]:
    """Everything that was corrected of a photo's walls, oldest first."""
    return [CorrectionModel.of(each) for each in look_at_corrections(person.id, check, desk.ports)]
