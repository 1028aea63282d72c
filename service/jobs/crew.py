"""The supervisor: keeps worker processes alive, ends those that hang, and gives their jobs back."""

from __future__ import annotations

import contextlib
import logging
import os
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from datetime import timedelta

from service.jobs.given_up import gave_up
from service.jobs.limits import Limits
from service.jobs.worker import SPARE_S, Orders
from service.threads import ONE_THREAD
from service.use_cases.answer_job import release_jobs
from service.use_cases.ports import Ports

log = logging.getLogger("tailproof")
LOOK_EVERY_S = 0.5
RESTART_AFTER_S = 1.0
"""A worker that dies at once is not started again faster than this."""


@dataclass
class _Worker:
    """One place in the crew and the process that fills it."""

    name: str
    process: subprocess.Popen[str]
    started: float


@dataclass
class Crew:
    """`ports.JobRunner` with `size` worker processes. `instance` names this service among all of one database."""

    instance: str
    database: str
    data: str
    size: int
    limits: Limits = field(default_factory=Limits)
    _workers: list[_Worker] = field(default_factory=list)
    _stop: threading.Event = field(default_factory=threading.Event)
    _waking: threading.Lock = field(default_factory=threading.Lock)

    def start(self, ports: Ports) -> None:
        """Give back what a former run of this service left running, start the workers, and watch them."""
        self._ports = ports
        release_jobs(f"{self.instance}/", gave_up(), ports)
        self._workers = [self._hire(name) for name in names_of(self.instance, self.size)]
        self._watcher = threading.Thread(target=self._watch, daemon=True)
        self._watcher.start()

    def stop(self) -> None:
        """End all workers; a job that one was at waits for the next start, which is no failed attempt of its own."""
        self._stop.set()
        self._watcher.join()
        for worker in self._workers:
            worker.process.kill()
            worker.process.wait()
            _close(worker)
        release_jobs(f"{self.instance}/", gave_up(), self._ports, blamed=False)

    def wake(self) -> None:
        """Tell every worker that there is a new job."""
        with self._waking:
            for worker in self._workers:
                _send(worker.process, "")

    @property
    def pids(self) -> tuple[int, ...]:
        """Process numbers of the workers."""
        return tuple(worker.process.pid for worker in self._workers)

    def _hire(self, name: str) -> _Worker:
        command = [sys.executable, "-m", "service.jobs.worker"]
        environment = os.environ | ONE_THREAD
        process = subprocess.Popen(command, stdin=subprocess.PIPE, text=True, env=environment, process_group=0)
        _send(process, Orders(name, self.database, self.data, self.limits).to_json())
        return _Worker(name, process, time.monotonic())

    def _watch(self) -> None:
        """Look after the workers for good: a database that is away for a while is asked again the next time."""
        while not self._stop.wait(LOOK_EVERY_S):
            try:
                self._end_hung()
                self._replace_dead()
            except Exception as error:
                log.warning("the workers could not be looked after: %r", error)

    def _replace_dead(self) -> None:
        for place, worker in enumerate(self._workers):
            if worker.process.poll() is not None and time.monotonic() - worker.started > RESTART_AFTER_S:
                _close(worker)
                release_jobs(worker.name, gave_up(), self._ports)
                self._workers[place] = self._hire(worker.name)

    def _end_hung(self) -> None:
        """Kill every worker that has been at its job for longer than it may."""
        with self._ports.reading() as uow:
            held = uow.jobs.held_by(f"{self.instance}/")
        now = self._ports.now() + timedelta(seconds=SPARE_S)
        late = {job.worker for job in held if job.lease_until and job.lease_until < now}
        for worker in self._workers:
            if worker.name in late:
                worker.process.kill()
                worker.process.wait()


def names_of(instance: str, size: int) -> list[str]:
    """Names of the workers of one service. None is the beginning of another: jobs are asked for by prefix."""
    return [f"{instance}/{number}/" for number in range(size)]


def _send(process: subprocess.Popen[str], line: str) -> None:
    """A line to a worker; one that has just died needs none, its successor looks for work by itself."""
    assert process.stdin is not None
    with contextlib.suppress(OSError, ValueError):
        process.stdin.write(line + "\n")
        process.stdin.flush()


def _close(worker: _Worker) -> None:
    """Close its input; what was not delivered is for nobody any more."""
    assert worker.process.stdin is not None
    with contextlib.suppress(OSError):
        worker.process.stdin.close()
