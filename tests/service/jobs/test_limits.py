"""A worker gets no more memory than it is given."""

from __future__ import annotations

import subprocess
import sys

import pytest

pytest.importorskip("resource")


def told_by(code: str) -> str:
    """What a process of its own prints that runs that code."""
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout


def test_a_process_past_its_memory_gets_an_error_and_not_the_machines_last_byte() -> None:
    code = (
        "from service.jobs.limits import Limits, limit_memory; limit_memory(Limits(memory_mb=500))\n"
        "try: bytearray(900_000_000)\n"
        "except MemoryError: print('refused')"
    )
    assert told_by(code) == "refused\n"


def test_a_process_that_computes_on_and_on_is_ended_by_the_system() -> None:
    code = "from service.jobs.limits import Limits, limit_processor; limit_processor(Limits(seconds=0.1))"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\nwhile True: pass"], capture_output=True, timeout=60, check=False
    )
    assert done.returncode == -24  # SIGXCPU


def test_a_limit_that_the_system_sets_already_is_kept_and_stops_no_worker() -> None:
    code = (
        "import resource; resource.setrlimit(resource.RLIMIT_CPU, (60, 60))\n"
        "from service.jobs.limits import Limits, limit_processor; limit_processor(Limits(seconds=60.0))\n"
        "print(resource.getrlimit(resource.RLIMIT_CPU))"
    )
    assert told_by(code) == "(60, 60)\n"
