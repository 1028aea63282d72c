"""The photos of a board put together by a worker, whenever their answers have changed; and which of them count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.domain.check import Answer, Check
from service.domain.job import Job
from service.domain.together import Together, basis_of, belonging, candidates
from service.use_cases.forget_photos import forget_photos
from service.use_cases.keep_pictures import with_pictures_stored
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import board_to_change


@dataclass(frozen=True)
class Photos:
    """What a worker puts together: `chosen` of `all` photos of the board, oldest first."""

    chosen: Sequence[Check]
    all: Sequence[Check]

    @property
    def newest_end(self) -> Check:
        """The end by which the board stands."""
        return [check for check in self.chosen if check.view == "end"][-1]


def ask_together(uow: UnitOfWork, board_id: str, left_out: Sequence[str] | None = None) -> None:
    """A job for the board, if its photos have all been answered and not just so put together before.

    `left_out` are photos that are not wanted in from now on; None leaves that as it is.
    """
    checks = uow.checks.of_boards([board_id])
    before = uow.together.of_board(board_id) or Together(board_id)
    wanted = before if left_out is None else replace(before, left_out=tuple(left_out))
    if any(check.state == "waiting" for check in checks):
        return uow.together.put(wanted) if wanted != before else None  # asked again when the last answer comes
    chosen = belonging(checks, wanted.left_out)
    basis = basis_of(chosen)
    if basis != before.basis:
        wanted = wanted.asked(basis)
        _queue(uow, board_id, chosen)
    if wanted != before:
        uow.together.put(wanted)
    return None


def _queue(uow: UnitOfWork, board_id: str, chosen: Sequence[Check]) -> None:
    """One job for the board in place of any before, since its photos' last answer; none when too few belong."""
    uow.jobs.drop_board(board_id)
    answered = [check.answer.answered_at or check.sent_at for check in chosen if check.answer]
    if answered:
        uow.jobs.add(Job(board_id, "", max(answered), board=board_id))


def photos_of(uow: UnitOfWork, board_id: str) -> Photos | None:
    """What the board's job is about; None when too few of its photos belong together by now."""
    together = uow.together.of_board(board_id)
    checks = uow.checks.of_boards([board_id])
    chosen = belonging(checks, together.left_out) if together else ()
    return Photos(chosen, checks) if chosen else None


def finish_together(job: Job, answer: Answer, ports: Ports) -> bool:
    """Write the answer down and drop the job; False when the job is no longer this worker's."""
    with ports.unit_of_work() as uow:
        uow.lock_photos()
        if not uow.jobs.remove(job):
            return False
        before = uow.together.of_board(job.board) or Together(job.board)
        uow.together.put(before.answered(with_pictures_stored(answer, ports)))
        uow.commit()
    forget_photos(before.stored_names, ports)
    return True


def give_up_together(uow: UnitOfWork, board_id: str, answer: Answer) -> None:
    """The last attempt failed."""
    before = uow.together.of_board(board_id)
    if before is not None:
        uow.together.put(before.given_up(answer))


def choose_photos(person: str, board_id: str, chosen: Sequence[str], ports: Ports) -> Together | None:
    """Put together these photos of a board from now on. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        board_to_change(board_id, uow.people.get(person), uow)
        before = uow.together.of_board(board_id)
        known = [check.id for check in candidates(uow.checks.of_boards([board_id]))]
        ask_together(uow, board_id, [check for check in known if check not in chosen])
        after = uow.together.of_board(board_id)
        uow.commit()
    if before and not (after and after.answer):
        forget_photos(before.stored_names, ports)
    ports.runner.wake()
    return after
