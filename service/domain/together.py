"""All photos of a board together: which of them belong, and what came of it. Every photo keeps its own answer."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service.domain.check import FACES, Answer, Check

TogetherState = Literal["waiting", "ready", "failed"]

MOST_ENDS = 6
"""As many photos of the end as one worker measures well within its time; the newest count."""


@dataclass(frozen=True)
class Together:
    """What a board's photos say together. `left_out` are checks that somebody does not want in.

    `basis` stands for the photos it is made from and their answers, empty when too few belong; `answer` has a part for
    the end's photos and one for end and faces, each drawn: `pictures.overlay` and `pictures.screen`. While it waits,
    the answer is that of before.
    """

    board: str
    left_out: tuple[str, ...] = ()
    basis: str = ""
    state: TogetherState = "ready"
    answer: Answer | None = None

    @property
    def stored_names(self) -> tuple[str, ...]:
        """Everything in the photo store that belongs to it."""
        return self.answer.pictures.names if self.answer else ()

    def asked(self, basis: str) -> Together:
        """The same waiting for the answer of other photos; without any there is none."""
        if not basis:
            return replace(self, basis="", state="ready", answer=None)
        return replace(self, basis=basis, state="waiting")

    def answered(self, answer: Answer) -> Together:
        """The same with its answer."""
        return replace(self, state="ready", answer=answer)

    def given_up(self, answer: Answer) -> Together:
        """The same after the last attempt failed."""
        return replace(self, state="failed", answer=answer)


def candidates(checks: Sequence[Check]) -> list[Check]:
    """The photos that could be put together: measured ends and faces, oldest first."""
    there = [check for check in checks if check.photo.name]
    found = [check for check in there if check.state == "measured" and (check.view == "end" or check.view in FACES)]
    return sorted(found, key=lambda check: (check.sent_at, check.id))


def belonging(checks: Sequence[Check], left_out: Sequence[str] = ()) -> tuple[Check, ...]:
    """The photos to put together: the newest ends and the newest of each face, oldest first.

    Empty unless there are two ends, or an end and a face.
    """
    wanted = [check for check in candidates(checks) if check.id not in left_out]
    ends = [check for check in wanted if check.view == "end"][-MOST_ENDS:]
    faces = {check.view: check for check in wanted if check.view in FACES}
    chosen = [*ends, *faces.values()]
    return tuple(sorted(chosen, key=lambda check: (check.sent_at, check.id))) if ends and len(chosen) > 1 else ()


def basis_of(chosen: Sequence[Check]) -> str:
    """What stands for these photos as they are answered now: other photos or other answers make another; or empty."""
    told = [f"{check.id} {check.view} {check.answer.answered_at}" for check in chosen if check.answer]
    return hashlib.sha256("\n".join(told).encode()).hexdigest() if told else ""
