"""Worker processes that are killed, hang or lose their supervisor: every accepted photo gets its one answer."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from service.domain.check import Check
from service.jobs.crew import Crew, names_of
from service.jobs.limits import Limits
from service.use_cases.keep_log import look_at_check
from service.use_cases.ports import Ports, UnitOfWork
from tests.service.house import SERVER, House, fresh_database, open_house

SAMPLES = Path(__file__).parents[3] / "sample_images"
PHOTOS = ("maple-sawn-knife.jpg", "pine-sawn-pencil.jpg", "walnut-refused-no-card.jpg", "maple-sawn-red-pen.jpg")
PATIENCE_S = 120.0
"""A check takes two or three seconds; on a machine that is busy with other tests many times as long."""


def wait_for(what: Callable[[], Any]) -> Any:
    """The first true value of `what`."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        found = what()
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError("it did not happen in time")


@pytest.fixture
def open_shop(tmp_path: Path) -> Iterator[House]:
    """A house that takes real photos only, on the real clock."""
    with open_house(tmp_path, cleaning=True) as house:
        yield house


@contextmanager
def crew_of(house: House, limits: Limits, ports: Ports | None = None) -> Iterator[Crew]:
    ports = replace(ports or house.ports, now=lambda: datetime.now(UTC))
    crew = Crew("test", house.engine.url.render_as_string(hide_password=False), str(house.data), 1, limits)
    crew.start(ports)
    try:
        yield crew
    finally:
        crew.stop()


def settled(house: House, check: Check) -> Callable[[], Check | None]:
    def look() -> Check | None:
        found = look_at_check("ann", check.id, house.ports)
        return None if found.state == "waiting" else found

    return look


def held(house: House) -> bool:
    with house.ports.reading() as uow:
        return bool(uow.jobs.held_by("test/"))


def test_a_worker_killed_in_the_middle_costs_nothing_but_time(open_shop: House) -> None:
    check = open_shop.send((SAMPLES / PHOTOS[0]).read_bytes())
    with crew_of(open_shop, Limits()) as crew:
        wait_for(lambda: held(open_shop))
        os.kill(crew.pids[0], signal.SIGKILL)
        found = wait_for(settled(open_shop, check))
    assert found.state == "measured"


def test_a_database_that_is_away_for_a_moment_does_not_end_the_supervision(open_shop: House) -> None:
    """The worker dies while the supervisor cannot ask which job it held: it does so once it can again."""
    away, missed = threading.Event(), threading.Event()

    def reading() -> AbstractContextManager[UnitOfWork]:
        if away.is_set():
            missed.set()
            raise OSError("away")
        return open_shop.ports.reading()

    check = open_shop.send((SAMPLES / PHOTOS[0]).read_bytes())
    with crew_of(open_shop, Limits(), replace(open_shop.ports, reading=reading)) as crew:
        wait_for(lambda: held(open_shop))
        away.set()
        os.kill(crew.pids[0], signal.SIGKILL)
        wait_for(missed.is_set)
        away.clear()
        found = wait_for(settled(open_shop, check))
    assert found.state == "measured"


def test_no_workers_name_is_the_beginning_of_anothers() -> None:
    """Else a dead worker's jobs, asked for by its name, would be those of the eleventh as well."""
    names = names_of("here", 12)
    assert not [(one, other) for one in names for other in names if one != other and other.startswith(one)]
    assert all(name.startswith("here/") for name in names)


def test_a_photo_that_takes_too_long_is_given_up_after_its_attempts_and_kept(
    open_shop: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    """0.2 s are never enough: every attempt is ended by the supervisor, who looks more often than the work takes."""
    monkeypatch.setattr("service.jobs.crew.LOOK_EVERY_S", 0.05)
    check = open_shop.send((SAMPLES / PHOTOS[0]).read_bytes())
    with crew_of(open_shop, Limits(seconds=0.2)):
        found = wait_for(settled(open_shop, check))
    assert found.state == "failed"
    assert open_shop.ports.photos.read(check.photo.name)


@dataclass
class Service:
    """A running `tailproof serve`."""

    process: subprocess.Popen[str]
    address: str

    def get(self, path: str) -> Any:
        with urllib.request.urlopen(self.address + path) as reply:
            return json.load(reply)

    def send(self, name: str) -> dict[str, Any]:
        data, mark = (SAMPLES / name).read_bytes(), b"----tailproof"
        head = f'Content-Disposition: form-data; name="photo"; filename="{name}"\r\n\r\n'.encode()
        body = b"--" + mark + b"\r\n" + head + data + b"\r\n--" + mark + b"--\r\n"
        kind = {"content-type": f"multipart/form-data; boundary={mark.decode()}"}
        request = urllib.request.Request(self.address + "api/v1/photos", body, kind)
        with urllib.request.urlopen(request) as reply:
            sent: dict[str, Any] = json.load(reply)
        return sent


def serve(data: Path, database: str) -> Service:
    command = [sys.executable, "-m", "service", "serve", "--port", "0", "--workers", "1", "--data", str(data)]
    process = subprocess.Popen([*command, "--database", database], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    found = re.search(r"http://\S+", process.stdout.readline())
    assert found is not None
    return Service(process, found.group(0))


def children_of(pid: int) -> list[int]:
    return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def is_running(pid: int) -> bool:
    """Whether the process computes on; one that has ended and was not collected yet does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


def end(service: Service, how: signal.Signals) -> None:
    service.process.send_signal(how)
    service.process.wait(PATIENCE_S)
    assert service.process.stdout is not None
    service.process.stdout.close()


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="looks at processes as Linux shows them")
def test_a_service_killed_in_the_middle_loses_no_photo_and_repeats_no_finished_check(tmp_path: Path) -> None:
    database = fresh_database(tmp_path)
    first = serve(tmp_path, database)
    sent = [first.send(name) for name in PHOTOS]
    checks = [f"api/v1/checks/{each['check']}" for each in sent]
    done = wait_for(lambda: [check for check in map(first.get, checks) if check["state"] != "waiting"])
    workers = children_of(first.process.pid)
    end(first, signal.SIGKILL)
    assert workers
    wait_for(lambda: not any(map(is_running, workers)))

    second = serve(tmp_path, database)
    try:
        wait_for(lambda: all(second.get(check)["state"] != "waiting" for check in checks))
        answers = {check["id"]: check for check in map(second.get, checks)}
        again = [second.send(name) for name in PHOTOS]
    finally:
        end(second, signal.SIGTERM)
    assert [answers[each["check"]]["state"] for each in sent] == ["measured", "measured", "refused", "measured"]
    assert 0 < len(done) < len(PHOTOS)
    assert [answers[check["id"]]["answered_at"] for check in done] == [check["answered_at"] for check in done]
    assert [each["known"] for each in again] == [True] * len(PHOTOS)


def test_a_second_service_in_the_same_folder_is_turned_away(tmp_path: Path) -> None:
    database = fresh_database(tmp_path)
    first = serve(tmp_path, database)
    try:
        command = [sys.executable, "-m", "service", "serve", "--port", "0", "--data", str(tmp_path)]
        second = subprocess.run(command, capture_output=True, text=True, check=False)
    finally:
        end(first, signal.SIGTERM)
    assert second.returncode == 2
    assert "is in use by another `tailproof serve`" in second.stderr
    assert SERVER or (tmp_path / "log.sqlite3").exists()


def test_a_service_that_its_system_ends_leaves_the_log_in_one_file_and_no_worker_behind(tmp_path: Path) -> None:
    service = serve(tmp_path, fresh_database(tmp_path))
    service.send(PHOTOS[0])
    workers = children_of(service.process.pid)
    end(service, signal.SIGTERM)
    assert service.process.returncode == 128 + signal.SIGTERM
    assert workers
    assert not any(map(is_running, workers))
    assert [path.name for path in tmp_path.glob("log.sqlite3*")] == ([] if SERVER else ["log.sqlite3"])


def test_an_open_service_prints_a_link_that_pairs_and_lets_no_stranger_in(tmp_path: Path) -> None:
    """A machine without any network says so instead."""
    command = [
        sys.executable,
        "-m",
        "service",
        "serve",
        "--lan",
        "--port",
        "0",
        "--workers",
        "1",
        "--data",
        str(tmp_path),
    ]
    command += ["--database", fresh_database(tmp_path)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stdout is not None
    lines: list[str] = []
    while not any("Ctrl-C" in line for line in lines) and (line := process.stdout.readline()):
        lines.append(line)
    if lines:
        _expect_a_pairing_link(lines)
    process.send_signal(signal.SIGTERM)
    complaint = process.communicate(timeout=PATIENCE_S)[1]
    assert bool(lines) != ("no network address" in complaint)


def _expect_a_pairing_link(lines: list[str]) -> None:
    """The computer reaches its own network address as a stranger, and may look at the link."""
    link = next(line.strip() for line in lines if "/pair/" in line)
    with urllib.request.urlopen(link) as reply:
        assert b"Pair this phone" in reply.read()
    with pytest.raises(urllib.error.HTTPError, match="401") as refused:
        urllib.request.urlopen(f"{link.split('/pair/')[0]}/boards")
    refused.value.close()
