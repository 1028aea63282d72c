"""How the service does in a full shop: `python -m tests.benchmark_service`.

A real `tailproof serve --class` with its workers, over a database with 100,000 checks. First the pages of the person
and the class with most boards, one after the other. Then 30 phones send a photo each at the same moment and look, as
the board's page does, until the answer is there, while somebody goes on reading pages. Ends with a non-zero status when
a limit is missed.

Times by the clock grow with whatever else the machine does; the processor's time for a page hardly does, and stands
beside them.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

from PIL import Image

from tests.benchmark import PHOTOS, check_command, wall_s
from tests.service.load.many_checks import CHECKS, CLASSES, STUDENTS, School, fill
from tests.service.load.served import Browser, Served, serve

PHONES, WORKERS, ROUNDS, READINGS = 30, 2, 3, 40
ASK_AGAIN_S = 0.7
"""As board.js asks."""
MOST_COMMANDS = PHONES / WORKERS
"""The median phone may wait as long as so many checks by the command line take, one after the other."""
MOST_PAGE_MS, MOST_BUSY_PAGE_MS = 100.0, 200.0
MOST_SERVICE_MB, MOST_WORKER_MB = 400.0, 400.0
"""The service holds some uploads of 4 MB at once; a worker measures one photo of 8 megapixels and draws it."""


@dataclass(frozen=True)
class Page:
    """A page, who asks for it (the secret of their session), and what must be in it for it to be the right one."""

    secret: str
    path: str
    needle: str


@dataclass(frozen=True)
class Reading:
    """What it took to get one page some times: milliseconds by the clock, and of the processor per page (mean)."""

    path: str
    clock_ms: Sequence[float]
    processor_ms: float

    @property
    def usual_ms(self) -> float:
        """The 95th percentile by the clock."""
        return statistics.quantiles(self.clock_ms, n=20)[-1]


@dataclass(frozen=True)
class Rush:
    """How long each phone waited, seconds, and the times of the pages read meanwhile, milliseconds."""

    waits_s: Sequence[float]
    pages: Reading


@dataclass(frozen=True)
class Figures:
    """All that was measured; `command_s` is one check by the command line, the median of some before and after."""

    command_s: float
    pages: Sequence[Reading]
    rush: Rush
    service_mb: float
    workers_mb: float

    @property
    def commands(self) -> float:
        """The median phone's wait in checks by the command line."""
        return statistics.median(self.rush.waits_s) / self.command_s

    @property
    def within_limits(self) -> bool:
        """Whether no limit is missed."""
        pages = all(page.usual_ms <= MOST_PAGE_MS for page in self.pages)
        rush = self.commands <= MOST_COMMANDS and self.rush.pages.usual_ms <= MOST_BUSY_PAGE_MS
        return pages and rush and self.service_mb <= MOST_SERVICE_MB and self.workers_mb <= MOST_WORKER_MB


def measure() -> Figures:
    """Run everything. Raises AssertionError when a page or an answer is not what it should be."""
    with tempfile.TemporaryDirectory() as folder:
        school = fill(Path(folder))
        photos = different_photos(PHONES)
        with serve(Path(folder), "--class", "--workers", str(WORKERS)) as served:
            pages = [read(served, page) for page in pages_of(school)]
            before = command_times_s()
            rush = send_at_once(served, school, photos)
            command_s = statistics.median([*before, *command_times_s()])
            return Figures(command_s, pages, rush, served.peak_mb(), max(served.worker_peaks_mb(), default=0.0))


def command_times_s() -> list[float]:
    """Some checks by the command line, cold but for its compiled modules."""
    return [wall_s(check_command(PHOTOS["sawn"]), {}) for _ in range(1 + ROUNDS)][1:]


def pages_of(school: School) -> list[Page]:
    """The student with most boards, and the class with most as both sides see it."""
    student, instructor = school.students[0], school.instructor
    last_month = datetime.now(UTC).replace(day=1) - timedelta(days=1)  # on the first of one it has no boards yet
    calendar = f"show=calendar&month={last_month:%Y-%m}"
    narrowed = ("page=80", "text=third+cherry", "species=oak", "show=list&standing=start+over", calendar)
    log = [Page(student, path, "/boards/b0-") for path in ("/boards", *(f"/boards?{query}" for query in narrowed))]
    own = [Page(student, f"/boards/{school.board}", school.board), Page(student, "/boards?text=nowhere", "nowhere")]
    charts = [Page(student, path, "<svg") for path in ("/trends", "/outcomes")]
    charts += [Page(instructor, "/outcomes", "Invented student 0")]
    work = ("/classes", school.heaviest_class), (f"/classes/{school.heaviest_class}", "Invented task 0")
    class_ = [*work, (f"/assignments/{school.assignment}", "/boards/b")]
    both = [Page(who, path, needle) for who in (student, instructor) for path, needle in class_]
    review = [Page(instructor, path, "/review/b") for path in ("/review", "/review?show=reviewed")]
    return [Page(student, "/", "photos"), *log, *own, *charts, *both, *review]


def read(served: Served, page: Page) -> Reading:
    """One page, again and again, after a first time that fills caches."""
    browser = served.browser(page.secret)
    get(browser, page.path, page.needle)
    before = served.processor_s()
    clock_ms = [get(browser, page.path, page.needle) for _ in range(READINGS)]
    return Reading(page.path, clock_ms, (served.processor_s() - before) / READINGS * 1e3)


def get(browser: Browser, path: str, needle: str) -> float:
    """Milliseconds that a page takes. Raises AssertionError when it is not there, or does not hold the `needle`."""
    start = time.perf_counter()
    reply = browser.get(path)
    taken_ms = (time.perf_counter() - start) * 1e3
    assert reply.status == 200, f"{path}: {reply.status}"
    assert needle.encode() in reply.body, f"{path} does not hold {needle}"
    return taken_ms


def different_photos(count: int) -> list[bytes]:
    """The sample photo, each time cut by another pixel and encoded anew, so that no two are the same photo."""
    with Image.open(PHOTOS["sawn"]) as picture:
        exif, (width, height) = picture.getexif(), picture.size
        return [_encoded(picture.crop((0, 0, width - number, height - number // 2)), exif) for number in range(count)]


def _encoded(picture: Image.Image, exif: Image.Exif) -> bytes:
    file = BytesIO()
    picture.save(file, "JPEG", quality=92, exif=exif)
    return file.getvalue()


def send_at_once(served: Served, school: School, photos: Sequence[bytes]) -> Rush:
    """All phones at the same moment, and one reader until the last answer is there."""
    together, done, before = threading.Barrier(len(photos)), threading.Event(), served.processor_s()
    with ThreadPoolExecutor(len(photos) + 1) as people:
        reader = people.submit(_read_until, done, served.browser(school.students[0]))
        phones = [
            people.submit(_photograph, served.browser(secret), photo, together)
            for secret, photo in zip(school.students[1:], photos, strict=False)
        ]
        try:
            waits_s = [phone.result() for phone in phones]
        finally:
            done.set()
        clock_ms = reader.result()
    processor_ms = (served.processor_s() - before) / len(clock_ms) * 1e3
    return Rush(waits_s, Reading("meanwhile", clock_ms, processor_ms))


def _photograph(phone: Browser, photo: bytes, together: threading.Barrier) -> float:
    """Send, and ask as the page does until the photo is measured; seconds."""
    together.wait()
    start = time.perf_counter()
    reply = phone.send_photo(photo, "rush")
    assert reply.status == 201, reply.body
    board = json.loads(reply.body)["board"]
    while (state := json.loads(phone.get(f"/api/v1/boards/{board}").body)["checks"][0]["state"]) == "waiting":
        time.sleep(ASK_AGAIN_S)
    assert state == "measured", state
    return time.perf_counter() - start


def _read_until(done: threading.Event, browser: Browser) -> list[float]:
    """Pages, one after the other, as fast as somebody in a hurry looks at them."""
    taken_ms = []
    while not done.wait(0.05):
        taken_ms += [get(browser, path, "/boards") for path in ("/", "/boards")]
    return taken_ms


def table_text(figures: Figures) -> str:
    """The figures beside their limits."""
    waits, meanwhile = figures.rush.waits_s, figures.rush.pages
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    rows = [f"{page.path[:44]:46}{page.usual_ms:7.0f} ms{page.processor_ms:9.0f} ms" for page in figures.pages]
    return "\n".join(
        [
            f"{os.cpu_count()} processors{load}; {CHECKS} checks of {STUDENTS} students in {CLASSES} classes",
            f"{f'page, 95th percentile (limit {MOST_PAGE_MS:.0f} ms)':46}{'by the clock':>10}{'processor':>12}",
            *rows,
            f"{PHONES} phones at once, {WORKERS} workers; a check by the command line takes {figures.command_s:.2f} s",
            f"  median answer after {statistics.median(waits):.1f} s, the last after {max(waits):.1f} s",
            f"  median in commands {figures.commands:.1f} (limit {MOST_COMMANDS:.0f})",
            f"  pages meanwhile {meanwhile.usual_ms:.0f} ms (limit {MOST_BUSY_PAGE_MS:.0f} ms)",
            f"peak memory: service {figures.service_mb:.0f} MB (limit {MOST_SERVICE_MB:.0f}),"
            f" worker {figures.workers_mb:.0f} MB (limit {MOST_WORKER_MB:.0f})",
        ]
    )


def main() -> int:
    """Measure, print, and return 0 when all limits hold, else 1."""
    figures = measure()
    print(table_text(figures))
    return 0 if figures.within_limits else 1


if __name__ == "__main__":
    sys.exit(main())
