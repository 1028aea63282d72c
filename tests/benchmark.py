"""How fast and how large a check is, beside what any program of this kind must spend: `python -m tests.benchmark`.

Both commands are started cold, turn about, in one run, and the best of each counts: the ratio then depends little on
the machine or on what else it does. Both find their modules compiled, as an installed program does, whatever the
environment says of bytecode: the first round compiles them into a folder of its own.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).parents[1]
PHOTOS = {
    "sawn": ROOT / "sample_images" / "maple-sawn-knife.jpg",
    "cleared": ROOT / "sample_images" / "pine-cleared-red-pen-vice.jpg",
}
"""Both of 8 megapixels. With the waste out there are more ways to explain what is seen, and more to fit."""
ROUNDS = 5
MOST_TIMES_FLOOR, AIM_TIMES_FLOOR = 3.0, 2.0
MOST_MEMORY_MB = 350.0
LARGE_PX = (4000, 3000)
"""12 megapixels, as most phones have."""

FLOOR = """
import sys, cv2
picture = cv2.imread(sys.argv[1])
board = cv2.aruco.CharucoBoard((12, 4), 10.0, 7.0, cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250))
assert cv2.aruco.CharucoDetector(board).detectBoard(picture)[1] is not None
"""
"""Read the photo and detect the short card with OpenCV alone."""

WEIGH = """
import json, resource, subprocess, sys
done = subprocess.run(sys.argv[1:], capture_output=True)
print(json.dumps([done.returncode, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss]))
"""
"""A process of its own, so that its children are the weighed command alone."""


@dataclass(frozen=True)
class Figures:
    """Best wall times in seconds of the floor and of a check, and the peak memory in MB of a check of 12 megapixels."""

    photo: str
    floor_s: float
    check_s: float
    memory_mb: float

    @property
    def times_floor(self) -> float:
        """How many times the floor a check takes."""
        return self.check_s / self.floor_s

    @property
    def within_limits(self) -> bool:
        """Whether neither limit is missed."""
        return self.times_floor <= MOST_TIMES_FLOOR and self.memory_mb <= MOST_MEMORY_MB


def measure(photo: Path) -> Figures:
    """Run everything. Raises CalledProcessError when a command fails, so that a refusal is never timed."""
    floor, check = [sys.executable, "-c", FLOOR, str(photo)], check_command(photo)
    with tempfile.TemporaryDirectory() as folder:
        compiled = {"PYTHONPYCACHEPREFIX": folder, "PYTHONDONTWRITEBYTECODE": ""}
        rounds = [(wall_s(floor, compiled), wall_s(check, compiled)) for _ in range(1 + ROUNDS)][1:]
        floors, checks = zip(*rounds, strict=True)
        return Figures(photo.name, min(floors), min(checks), peak_mb(check_command(enlarged(photo, Path(folder)))))


def check_command(photo: Path) -> list[str]:
    """The command line that checks `photo`, run as `tailproof` is."""
    return [sys.executable, "-m", "service", "check", str(photo)]


def wall_s(command: list[str], environment: dict[str, str]) -> float:
    """Wall time of one run of `command` with changes to the `environment`, in seconds.

    Raises CalledProcessError unless it succeeds.
    """
    start = time.perf_counter()
    subprocess.run(command, cwd=ROOT, env={**os.environ, **environment}, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - start


def enlarged(photo: Path, folder: Path) -> Path:
    """A copy of `photo` in `folder`, scaled up to 12 megapixels, with its lens data."""
    with Image.open(photo) as picture:
        large, exif = picture.resize(LARGE_PX, Image.Resampling.BICUBIC), picture.getexif()
    large.save(folder / photo.name, quality=92, exif=exif)
    return folder / photo.name


def peak_mb(command: list[str]) -> float:
    """Peak resident memory of `command`, in MB. Raises CalledProcessError unless it succeeds."""
    weigh = [sys.executable, "-c", WEIGH, *command]
    status, peak = json.loads(subprocess.run(weigh, cwd=ROOT, capture_output=True, check=True).stdout)
    if status:
        raise subprocess.CalledProcessError(status, command)
    return peak / (1e6 if sys.platform == "darwin" else 1e3)


def table_text(figures: list[Figures]) -> str:
    """The figures of each photo beside their limits."""
    ratio = "".join(f"{each.times_floor:10.2f}  " for each in figures)
    memory = "".join(f"{each.memory_mb:9.0f} MB" for each in figures)
    return "\n".join(
        [
            f"{os.cpu_count()} processors, best of {ROUNDS} cold starts: " + ", ".join(each.photo for each in figures),
            f"{'':34}" + "".join(f"{kind:>10}  " for kind in PHOTOS) + f"{'limit':>8}{'aim':>6}",
            f"{'floor: start, read, detect card':34}" + "".join(f"{each.floor_s:10.2f} s" for each in figures),
            f"{'check, 8 megapixels':34}" + "".join(f"{each.check_s:10.2f} s" for each in figures),
            f"{'check over floor':34}{ratio}{MOST_TIMES_FLOOR:8.1f}{AIM_TIMES_FLOOR:6.1f}",
            f"{'peak memory, 12 megapixels':34}{memory}{MOST_MEMORY_MB:8.0f}",
        ]
    )


def main() -> int:
    """Measure, print, and return 0 when all limits hold, else 1."""
    figures = [measure(photo) for photo in PHOTOS.values()]
    print(table_text(figures))
    return 0 if all(each.within_limits for each in figures) else 1


if __name__ == "__main__":
    sys.exit(main())
