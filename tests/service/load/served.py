"""A real `tailproof serve` with its workers, as a process that is asked over the network and weighed from outside."""

from __future__ import annotations

import http.client
import os
import re
import secrets
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from service.web.policy import COOKIE

ROOT = Path(__file__).parents[3]
PATIENCE_S = 300.0
"""Far longer than any answer takes; only a service that hangs runs into it."""
PROCESSES = Path("/proc")
TICKS_PER_S = os.sysconf("SC_CLK_TCK") if hasattr(os, "sysconf") else 100


@dataclass(frozen=True)
class Reply:
    """Status, type and body of an answer."""

    status: int
    kind: str
    body: bytes


@dataclass
class Browser:
    """One connection of one person, kept open as browsers do."""

    port: int
    secret: str = ""
    _line: http.client.HTTPConnection | None = field(default=None, repr=False)

    def get(self, path: str) -> Reply:
        """An answer, whatever its status."""
        return self._ask("GET", path)

    def send_photo(self, photo: bytes, name: str) -> Reply:
        """A photo of a new board of that name, as the JSON API takes it."""
        mark = secrets.token_hex(16)
        parts = [_part(mark, 'name="name"', name.encode()), _part(mark, 'name="photo"; filename="IMG.jpg"', photo)]
        body = b"".join(parts) + f"--{mark}--\r\n".encode()
        return self._ask("POST", "/api/v1/photos", body, {"content-type": f"multipart/form-data; boundary={mark}"})

    def _ask(self, method: str, path: str, body: bytes | None = None, more: dict[str, str] | None = None) -> Reply:
        self._line = self._line or http.client.HTTPConnection("localhost", self.port, timeout=PATIENCE_S)
        self._line.request(method, path, body, {"cookie": f"{COOKIE}={self.secret}", **(more or {})})
        answer = self._line.getresponse()
        return Reply(answer.status, answer.headers.get("content-type", ""), answer.read())


@dataclass(frozen=True)
class Served:
    """A running service."""

    process: subprocess.Popen[str]
    port: int

    def browser(self, secret: str = "") -> Browser:
        """A browser in which somebody is signed in."""
        return Browser(self.port, secret)

    @property
    def worker_pids(self) -> list[int]:
        """Its worker processes."""
        return [pid for pid in _pids() if _parent(pid) == self.process.pid]

    def processor_s(self) -> float:
        """What the service itself, its workers aside, has used of the processors; 0 where no system tells."""
        used = _stat(self.process.pid)[11:13]
        return sum(map(int, used)) / TICKS_PER_S

    def peak_mb(self) -> float:
        """The most memory that the service itself ever held; 0 where no system tells."""
        return peak_mb(self.process.pid)

    def worker_peaks_mb(self) -> list[float]:
        """The same of every worker."""
        return [peak_mb(pid) for pid in self.worker_pids]


@contextmanager
def serve(data: Path, *options: str) -> Iterator[Served]:
    """A service over that folder, on a free port, ended in the end."""
    command = [sys.executable, "-m", "service", "serve", "--port", "0", "--data", str(data), *options]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    try:
        yield Served(process, _port(process))
    finally:
        process.terminate()
        process.wait(30.0)
        assert process.stdout is not None
        process.stdout.close()


def peak_mb(pid: int) -> float:
    """Peak resident memory of a process in MB; 0 when it is gone, or where no system tells."""
    try:
        told = (PROCESSES / str(pid) / "status").read_text(encoding="utf-8")
    except OSError:
        return 0.0
    found = re.search(r"VmHWM:\s+(\d+) kB", told)
    return int(found.group(1)) * 1.024e-3 if found else 0.0


def _part(mark: str, named: str, content: bytes) -> bytes:
    return f"--{mark}\r\nContent-Disposition: form-data; {named}\r\n\r\n".encode() + content + b"\r\n"


def _port(process: subprocess.Popen[str]) -> int:
    assert process.stdout is not None
    for line in process.stdout:
        address = re.search(r"http://\S+", line)
        if address:
            return int(urlsplit(address.group()).port or 0)
    raise AssertionError("the service ended before it said its address")


def _pids() -> list[int]:
    return [int(path.name) for path in PROCESSES.glob("[0-9]*")]


def _parent(pid: int) -> int:
    told = _stat(pid)
    return int(told[1]) if len(told) > 1 else 0


def _stat(pid: int) -> list[Any]:
    """The fields of /proc/PID/stat from the state on: parent second, processor time twelfth and thirteenth."""
    try:
        told = (PROCESSES / str(pid) / "stat").read_text(encoding="utf-8")
    except OSError:
        return []
    return told.rsplit(")", 1)[1].split()
