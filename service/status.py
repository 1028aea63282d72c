"""Exit statuses of the command."""

from __future__ import annotations

from enum import IntEnum


class Status(IntEnum):
    """How a command ended: all measured, a fault of the program, a mistake in the command, a photo refused."""

    MEASURED = 0
    FAULT = 1
    USAGE = 2
    REFUSED = 3
