"""How often somebody may fail, to sign in or to tell a join code, before they have to wait."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from threading import Lock

MOST_FAILURES, WITHIN = 5, timedelta(minutes=5)
MOST_WRONG_CODES, CODES_WITHIN = 100, timedelta(hours=1)
"""A school behind one address may mistype its codes a hundred times at the beginning of a lesson. Whoever guesses finds
the code of a class among 64 x 64 x 900 in two years on average, of one of ten classes in five months, and is then one
student more in it, whom everybody sees there."""
MOST_FROM_AN_ADDRESS, FROM_AN_ADDRESS_WITHIN = 200, timedelta(hours=1)
"""Failures to sign in as anybody. Thirty students behind one address of whom each fails until their own name is shut
make 150; whoever tries one name after the other gets no further than this."""
MOST_KEPT = 10_000
"""Names and addresses remembered; past that the oldest is forgotten, so that nobody can fill the memory."""


@dataclass
class Throttle:
    """Failures by any key, such as a name and an address, `within` the last minutes; with `most` of them it is shut."""

    most: int = MOST_FAILURES
    within: timedelta = WITHIN
    _failures: dict[str, deque[datetime]] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def is_shut(self, key: str, now: datetime) -> bool:
        """Whether this key has failed too often of late."""
        with self._lock:
            recent = self._failures.get(key, deque())
            while recent and now - recent[0] > self.within:
                recent.popleft()
            return len(recent) >= self.most

    def note_failure(self, key: str, now: datetime) -> None:
        """One more."""
        with self._lock:
            self._failures.setdefault(key, deque(maxlen=self.most)).append(now)
            while len(self._failures) > MOST_KEPT:
                del self._failures[next(iter(self._failures))]
