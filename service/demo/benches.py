"""Worker processes that draw invented ends and measure them, as many as there are processors."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from service.demo.drawing import SawnEnd, draw_file
from service.domain.check import Answer
from service.jobs.measuring import Bench, measure
from service.threads import ONE_THREAD
from service.use_cases.answer_job import Task
from service.use_cases.ports import Ports


@dataclass(frozen=True)
class Benches:
    """The processes, and where they find photos and put pictures."""

    pool: ProcessPoolExecutor
    bench: Bench

    def draw(self, ends: Iterable[tuple[SawnEnd, int]]) -> Iterator[bytes]:
        """The pictures, as files, in their order, as soon as they are there."""
        drawn = [self.pool.submit(draw_file, end, seed) for end, seed in ends]
        return (each.result() for each in drawn)

    def measure(self, task: Task) -> Future[Answer]:
        """The answer to a task, when there is one."""
        return self.pool.submit(_measured, task, self.bench)


def _measured(task: Task, bench: Bench) -> Answer:
    """The answer, its pictures stored at once: there are hundreds of them, and nobody deletes any meanwhile."""
    answer = measure(task, bench)
    for picture in answer.files.values():
        bench.photos.put(picture, "JPEG")
    return replace(answer, files={})


@contextmanager
def open_benches(ports: Ports, data: Path) -> Iterator[Benches]:
    """Started afresh rather than copied, so that nothing of this process is in them, and alike on every system."""
    fresh = multiprocessing.get_context("spawn")
    os.environ |= ONE_THREAD
    with ProcessPoolExecutor(os.cpu_count() or 1, mp_context=fresh) as pool:
        yield Benches(pool, Bench(ports.photos, data))
