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
    _limit(resource.RLIMIT_AS, limits.memory_mb * 1_000_000)


def limit_processor(limits: Limits) -> None:
    """This process is ended by the system when it computes on for that long: a second net below the supervisor's."""
    try:
        import resource
    except ImportError:
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    _limit(resource.RLIMIT_CPU, int(used.ru_utime + used.ru_stime + 2.0 * limits.seconds) + 1)


def _limit(kind: int, most: int) -> None:
    """So much and no more, or less where the system allows less already."""
    import resource

    hard = resource.getrlimit(kind)[1]
    resource.setrlimit(kind, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))
