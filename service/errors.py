"""What goes wrong on the command line, and how a person is told."""

from __future__ import annotations

import logging
import sys

from service.status import Status


class UsageError(Exception):
    """A request that cannot be carried out as it was made; its text says why and what to do instead."""


def complain(message: str, status: int) -> int:
    """Say `message` on stderr and hand back the exit status."""
    print(f"tailproof: {message}", file=sys.stderr)
    return int(status)


def report_fault(error: Exception, about: str = "") -> int:
    """Tell of a fault of the program's own, `about` a photo if given; --debug logs where it happened."""
    logging.getLogger("tailproof").debug("fault", exc_info=error)
    what = f"{type(error).__name__}: {error}".rstrip(": ")
    where = f"{about}: " if about else ""
    return complain(
        f"{where}a fault in the program ({what}), not in your photo. Please report this line, the command and the"
        " photo; --debug shows where it happened.",
        Status.FAULT,
    )
