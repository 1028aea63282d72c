"""Limits of one worker process, set by the operating system where it can."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Limits:
    """What one photo may take: seconds by the clock, and memory of the process in MB.

    A check of 12 megapixels takes a few seconds and 150 MB; 50 megapixels stay under a GB of address space on top of
    what libraries reserve.
    """

    seconds: float = 60.0
    memory_mb: int = 3072


def limit_memory(limits: Limits) -> None:
    """From now on this process gets no more memory than that: what asks for more raises MemoryError."""
    try:
        import resource
    except ImportError:  # no such thing on Windows
        return
    size = limits.memory_mb * 1_000_000
    hard = resource.getrlimit(resource.RLIMIT_AS)[1]
    resource.setrlimit(resource.RLIMIT_AS, (size if hard < 0 else min(size, hard), hard))


def limit_processor(limits: Limits) -> None:
    """This process is ended by the system when it computes on for that long: a second net below the supervisor's."""
    try:
        import resource
    except ImportError:
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    until = int(used.ru_utime + used.ru_stime + 2.0 * limits.seconds) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (until, resource.getrlimit(resource.RLIMIT_CPU)[1]))
