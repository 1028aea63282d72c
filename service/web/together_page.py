"""What the page of a board shows of its photos together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.domain.check import Check
from service.domain.person import Person
from service.domain.together import TogetherState, belonging, candidates
from service.use_cases.keep_log import BoardView


@dataclass(frozen=True)
class Choice:
    """A photo that could be among those put together; `number` counts the board's photos from the first sent."""

    check: Check
    number: int
    chosen: bool


@dataclass(frozen=True)
class TogetherShown:
    """The section of a board's page; `words` in the person's units, with a part `end` and a part `board` or None.

    `pictures` are addresses by part. A state of `ready` without words says that too few photos are chosen.
    """

    state: TogetherState
    words: Mapping[str, Any]
    pictures: Mapping[str, str]
    choices: Sequence[Choice]


def together_shown(view: BoardView, person: Person) -> TogetherShown | None:
    """What is shown of that board; None while there is nothing to put together."""
    choices, together = _choices(view), view.together
    could = bool(belonging(view.checks))
    if not could or together is None:
        return None
    words = together.answer.words.get(person.units, {}) if together.answer and together.state != "waiting" else {}
    return TogetherShown(together.state, words, picture_addresses(view), choices)


def picture_addresses(view: BoardView) -> dict[str, str]:
    """Where the drawings of each part are served."""
    if view.together is None or view.together.answer is None:
        return {}
    pictures = view.together.answer.pictures
    names = {"end": pictures.overlay, "board": pictures.screen}
    return {part: f"/boards/{view.board.id}/together/{part}/{name}" for part, name in names.items() if name}


def _choices(view: BoardView) -> list[Choice]:
    left_out = view.together.left_out if view.together else ()
    numbers = {check.id: number for number, check in enumerate(view.checks, start=1)}
    return [Choice(check, numbers[check.id], check.id not in left_out) for check in candidates(view.checks)]
