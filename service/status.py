"""Exit statuses of the command."""

from __future__ import annotations

from enum import IntEnum

SIGNAL_BASE = 128
"""A shell's exit status for a program ended by signal n is 128 + n: 2 for Ctrl-C, 13 for a closed pipe."""


class Status(IntEnum):
    """How a command ended: all measured, a fault of the program, a mistake in the command, a photo refused."""

    MEASURED = 0
    FAULT = 1
    USAGE = 2
    REFUSED = 3
