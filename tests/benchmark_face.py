"""How fast and large the check of a face is, beside the floor of `tests.benchmark`.

Run it as `python -m tests.benchmark_face`.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.benchmark import FLOOR, ROOT, check_command, enlarged, peak_mb, wall_s

PHOTO = ROOT / "sample_images" / "pine-sawn-pencil-show.jpg"
ROUNDS = 3
MOST_TIMES_FLOOR, MOST_MEMORY_MB = 6.0, 350.0
"""A face is looked for all round the card, which costs what the search for an end saves."""


def face_command(photo: Path) -> list[str]:
    """The command line that checks `photo` as a show face."""
    return [*check_command(photo), "--view", "show"]


def main() -> int:
    """Measure, print, and return 0 when both limits hold, else 1."""
    floor = [sys.executable, "-c", FLOOR, str(PHOTO)]
    with tempfile.TemporaryDirectory() as folder:
        compiled = {"PYTHONPYCACHEPREFIX": folder, "PYTHONDONTWRITEBYTECODE": ""}
        rounds = [(wall_s(floor, compiled), wall_s(face_command(PHOTO), compiled)) for _ in range(1 + ROUNDS)][1:]
        floors, checks = zip(*rounds, strict=True)
        memory_mb = peak_mb(face_command(enlarged(PHOTO, Path(folder))))
    ratio = min(checks) / min(floors)
    print(f"face check over floor, 8 megapixels {ratio:6.2f} (limit {MOST_TIMES_FLOOR})")
    print(f"peak memory, 12 megapixels         {memory_mb:4.0f} MB (limit {MOST_MEMORY_MB:.0f})")
    return 0 if ratio <= MOST_TIMES_FLOOR and memory_mb <= MOST_MEMORY_MB else 1


if __name__ == "__main__":
    sys.exit(main())
