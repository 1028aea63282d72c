"""The JSON of the API for the photos of a board together."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from service.domain.together import TogetherState
from service.use_cases.keep_log import BoardView
from service.web.together_page import picture_addresses


class PhotosWanted(BaseModel):
    """The checks to put together."""

    model_config = ConfigDict(extra="forbid")

    photos: Annotated[list[Annotated[str, Field(max_length=32)]], Field(max_length=1000)]


class TogetherModel(BaseModel):
    """What a board's photos say together: `end` from all photos of the end, `board` from end and faces, or null.

    Both are the result JSON of `tailproof check --same-end` and `tailproof board`, with photos named as in `photos`.
    """

    state: TogetherState
    photos: list[dict[str, str]]
    left_out: list[str]
    end: dict[str, Any] | None
    board: dict[str, Any] | None
    words: dict[str, Any] | None
    pictures: dict[str, str]

    @classmethod
    def of(cls, view: BoardView) -> TogetherModel | None:
        """From a board; None when there is nothing to put together."""
        together = view.together
        if together is None:
            return None
        answer = together.answer if together.state != "waiting" else None
        result = answer.result if answer else {}
        return cls(
            state=together.state,
            photos=result.get("photos", []),
            left_out=list(together.left_out),
            end=result.get("end"),
            board=result.get("board"),
            words=answer.words or None if answer else None,
            pictures=picture_addresses(view),
        )
