"""`python -m render --out FOLDER --first 501 --count 6`: photos and truths, one pair per seed."""

from __future__ import annotations

import argparse
import json
import os
import time
from pathlib import Path

from .camera import place
from .develop import develop
from .draw import HARD, params
from .photo_file import write
from .scene import build
from .trace import overscan, trace
from .truth import truth


def render(seed: int, folder: Path, *, hard: str | None, samples: int, threads: int) -> Path:
    """Renders one photo with its truth beside it; returns the photo's path."""
    scene = build(params(seed, hard))
    camera = place(scene.params, scene.subject)
    traced = trace(scene, camera, samples, threads)
    upright = develop(traced, overscan(camera), camera, scene.params.develop, seed)
    stem = folder / f"photo-{seed:05d}"
    path = write(upright, scene.params, camera, stem)
    stem.with_suffix(".json").write_text(json.dumps(truth(scene, camera, path.name), indent=1), encoding="utf-8")
    return path


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="render", description=__doc__)
    parser.add_argument("--out", type=Path, required=True, help="folder for photos and truths")
    parser.add_argument("--first", type=int, default=501, help="first seed, also the photo's number")
    parser.add_argument("--count", type=int, default=1, help="how many photos")
    parser.add_argument("--hard", choices=HARD, help="make them hard in this way")
    parser.add_argument("--samples", type=int, default=64, help="light paths per pixel")
    parser.add_argument("--threads", type=int, default=1, help="processor threads")
    return parser.parse_args()


def main() -> None:
    """Renders the photos asked for, one after another, saying how long each took."""
    args = _arguments()
    args.out.mkdir(parents=True, exist_ok=True)
    os.nice(5)
    for seed in range(args.first, args.first + args.count):
        start = time.monotonic()
        path = render(seed, args.out, hard=args.hard, samples=args.samples, threads=args.threads)
        print(f"{path.name}  {time.monotonic() - start:.0f} s", flush=True)


if __name__ == "__main__":
    main()
