"""What happened to the invented boards once they were measured: walls corrected, joints driven, boards reviewed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from service.demo.drawing import HEIGHT_PX, WIDTH_PX
from service.demo.driving import decision, fault, outcomes, worst_walls
from service.demo.enrolment import Clock, Enrolled
from service.demo.school import School
from service.domain.board import Board
from service.domain.check import Check
from service.domain.correction import lines_of
from service.domain.person import Person
from service.domain.review import Decision, Mark
from service.domain.wall_line import WallLine
from service.use_cases.correct_walls import correct_walls
from service.use_cases.keep_log import look_at_board, note_fits
from service.use_cases.ports import Ports
from service.use_cases.review_board import Judgement, note_seen, review_board

QUEUE = timedelta(days=6)
"""Younger boards still wait for their review."""
REVIEWED_AFTER, SEEN_AFTER, DRIVEN_AFTER = timedelta(hours=20), timedelta(hours=30), timedelta(days=2)
SEEN, DRIVEN_ANYHOW = 0.85, 0.3
"""How many reviews were seen, and how many joints that should not were driven all the same."""
DRIVEN: tuple[str, ...] = ("transfer", "pare")
CORRECTED_PX, ZOOM = 2.0, 6.0
"""How far one wall was dragged at its far end, in pixels of the photo, and how large it was seen."""
MOST_MARKS = 2


@dataclass(frozen=True)
class Aftermath:
    """All of it; `work` has the photo measured that waits for it."""

    school: School
    enrolled: Enrolled
    ports: Ports
    clock: Clock
    rng: np.random.Generator
    work: Callable[[], None]

    def happen(self, midnight: datetime) -> None:
        """To every board that is old enough, in the order they came."""
        old = [board for board in self._boards() if board.created < midnight - QUEUE]
        handed_in = [board for board in old if board.assignment]
        self._correct(handed_in[-1])
        for board in old:
            check = self._measured(board)
            if check is not None:
                decided = self._review(board, check) if board.assignment else check.advice
                self._drive(board, check, decided)

    def _boards(self) -> Sequence[Board]:
        with self.ports.reading() as uow:
            boards = [board for person in self.enrolled.people.values() for board in uow.boards.all_of(person.id)]
        return sorted(boards, key=lambda board: (board.created, board.id))

    def _measured(self, board: Board) -> Check | None:
        checks = look_at_board(board.person, board.id, self.ports).checks
        return next((check for check in reversed(checks) if check.advice), None)

    def _correct(self, board: Board) -> None:
        """An instructor drags the far end of one wall."""
        check = self._measured(board)
        lines = lines_of(check) if check else ()
        if check is None or not lines:
            return
        last = lines[-1]
        moved = WallLine(last.show_px, (last.transfer_px[0] + CORRECTED_PX, last.transfer_px[1]), ZOOM)
        with self.clock.at(board.created + REVIEWED_AFTER):
            why = self.school.remarks["correction"]
            correct_walls(self._instructor(board).id, check.id, [*lines[:-1], moved], why, self.ports)
            self.work()

    def _instructor(self, board: Board) -> Person:
        """One of those of the class that the board was handed in to."""
        titles = {task.title: course for course in self.school.courses for task in course.tasks}
        logins = titles[board.assignment_title].instructors
        return self.enrolled.people[logins[int(self.rng.integers(len(logins)))]]

    def _review(self, board: Board, check: Check) -> Decision:
        """A decision with a remark and marks, which the student mostly saw."""
        assert check.answer is not None
        walls, decided = check.answer.result["walls"], decision(check.advice, self.rng)
        said = self._marked(Judgement(decided, self._remark(fault(walls))), check)
        with self.clock.at(board.created + REVIEWED_AFTER):
            review = review_board(self._instructor(board), board.id, said, self.ports)
        if self.rng.random() < SEEN:
            with self.clock.at(board.created + SEEN_AFTER):
                note_seen(self._person(board), review.id, self.ports)
        return decided

    def _person(self, board: Board) -> Person:
        return next(person for person in self.enrolled.people.values() if person.id == board.person)

    def _remark(self, which: str) -> str:
        remarks: list[str] = self.school.remarks[which]
        return remarks[int(self.rng.integers(len(remarks)))]

    def _marked(self, said: Judgement, check: Check) -> Judgement:
        """With a mark on each of the worst walls, where the answer tells where they are in the picture."""
        lines = lines_of(check)
        assert check.answer is not None
        walls = check.answer.result["walls"]
        worst = worst_walls(walls, MOST_MARKS) if len(lines) == len(walls) else []
        if not worst:
            return said
        marks = tuple(self._mark(lines[number], walls[number]["lean_deg"]) for number in worst)
        return replace(said, marks=marks, check=check.id, picture=check.answer.pictures.screen)

    def _mark(self, line: WallLine, lean_deg: float) -> Mark:
        x, y = (float(np.mean(ends)) for ends in zip(line.show_px, line.transfer_px, strict=True))
        return Mark(x / WIDTH_PX, y / HEIGHT_PX, self.school.remarks["mark_left" if lean_deg < 0 else "mark_right"])

    def _drive(self, board: Board, check: Check, decided: str) -> None:
        """The joint driven, and how every pin fitted."""
        assert check.answer is not None
        if decided in DRIVEN or self.rng.random() < DRIVEN_ANYHOW:
            with self.clock.at(board.created + DRIVEN_AFTER):
                note_fits(board.person, board.id, outcomes(check.answer.result["sockets"], self.rng), self.ports)
