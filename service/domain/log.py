"""The practice log: which boards to show, and in what portions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.board import Board, Standing

PAGE_SIZE = 24
MOST_PAGES = 10_000


@dataclass(frozen=True)
class Wanted:
    """A person's boards, narrowed: `text` in name, notes, plan, saw or species; days are in UTC, both included."""

    person: str
    text: str = ""
    standing: Standing | None = None
    species: str = ""
    saw: str = ""
    since: date | None = None
    until: date | None = None
    page: int = 1

    @property
    def words(self) -> tuple[str, ...]:
        """What is searched for, all of which a board must hold."""
        return tuple(self.text.casefold().split())


def searched_text(board: Board) -> str:
    """All that a board is searched by, capitals or not."""
    details = board.details
    return "\n".join((board.name, details.species, details.saw, details.plan, details.notes)).casefold()


@dataclass(frozen=True)
class LogPage:
    """One portion, of `size` boards, of those that were wanted, in their order, and how many there are in all."""

    boards: Sequence[Board]
    total: int
    page: int
    size: int = PAGE_SIZE

    @property
    def pages(self) -> int:
        """How many portions there are, at least one."""
        return max(1, -(-self.total // self.size))

    @property
    def waits(self) -> bool:
        """Whether a board of this portion is being measured."""
        return any(board.standing == "waiting" for board in self.boards)


@dataclass(frozen=True)
class Choices:
    """What a person's boards can be narrowed to."""

    species: tuple[str, ...] = ()
    saws: tuple[str, ...] = ()
