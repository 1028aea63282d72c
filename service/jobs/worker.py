"""A worker process: takes jobs one after the other until its supervisor is gone.

`python -m service.jobs.worker`, started by `service.jobs.crew` alone, with its orders as JSON in its first line of
input. Every further line wakes it; the end of input means that the service has ended, however suddenly.
"""

from __future__ import annotations

import json
import logging
import os
import sys
import threading
from dataclasses import asdict, dataclass
from pathlib import Path

from service.jobs.given_up import gave_up
from service.jobs.limits import Limits, limit_memory, limit_processor
from service.use_cases.answer_job import Task, fail_job, finish_job, take_job
from service.use_cases.ports import Ports

IDLE_S = 2.0
"""How long a worker that nobody wakes waits before it looks for work by itself: jobs of other machines, lost wakes."""
SPARE_S = 15.0
"""How much longer than the supervisor's patience a lease runs."""
NICENESS = 5

log = logging.getLogger("tailproof")


@dataclass(frozen=True)
class Orders:
    """What a worker is told: who it is, where the log and the photos are, and its limits."""

    name: str
    database: str
    data: str
    limits: Limits

    def to_json(self) -> str:
        """One line."""
        return json.dumps(asdict(self))

    @classmethod
    def from_json(cls, line: str) -> Orders:
        """From that line."""
        given = json.loads(line)
        return cls(given["name"], given["database"], given["data"], Limits(**given["limits"]))


def main() -> None:
    """Work until the supervisor is gone."""
    logging.basicConfig(format="%(message)s")
    orders, wake = Orders.from_json(sys.stdin.readline()), threading.Event()
    threading.Thread(target=_listen, args=(wake,), daemon=True).start()
    _stand_back()
    limit_memory(orders.limits)
    _work(orders, wake)


def _stand_back() -> None:
    """Pages come before measuring, where the system knows such an order."""
    if hasattr(os, "nice"):
        os.nice(NICENESS)


def _listen(wake: threading.Event) -> None:
    """Every line wakes the worker; the end of input ends the process at once, whatever it is doing."""
    for _ in sys.stdin:
        wake.set()
    os._exit(0)


def _work(orders: Orders, wake: threading.Event) -> None:
    from service.jobs.measuring import Bench  # the measuring libraries are loaded here, before the first job comes
    from service.storage.engine import open_engine
    from service.storage.ports import open_ports

    ports = open_ports(open_engine(orders.database), Path(orders.data))
    bench = Bench(ports.photos, Path(orders.data))
    while True:
        task = take_job(orders.name, orders.limits.seconds + SPARE_S, ports)
        if task is None:
            wake.wait(IDLE_S)
            wake.clear()
            continue
        limit_processor(orders.limits)
        _do(task, bench, ports)


def _do(task: Task, bench: object, ports: Ports) -> None:
    """One job to its end; a fault of the program costs an attempt, never the worker's loop."""
    from service.jobs.measuring import measure

    try:
        finish_job(task, measure(task, bench), ports)  # type: ignore[arg-type]
    except Exception as error:
        log.warning("check %s: attempt %d failed: %r", task.check.id, task.job.attempts, error)
        fail_job(task.job, gave_up(), ports)


if __name__ == "__main__":
    main()
