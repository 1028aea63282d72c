"""Predictions against outcomes, once joints were driven: what was foretold of each socket, and what it did."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from service.practice.entries import DrivenBoard, Fit, PracticeBoard, Verdict

Floats = NDArray[np.float64]
Event = Literal["seats", "loose", "splitting"]

EVENTS: tuple[Event, ...] = ("seats", "loose", "splitting")
_HAPPENED: dict[Fit, Event] = {"seated": "seats", "loose": "loose", "split": "splitting"}


@dataclass(frozen=True)
class Outcome:
    """One driven socket: (3,) `chances` in the order of EVENTS, and what `happened`."""

    person: str
    species: str
    kind: str
    verdict: Verdict
    gap_mm: float
    squeeze_mm: float
    chances: tuple[float, float, float]
    happened: Event


def outcomes_of(boards: Iterable[PracticeBoard | DrivenBoard]) -> list[Outcome]:
    """Every socket that was driven and whose chances are known; those not assembled tell nothing."""
    return [
        Outcome(
            board.person,
            board.species,
            socket.kind,
            socket.verdict,
            socket.gap_mm,
            socket.squeeze_mm,
            (socket.chances.seats, socket.chances.loose, socket.chances.splitting),
            _HAPPENED[socket.fit],
        )
        for board in boards
        for socket in board.sockets
        if socket.chances is not None and socket.fit in _HAPPENED
    ]


def forecasts_of(outcomes: Sequence[Outcome], event: Event) -> tuple[Floats, Floats]:
    """(n,) probabilities that the event was given, and (n,) ones where it came."""
    index = EVENTS.index(event)
    chances = np.array([outcome.chances[index] for outcome in outcomes], float)
    return chances, np.array([outcome.happened == event for outcome in outcomes], float)


def grouped(outcomes: Iterable[Outcome], key: Callable[[Outcome], str]) -> dict[str, list[Outcome]]:
    """Outcomes by a word of theirs, such as species or person, in alphabetical order."""
    groups: dict[str, list[Outcome]] = {}
    for outcome in outcomes:
        groups.setdefault(key(outcome), []).append(outcome)
    return dict(sorted(groups.items()))
