"""From a board of the log, with its packed rows, to one whose every wall and socket is a value."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from service.domain.fit import Fit
from service.domain.log_numbers import Logged, result_of, sockets_of
from service.practice.entries import DrivenBoard, PracticeBoard, PracticeSocket, with_fits
from service.practice.from_result import from_result, practice_socket


def practice_board(logged: Logged, person: str, fits: Sequence[Fit] = ()) -> PracticeBoard:
    """That board with how its sockets fitted; what was said of sockets that it does not have (any more) is left out."""
    board = from_result(
        result_of(logged),
        identity=logged.identity,
        date=logged.date,
        person=person,
        species=logged.species,
        saw=logged.saw,
        plan=logged.plan,
        assignment=logged.assignment,
        notes=logged.notes,
        name=logged.name,
    )
    board = replace(board, decision=logged.decision, corrected=logged.corrected)
    said = {fit.socket: fit.outcome for fit in fits}
    return with_fits(board, [said.get(index) for index in range(len(board.sockets))]) if said else board


def practice_boards(log: Mapping[Logged, Sequence[Fit]], person: str) -> list[PracticeBoard]:
    """All of them, in their order."""
    return [practice_board(logged, person, fits) for logged, fits in log.items()]


def driven_boards(log: Mapping[Logged, Sequence[Fit]], person: str) -> list[DrivenBoard]:
    """As much of them as predictions against outcomes need, in their order: the sockets of which somebody told."""
    return [DrivenBoard(person, logged.species, _driven(logged, fits)) for logged, fits in log.items()]


def _driven(logged: Logged, fits: Sequence[Fit]) -> tuple[PracticeSocket, ...]:
    sockets = sockets_of(logged)
    return tuple(practice_socket(sockets[fit.socket], fit.outcome) for fit in fits if fit.socket < len(sockets))
