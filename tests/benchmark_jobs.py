"""How fast and large the other measurements are, beside the floor of `tests.benchmark`: a face, a drill, a whole board.

Run it as `python -m tests.benchmark_jobs`.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import dataclass

from tests.benchmark import FLOOR, ROOT, peak_mb, wall_s

SAMPLES = ROOT / "sample_images"
FACE = SAMPLES / "pine-sawn-pencil-show.jpg"
DRILL = SAMPLES / "elm-drill-pencil.jpg"
BOARD = [f"--{view}={SAMPLES / name}.jpg" for view, name in (("end", "pine-sawn-pencil"), ("show", FACE.stem))]
ROUNDS = 3
MOST_MEMORY_MB = 350.0


@dataclass(frozen=True)
class Job:
    """A command line, and the most times the floor it may take."""

    name: str
    arguments: list[str]
    most_times_floor: float

    @property
    def command(self) -> list[str]:
        """The whole command line."""
        return [sys.executable, "-m", "service", *self.arguments, "--json"]


JOBS = (
    Job("check of a face", ["check", "--view", "show", str(FACE)], 7.0),
    Job("drill of eight cuts", ["drill", str(DRILL)], 10.0),
    Job("board, end and one face", ["board", *BOARD], 12.0),
)
"""A face is looked for all round the card, which costs what the search for an end saves; a drill measures both edges of
every kerf; a board is two photos, and its pins are reckoned over the depth."""


def main() -> int:
    """Measure, print, and return 0 when all limits hold, else 1."""
    floor = [sys.executable, "-c", FLOOR, str(FACE)]
    held = True
    with tempfile.TemporaryDirectory() as folder:
        compiled = {"PYTHONPYCACHEPREFIX": folder, "PYTHONDONTWRITEBYTECODE": ""}
        floors = min(wall_s(floor, compiled) for _ in range(1 + ROUNDS))
        for job in JOBS:
            ratio = min(wall_s(job.command, compiled) for _ in range(1 + ROUNDS)) / floors
            memory_mb = peak_mb(job.command)
            held = held and ratio <= job.most_times_floor and memory_mb <= MOST_MEMORY_MB
            print(f"{job.name:24s} {ratio:5.2f} times the floor (limit {job.most_times_floor:.0f}), {memory_mb:.0f} MB")
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
