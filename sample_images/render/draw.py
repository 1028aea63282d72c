"""Draws the parameters of a scene from its seed. The same seed gives the same scene."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .hard import harder
from .params import Board, CardSet, Develop, Light, Marks, Params, Place, Saw, Shot

SPECIES = ("beech", "larch", "elm", "alder", "douglas fir", "sapele", "birch", "chestnut")
PENS = ("none", "graphite", "knife", "red", "blue", "black")
BENCHES = ("planks", "mat", "granite", "cloth", "slate", "paper")
LONG_CARD_FROM_MM = 112.0


def params(seed: int, hard: str | None = None) -> Params:
    """The scene of a seed: stages, neighbours and pens take turns, all else is drawn. `hard` is one of `hard.WAYS`."""
    rng = np.random.default_rng([seed, 7919])
    board = _board(seed, rng)
    scene = Params(
        seed,
        board,
        _saw(rng),
        _marks(seed, rng),
        _card(board, rng),
        _place(seed, rng),
        _light(rng),
        _shot(board, rng),
        _develop(seed, rng),
    )
    return scene if hard is None else harder(scene, hard, rng)


def another_view(scene: Params, view: int) -> Params:
    """The same end, card and light seen by the same phone from another place; view 0 is the scene's own."""
    if view == 0:
        return scene
    drawn = _shot(scene.board, np.random.default_rng([scene.seed, 7919, view]))
    return replace(
        scene, shot=replace(scene.shot, tilt=drawn.tilt, azimuth=drawn.azimuth, roll=drawn.roll, aim=drawn.aim)
    )


def _board(seed: int, rng: np.random.Generator) -> Board:
    width = float(rng.uniform(60, 150) if seed % 3 else rng.uniform(60, 100))
    thickness = float(rng.uniform(10, 22))
    most = min(6, int(width / 19))
    tails = int(rng.integers(2, max(most, 2) + 1))
    return Board(
        width,
        thickness,
        tails,
        SPECIES[int(rng.integers(len(SPECIES)))],
        ("sawn", "cleared")[seed % 2],
        1 / float(rng.choice([6, 7, 8])),
        thickness * float(rng.uniform(0.9, 1.15)),
        float(rng.uniform(0.45, 0.75)),
        float(rng.uniform(4.5, 8)),
        float(rng.uniform(2.8, 6.0)),
    )


def _saw(rng: np.random.Generator) -> Saw:
    return Saw(
        float(rng.normal(0, 0.3)),
        float(rng.uniform(0.2, 0.9)),
        float(rng.uniform(0.002, 0.05)),
        float(rng.uniform(0.05, 0.15)),
        float(rng.uniform(0.008, 0.03)),
        float(rng.uniform(0.02, 0.4)),
    )


def _marks(seed: int, rng: np.random.Generator) -> Marks:
    pen = PENS[seed // 2 % len(PENS)]
    width = {"none": 0.0, "knife": rng.uniform(0.06, 0.14)}.get(pen, rng.uniform(0.22, 0.5))
    return Marks(
        pen,
        float(width),
        float(rng.uniform(0.05, 0.2)),
        bool(rng.random() < 0.45),
        float(rng.uniform(0, 1.5)),
        float(rng.choice([0, 0.3, 1.0])),
        float(rng.choice([0, 0, 0.15, 0.3])),
        float(rng.uniform(0.05, 0.3)),
        "any",
    )


def _card(board: Board, rng: np.random.Generator) -> CardSet:
    kind = "short" if board.width < LONG_CARD_FROM_MM else "long"
    tilt = rng.normal(0, 0.12, 2)
    return CardSet(
        kind,
        float(rng.uniform(3.2, 6)),
        float(rng.uniform(0.4, 4.5)),
        float(rng.normal(0, 6)),
        float(rng.normal(0, 1.5)),
        float(rng.normal(0, 0.15)),
        (float(tilt[0]), float(tilt[1])),
        str(rng.choice(["ply", "black", "long grain", "grey"])),
        bool(rng.random() < 0.5),
    )


def _place(seed: int, rng: np.random.Generator) -> Place:
    neighbour = ("open", "jaw")[(seed // 2 + seed // 12) % 2]
    return Place(
        neighbour,
        float(rng.uniform(1, 18)),
        bool(rng.random() < 0.35),
        BENCHES[int(rng.integers(len(BENCHES)))],
        float(rng.uniform(45, 130)),
        int(rng.integers(2, 7)),
    )


def _light(rng: np.random.Generator) -> Light:
    warm = float(rng.uniform(-1, 1))
    ambient = (1 - 0.12 * warm, 1.0, 1 + 0.18 * warm)
    low_sun = rng.random() < 0.3
    return Light(
        float(rng.choice([0, 1, 1, 1]) * rng.uniform(0.3, 2.5)),
        float(rng.uniform(0, 360)),
        float(rng.uniform(16, 30) if low_sun else rng.uniform(30, 75)),
        float(rng.uniform(0.6, 22)),
        (1.0, float(rng.uniform(0.82, 0.98)), float(rng.uniform(0.62, 0.95))),
        float(rng.uniform(0.2, 1.2)),
        float(rng.uniform(0, 360)),
        float(rng.uniform(45, 80)),
        float(rng.uniform(0.3, 0.9)),
        ambient,
    )


def _shot(board: Board, rng: np.random.Generator) -> Shot:
    px = (4000, 3000) if rng.random() < 0.2 else (3264, 2448)
    k = rng.normal(0, [0.012, 0.004])
    turns = [0, 0, 0, 180, 180, 90, 270] if board.width < LONG_CARD_FROM_MM else [0, 180]
    quarter = float(rng.choice(turns))
    return Shot(
        px,
        float(rng.uniform(10, 21)),
        float(rng.uniform(260, 430)),
        float(min(10, abs(rng.normal(0, 4)))),
        float(rng.uniform(0, 360)),
        quarter + float(rng.normal(0, 5)),
        (float(rng.uniform(-1, 1)), float(rng.uniform(-1, 1))),
        float(k[0]),
        float(k[1]),
    )


def _develop(seed: int, rng: np.random.Generator) -> Develop:
    return Develop(
        float(rng.uniform(0.5, 1.1)),
        float(rng.uniform(0.004, 0.015)),
        float(rng.uniform(0, 0.8)),
        float(rng.uniform(-0.25, 0.3)),
        (float(rng.normal(1, 0.04)), float(rng.normal(1, 0.05))),
        float(rng.uniform(0, 0.5)),
        float(rng.uniform(0, 0.25)),
        int(rng.integers(84, 95)),
        "heic" if seed % 9 == 4 else "jpg",
        int(rng.choice([1, 1, 1, 6, 8, 3])),
    )
