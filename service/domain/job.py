"""Work that was accepted and is not done yet: one row each, worked off by workers that may die at any moment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

JobState = Literal["waiting", "running"]
MOST_ATTEMPTS = 3
"""A photo that killed its worker three times would kill a fourth."""


@dataclass(frozen=True)
class Job:
    """A check to answer, or a `board` whose photos are to be put together: one of the two is empty.

    `worker` holds it until `lease_until` (UTC); a finished job has no row any more.
    """

    id: str
    check: str
    created: datetime
    state: JobState = "waiting"
    attempts: int = 0
    worker: str = ""
    lease_until: datetime | None = None
    board: str = ""

    @property
    def exhausted(self) -> bool:
        """Whether it was tried as often as it may be."""
        return self.attempts >= MOST_ATTEMPTS
