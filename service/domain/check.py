"""One photo of a board and what became of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Literal

View = Literal["end", "face"]
"""What the photo shows: an end beside the card, to be measured, or a face, kept for the record."""

Stage = Literal["sawn", "cleared"]
CardSide = Literal["show", "transfer"]
CheckState = Literal["waiting", "measured", "refused", "failed", "kept"]


@dataclass(frozen=True)
class StoredPhoto:
    """A photo in the photo store, by the name it has there; `kind` as `vision.photo.decode` tells it."""

    name: str
    kind: str


@dataclass(frozen=True)
class Told:
    """What a person told about this one photo; None is for the program to find."""

    stage: Stage | None = None
    card_side: CardSide = "show"


@dataclass(frozen=True)
class Pictures:
    """Names in the photo store of what was drawn: the result, the photo for a screen, and a small one; or empty."""

    overlay: str = ""
    screen: str = ""
    thumbnail: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """All that there are."""
        return tuple(name for name in (self.overlay, self.screen, self.thumbnail) if name)


@dataclass(frozen=True)
class Answer:
    """What came of a photo. `result` is the result JSON (schema 1), `words` the same in sentences, by units."""

    result: dict[str, Any]
    words: dict[str, Any]
    pictures: Pictures = Pictures()
    answered_at: datetime | None = None
    seconds: float = 0.0


@dataclass(frozen=True)
class Check:
    """One photo of one board. `sent_sha256` is of the file as it was sent: the same photo twice is one check."""

    id: str
    board: str
    person: str
    photo: StoredPhoto
    sent_sha256: str
    sent_at: datetime
    view: View = "end"
    told: Told = field(default_factory=Told)
    state: CheckState = "waiting"
    answer: Answer | None = None

    @property
    def advice(self) -> str:
        """The board's advice by this photo; empty unless it was measured."""
        return str(self.answer.result.get("advice", "")) if self.state == "measured" and self.answer else ""

    @property
    def stored_names(self) -> tuple[str, ...]:
        """Everything in the photo store that belongs to this check."""
        return (self.photo.name, *(self.answer.pictures.names if self.answer else ()))

    def answered(self, answer: Answer) -> Check:
        """This check with its answer. A face is only kept."""
        if self.view == "face":
            return replace(self, state="kept", answer=answer)
        return replace(self, state="measured" if answer.result.get("ok") else "refused", answer=answer)

    def given_up(self, answer: Answer) -> Check:
        """This check after the last attempt failed."""
        return replace(self, state="failed", answer=answer)

    def again(self, told: Told) -> Check:
        """This check waiting once more, with what is now told of the photo; its pictures stay until then."""
        return replace(self, told=told, state="waiting")
