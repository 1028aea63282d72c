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
PHOTO = ROOT / "sample_images" / "maple-sawn-knife.jpg"
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


def measure() -> Figures:
    """Run everything. Raises CalledProcessError when a command fails, so that a refusal is never timed."""
    floor, check = [sys.executable, "-c", FLOOR, str(PHOTO)], check_command(PHOTO)
    with tempfile.TemporaryDirectory() as folder:
        compiled = {"PYTHONPYCACHEPREFIX": folder, "PYTHONDONTWRITEBYTECODE": ""}
        rounds = [(wall_s(floor, compiled), wall_s(check, compiled)) for _ in range(1 + ROUNDS)][1:]
        floors, checks = zip(*rounds, strict=True)
        return Figures(min(floors), min(checks), peak_mb(check_command(enlarged(PHOTO, Path(folder)))))


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


def table_text(figures: Figures) -> str:
    """The figures beside their limits."""
    return "\n".join(
        [
            f"{os.cpu_count()} processors, best of {ROUNDS} cold starts, {PHOTO.name}",
            f"{'':34}{'measured':>10}{'limit':>8}{'aim':>6}",
            f"{'floor: start, read, detect card':34}{figures.floor_s:8.2f} s",
            f"{'check, 8 megapixels':34}{figures.check_s:8.2f} s",
            f"{'check over floor':34}{figures.times_floor:10.2f}{MOST_TIMES_FLOOR:8.1f}{AIM_TIMES_FLOOR:6.1f}",
            f"{'peak memory, 12 megapixels':34}{figures.memory_mb:7.0f} MB{MOST_MEMORY_MB:8.0f}",
        ]
    )


def main() -> int:
    """Measure, print, and return 0 when both limits hold, else 1."""
    figures = measure()
    print(table_text(figures))
    return 0 if figures.within_limits else 1


if __name__ == "__main__":
    sys.exit(main())
