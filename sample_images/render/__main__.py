"""`python -m render --out FOLDER --first 501 --count 6`: photos and truths, one pair per seed."""

from __future__ import annotations

import argparse
import json
import os
import time
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from .camera import Camera, place
from .develop import develop
from .draw import another_view, params
from .drill import drilled
from .face_cuts import faced
from .face_scene import build_face
from .hard import WAYS
from .params import Params
from .photo_file import write
from .scene import Scene, build
from .trace import overscan, trace
from .truth import truth
from .wood import Image

_VIEW_SEEDS = 1_000_003
"""Keeps the noise of one end's photos apart."""


def render(seed: int, stem: Path, *, hard: str | None, args: argparse.Namespace, view: int = 0) -> Path:
    """Renders one photo at `stem`, its truth beside it; returns its path. `view` counts photos of one end from 0."""
    wanted = _sized(another_view(params(seed, hard), view), args.width)
    wanted = drilled(wanted, args.drill) if args.drill else wanted
    wanted = faced(wanted, args.face) if args.face else wanted
    scene, camera, traced = _traced(_before_development(wanted), args.samples, args.threads)
    scene = replace(scene, params=wanted)
    overscan_px, coarser = overscan(camera.coarser(wanted.shot.traced_at)), wanted.shot.traced_at
    upright = develop(traced, overscan_px, camera, wanted.develop, seed + view * _VIEW_SEEDS, coarser)
    path = write(upright, wanted, camera, stem)
    stem.with_suffix(".json").write_text(json.dumps(truth(scene, camera, path.name), indent=1), encoding="utf-8")
    return path


def _sized(scene: Params, width: int | None) -> Params:
    """The scene in frames of another width; a sensor coarser than its frame keeps its own."""
    if width is None or scene.shot.traced_at > 1:
        return scene
    return replace(scene, shot=replace(scene.shot, px=(width, width * 3 // 4)))


def _before_development(scene: Params) -> Params:
    """What the tracer sees of a scene: photos that differ in their development alone share one."""
    return replace(scene, develop=params(scene.seed).develop, hard=None)


@lru_cache(maxsize=1)
def _traced(wanted: Params, samples: int, threads: int) -> tuple[Scene, Camera, Image]:
    """The scene, its camera and the picture traced; the last one is kept."""
    scene = build_face(wanted) if wanted.face else build(wanted)
    camera = place(wanted, scene.subject)
    return scene, camera, trace(scene, camera.coarser(wanted.shot.traced_at), samples, threads)


def _ways(args: argparse.Namespace, seed: int) -> list[str | None]:
    """What to make hard, the ways that share the plain scene's picture first."""
    plain = _before_development(params(seed))
    return sorted(args.hard or [None], key=lambda way: _before_development(params(seed, way)) != plain)


def _stem(args: argparse.Namespace, seed: int, way: str | None, view: int) -> Path:
    """Where a photo goes: straight into the folder, or for several ways into one folder each."""
    folder = args.out / str(way) if len(args.hard or []) > 1 else args.out
    folder.mkdir(parents=True, exist_ok=True)
    name = f"face-{args.face}-{seed:05d}" if args.face else f"photo-{seed:05d}"
    return folder / (f"{name}-{view + 1}" if view else name)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="render", description=__doc__)
    parser.add_argument("--out", type=Path, required=True, help="folder for photos and truths")
    parser.add_argument("--first", type=int, default=501, help="first seed, also the photo's number")
    parser.add_argument("--count", type=int, default=1, help="how many photos")
    parser.add_argument("--hard", choices=WAYS, nargs="+", help="make them hard in this way; several: a folder each")
    parser.add_argument("--views", type=int, default=1, help="photos of each end, from several places")
    parser.add_argument("--width", type=int, help="width of the photos in px, a multiple of 4 (default: drawn)")
    parser.add_argument("--drill", type=_leans, default=(), help="a drill board: the leans meant, such as =0,0,0,0,0")
    parser.add_argument("--face", choices=("show", "transfer"), help="the board lying down, with this face up")
    parser.add_argument("--samples", type=int, default=64, help="light paths per pixel")
    parser.add_argument("--threads", type=int, default=1, help="processor threads")
    return parser.parse_args()


def _leans(text: str) -> tuple[float, ...]:
    return tuple(float(word) for word in text.split(","))


def main() -> None:
    """Renders the photos asked for, one after another, saying how long each took."""
    args = _arguments()
    os.nice(5)
    for seed in range(args.first, args.first + args.count):
        for view, way in ((view, way) for view in range(args.views) for way in _ways(args, seed)):
            start = time.monotonic()
            path = render(seed, _stem(args, seed, way, view), hard=way, args=args, view=view)
            print(f"{path.relative_to(args.out)}  {time.monotonic() - start:.0f} s", flush=True)


if __name__ == "__main__":
    main()
