"""One photo of a board and what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Literal, get_args

from service.domain.how_cut import HowCut
from service.domain.wall_line import WallLine

View = Literal["end", "drill", "show", "transfer", "face", "fit"]
"""What the photo shows: the end, practice cuts in a scrap's end or one of the faces, beside the card, to be measured;
or how the driven joint fitted.

A `face` without more was sent before faces were measured: which one it is, nobody said.
"""
FaceName = Literal["show", "transfer"]
FACES: tuple[FaceName, ...] = get_args(FaceName)
KEPT_VIEWS: tuple[View, ...] = ("face", "fit")
"""Kept for the record and not measured."""
MEASURED_VIEWS: tuple[View, ...] = ("end", "drill", *FACES)

Stage = Literal["sawn", "cleared"]
CardSide = Literal["show", "transfer"]
PHOTO_KINDS = ("JPEG", "PNG", "WEBP", "HEIF")
"""Kinds of photo that are stored, as `vision.photo.decode` tells them."""
CheckState = Literal["waiting", "measured", "refused", "failed", "kept"]


@dataclass(frozen=True)
class StoredPhoto:
    """A photo in the photo store, by the name it has there; `kind` is one of `PHOTO_KINDS`.

    The name is empty for one whose file was lost before it was exported.
    """

    name: str
    kind: str


@dataclass(frozen=True)
class Told:
    """What a person told about this one photo; None is for the program to find.

    `walls` is the row of walls as somebody corrected it, from left to right; empty for the program's own. `how_cut` is
    asked of practice cuts alone.
    """

    stage: Stage | None = None
    card_side: CardSide = "show"
    walls: tuple[WallLine, ...] = ()
    how_cut: HowCut = field(default_factory=HowCut)


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
    """What came of a photo. `result` is the result JSON (schema 1), `words` the same in sentences, by units.

    `files` are its pictures by name, as long as they are not stored: that is done when the answer is written down.
    """

    result: dict[str, Any]
    words: dict[str, Any]
    pictures: Pictures = Pictures()
    answered_at: datetime | None = None
    seconds: float = 0.0
    files: Mapping[str, bytes] = field(default_factory=dict, repr=False)


@dataclass(frozen=True)
class Check:
    """One photo of one board. `sent_sha256` is of the file as it was sent: the same photo twice is one check.

    `original` is the program's own answer while that of a corrected row of walls stands; `original_outdated` when wood,
    thickness or limits have changed since.
    """

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
    original: Answer | None = None
    original_outdated: bool = False

    @property
    def corrected(self) -> bool:
        """Whether its answer is, or soon will be, by walls that somebody corrected."""
        return self.original is not None

    @property
    def advice(self) -> str:
        """The board's advice by this photo; empty unless it was measured."""
        return str(self.answer.result.get("advice", "")) if self.state == "measured" and self.answer else ""

    @property
    def work_on(self) -> str:
        """What its practice cuts say to work on; empty unless they were measured."""
        measured = self.state == "measured" and self.view == "drill" and self.answer
        return str(self.answer.result.get("drill", {}).get("work_on", "")) if measured and self.answer else ""

    @property
    def stored_names(self) -> tuple[str, ...]:
        """Everything in the photo store that belongs to this check."""
        answers = [answer for answer in (self.answer, self.original) if answer is not None]
        own = (self.photo.name,) if self.photo.name else ()
        return (*own, *(name for answer in answers for name in answer.pictures.names))

    def answered(self, answer: Answer) -> Check:
        """This check with its answer. Some are only kept; walls that cannot be used leave the original standing."""
        if self.view in KEPT_VIEWS:
            return replace(self, state="kept", answer=answer)
        if self.corrected and not answer.result.get("ok"):
            return self.uncorrected()
        return replace(self, state="measured" if answer.result.get("ok") else "refused", answer=answer)

    def given_up(self, answer: Answer) -> Check:
        """This check after the last attempt failed."""
        return self.uncorrected() if self.corrected else replace(self, state="failed", answer=answer)

    def again(self, told: Told, view: View | None = None) -> Check:
        """This check waiting once more, with what is now told of the photo; its pictures stay until then."""
        return replace(self, told=told, view=view or self.view, state="waiting", original_outdated=self.corrected)

    def corrected_to(self, walls: tuple[WallLine, ...]) -> Check:
        """This check waiting to be measured by that row of walls; the program's own answer is kept."""
        kept = self.original or self.answer
        return replace(self, told=replace(self.told, walls=walls), state="waiting", original=kept)

    def uncorrected(self) -> Check:
        """This check as the program answered it by itself."""
        told = replace(self.told, walls=())
        return replace(self, told=told, state="measured", answer=self.original, original=None, original_outdated=False)
