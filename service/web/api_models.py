"""The JSON of the API: what goes in and what comes out, as OpenAPI describes it."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from service.domain.board import LONGEST_NAME, LONGEST_TEXT, THICKEST_MM, THINNEST_MM, Board, Details, Standing
from service.domain.check import CardSide, Check, CheckState, Stage, Told, View
from service.domain.fit import MOST_SOCKETS, Fit, Outcome
from service.domain.how_cut import LONGEST, HowCut
from service.domain.review import Decision
from service.practice.slopes import Slopes, SlopeWord
from service.web.api_together import TogetherModel
from vision.drill.review import Advice as WorkOn

TYPED = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f]*$"
"""What a keyboard writes: no control characters but tabs and new lines."""
Short = Annotated[str, Field(max_length=LONGEST_NAME, pattern=TYPED)]
_LEAN = r"(left|right|-?([0-9]|1[0-4])(\.[0-9]{1,4})?|-?15)"
_SIDE = "(both|left|right)"
Order = Annotated[str, Field(max_length=LONGEST, pattern=r"^(left-to-right|right-to-left|[0-9]{1,3}(,[0-9]{1,3})*)$")]
Leans = Annotated[str, Field(max_length=LONGEST, pattern=f"^{_LEAN}(,{_LEAN})*$")]
Sides = Annotated[str, Field(max_length=LONGEST, pattern=f"^{_SIDE}(,{_SIDE})*$")]


class Model(BaseModel):
    """What all share: nothing unknown is taken silently."""

    model_config = ConfigDict(extra="forbid")


class DetailsModel(Model):
    """What a person says of a board."""

    species: Short = ""
    thickness_mm: Annotated[float | None, Field(ge=THINNEST_MM, le=THICKEST_MM)] = None
    saw: Short = ""
    plan: Annotated[str, Field(max_length=400, pattern=TYPED)] = ""
    notes: Annotated[str, Field(max_length=LONGEST_TEXT, pattern=TYPED)] = ""
    print: Short = ""

    def details(self) -> Details:
        """As a value of the domain."""
        return Details(self.species, self.thickness_mm, self.saw, self.plan, self.notes, self.print)

    @classmethod
    def of(cls, details: Details) -> DetailsModel:
        """From a value of the domain."""
        return cls(
            species=details.species,
            thickness_mm=details.thickness_mm,
            saw=details.saw,
            plan=details.plan,
            notes=details.notes,
            print=details.print,
        )


class BoardWanted(Model):
    """A board to make or to change; an empty name becomes the day."""

    name: Short = ""
    details: DetailsModel = DetailsModel()


class HowCutModel(Model):
    """How practice cuts were made, in the words that `tailproof drill` takes."""

    order: str = HowCut.order
    intended: str = HowCut.intended
    keep: str = HowCut.keep


class HowCutWanted(HowCutModel):
    """The same as a program is to tell it: people may write it with spaces."""

    order: Order = HowCut.order
    intended: Leans = HowCut.intended
    keep: Sides = HowCut.keep


class ToldModel(Model):
    """What is told of one photo; null is for the program to find. `how_cut` is of practice cuts alone."""

    stage: Stage | None = None
    card_side: CardSide = "show"
    how_cut: HowCutModel = HowCutModel()

    def told(self) -> Told:
        """As a value of the domain. Raises MistakeError for how practice cuts were made."""
        return Told(self.stage, self.card_side, how_cut=HowCut(**dict(self.how_cut)))

    @classmethod
    def of(cls, told: Told) -> ToldModel:
        """From a value of the domain."""
        return cls(stage=told.stage, card_side=told.card_side, how_cut=HowCutModel(**asdict(told.how_cut)))


class AgainModel(ToldModel):
    """What is told of a photo to measure once more; a null `view` leaves it what it was."""

    how_cut: HowCutWanted = HowCutWanted()
    view: Literal["end", "drill", "show", "transfer"] | None = None


class CheckModel(Model):
    """One photo and its answer. `result` is the result JSON (schema 1); `words` the same in sentences, by units.

    `corrected` when somebody corrected the walls: then `original` is the result as the program had it by itself.
    """

    id: str
    board: str
    view: View
    state: CheckState
    sent_at: datetime
    answered_at: datetime | None
    seconds: float | None
    told: ToldModel
    result: dict[str, Any] | None
    words: dict[str, Any] | None
    pictures: dict[str, str]
    corrected: bool
    original: dict[str, Any] | None

    @classmethod
    def of(cls, check: Check) -> CheckModel:
        """From a value of the domain."""
        answer = check.answer if check.state != "waiting" else None
        return cls(
            id=check.id,
            board=check.board,
            view=check.view,
            state=check.state,
            sent_at=check.sent_at,
            answered_at=answer.answered_at if answer else None,
            seconds=answer.seconds if answer else None,
            told=ToldModel.of(check.told),
            result=answer.result or None if answer else None,
            words=answer.words or None if answer else None,
            pictures=picture_addresses(check),
            corrected=check.corrected,
            original=check.original.result if check.original else None,
        )


class FitModel(Model):
    """How one socket fitted, counted from 0."""

    socket: Annotated[int, Field(ge=0, lt=MOST_SOCKETS)]
    outcome: Outcome

    @classmethod
    def of(cls, fit: Fit) -> FitModel:
        """From a value of the domain."""
        return cls(socket=fit.socket, outcome=fit.outcome)


class BoardModel(Model):
    """A board as the log lists it. `assignment` is the id of what it was handed in to; its title outlives the class.

    `decision` is that of the newest review; `standing` is the tool's own. `work_on` is what practice cuts say.
    """

    id: str
    name: str
    created: datetime
    standing: Standing
    details: DetailsModel
    assignment: str | None
    assignment_title: str
    handed_in: datetime | None
    decision: Decision | None
    reviewed_at: datetime | None
    work_on: WorkOn | None

    @classmethod
    def of(cls, board: Board) -> BoardModel:
        """From a value of the domain."""
        return cls(
            id=board.id,
            name=board.name,
            created=board.created,
            standing=board.standing,
            details=DetailsModel.of(board.details),
            assignment=board.assignment or None,
            assignment_title=board.assignment_title,
            handed_in=board.handed_in,
            decision=board.decision or None,  # type: ignore[arg-type]
            reviewed_at=board.reviewed_at,
            work_on=board.work_on or None,  # type: ignore[arg-type]
        )


class SlopeModel(Model):
    """One cut of a face: run over rise, its uncertainty (k = 2), and how that stands to the slopes asked for."""

    view: str
    tail: int
    side: str
    slope: float
    u95: float
    word: SlopeWord


class SlopesModel(Model):
    """The slopes of a board's faces beside those that its assignment asks for, and that in a sentence."""

    sentence: str
    cuts: list[SlopeModel]

    @classmethod
    def of(cls, slopes: Slopes | None) -> SlopesModel | None:
        """From a value of the practice log."""
        return None if slopes is None else cls.model_validate(slopes, from_attributes=True)


class WholeBoard(BoardModel):
    """A board with its photos, oldest first, how it fitted, and what the photos say together if they do.

    `slopes` is null where no assignment asks for any.
    """

    checks: list[CheckModel]
    fits: list[FitModel]
    fit_note: str
    together: TogetherModel | None
    slopes: SlopesModel | None


class Sent(Model):
    """What became of a photo that was sent; `known` when it had been sent before."""

    board: str
    check: str
    known: bool


class LogModel(Model):
    """One page of the log."""

    boards: list[BoardModel]
    total: int
    page: int
    pages: int


class SettingsModel(Model):
    """What a person chose."""

    units: Literal["mm", "inch"]


class Imported(Model):
    """What an import brought back: new boards and photos, and boards that were here already."""

    boards: int
    checks: int
    known: int


class Problem(Model):
    """Why a request was not carried out: `reason` for programs, the rest for people."""

    reason: str
    message: str
    what_to_do: str
    field: str | None = None


def picture_addresses(check: Check) -> dict[str, str]:
    """Where each of its pictures is served."""
    names = {"original": check.photo.name}
    if check.answer:
        pictures = check.answer.pictures
        names |= {"overlay": pictures.overlay, "screen": pictures.screen, "thumbnail": pictures.thumbnail}
    return {which: f"/pictures/{check.id}/{which}/{name}" for which, name in names.items() if name}
