"""From a board of the log, with its packed rows, to one whose every wall and socket is a value."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.domain.fit import Fit
from service.domain.log_numbers import Logged, result_of
from service.practice.entries import PracticeBoard, with_fits
from service.practice.from_result import from_result


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
    said = {fit.socket: fit.outcome for fit in fits}
    return with_fits(board, [said.get(index) for index in range(len(board.sockets))]) if said else board


def practice_boards(log: Mapping[Logged, Sequence[Fit]], person: str) -> list[PracticeBoard]:
    """All of them, in their order."""
    return [practice_board(logged, person, fits) for logged, fits in log.items()]
