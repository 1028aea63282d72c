"""The scene as meshes with their textures: everything the path tracer needs, still without Blender."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass

import numpy as np

from . import bench, card, marks, solid, wood
from .camera import CardPose, card_pose
from .params import Params
from .solid import Array, Mesh
from .wall import Wall, walls
from .wood import Image, Rgb

SKIN: Rgb = (0.46, 0.26, 0.18)


@dataclass(frozen=True)
class Part:
    """A mesh with its look: a picture (linear, row 0 on top) or one colour, and how glossy (0 matt .. 1).

    `shine` (rows, cols), if given, is the gloss from place to place.
    """

    name: str
    mesh: Mesh
    picture: Image | None = None
    rgb: Rgb = (0.5, 0.5, 0.5)
    gloss: float = 0.0
    shine: Image | None = None


@dataclass(frozen=True)
class Scene:
    """All parts, and what the truth needs: the walls, the card's pose, and the corners (n, 3) of what is measured."""

    params: Params
    parts: list[Part]
    walls: list[Wall]
    pose: CardPose
    end: Array

    @property
    def sheet(self) -> Array:
        """Corners (4, 3) of the card's sheet, in the end frame, mm."""
        return sheet_corners(self.params, self.pose)

    @property
    def subject(self) -> Array:
        """What must be in the photo: sheet and end, (8, 3)."""
        return np.concatenate([self.sheet, self.end])


def build(params: Params) -> Scene:
    """The scene of `params`; nothing but the seed decides what is random in it."""
    rng = np.random.default_rng([params.seed, 15485863])
    sawn = walls(params)
    pose = card_pose(params.card, params.board.width, card.half_sheet(params.card))
    level = -params.place.bench_depth - params.board.depth
    parts = [
        *_board_parts(params, sawn, rng, level),
        *_card_parts(params, pose, rng, level),
        *_surroundings(params, pose, rng, level),
    ]
    return Scene(params, parts, sawn, pose, end_corners(params))


def end_corners(params: Params) -> Array:
    """The end's corners (4, 3): show left, show right, transfer right, transfer left."""
    w, t = params.board.width, params.board.thickness
    return np.array([[0, 0, 0], [w, 0, 0], [w, t, 0], [0, t, 0]], float)


def sheet_corners(params: Params, pose: CardPose) -> Array:
    """Corners (4, 3) of the card's sheet: top left, top right, bottom right, bottom left."""
    edge = card.margin_px(params.card) / card.PX_PER_MM
    half = np.array(card.DESIGNS[params.card.kind].size_mm) / 2 + edge
    return pose.points(np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half)


def _board_parts(params: Params, sawn: list[Wall], rng: np.random.Generator, level: float) -> list[Part]:
    board, species = params.board, wood.SPECIES[params.board.species]
    pieces = solid.board_pieces(params, sawn, rng, level)
    plain = wood.end_grain(board, params.marks, rng)
    inked = deepcopy(rng)
    drawn = marks.draw(plain, board, params.marks, sawn, rng)
    shine = marks.shine(plain, board, params.marks, sawn, inked) if params.marks.pen_gloss else None
    side = wood.long_grain(species, (100, 100), 8, rng)
    parts = [
        Part("ends", pieces.ends, drawn, gloss=params.marks.gloss, shine=shine),
        Part("walls", pieces.walls, side * 0.85),
        Part("faces", pieces.faces, side),
        Part("floor", pieces.floor, plain * 0.7),
    ]
    heaps = solid.kerf_dust(params, sawn, rng)
    grains = solid.specks((0, 0), (board.width, board.thickness), round(params.marks.dust * 40), 0.0, rng)
    red, green, blue = (1.15 * v for v in species.light)
    dusty = [*heaps, grains] if len(grains.points) else heaps
    return [*parts, *(Part(f"dust {i}", mesh, rgb=(red, green, blue)) for i, mesh in enumerate(dusty))]


def _card_parts(params: Params, pose: CardPose, rng: np.random.Generator, level: float) -> list[Part]:
    half_w, half_h = card.half_sheet(params.card)
    room = rng.uniform((2, 2), (22, 30))
    top = pose.points(
        np.array(
            [
                [-half_w - room[0], -half_h - room[1]],
                [half_w + room[0], -half_h - room[1]],
                [half_w + room[0], half_h - 0.4],
                [-half_w - room[0], half_h - 0.4],
            ]
        )
    )
    top[:, 2] -= 0.12
    return [Part("block", _block(top, level), _block_picture(params, rng)), *sheet_parts(params, pose, rng)]


def sheet_parts(params: Params, pose: CardPose, rng: np.random.Generator) -> list[Part]:
    """The card's sheet with what lies on it."""
    half_w, half_h = card.half_sheet(params.card)
    picture = card.sheet(params.card, rng)
    sheet = Part("card", _sheet(params, pose), picture, gloss=0.08)
    thumb = [_thumb(params, pose)] if params.card.thumb else []
    count = round(params.marks.dust * 25)
    grains = solid.specks((-half_w, -half_h), (half_w, half_h), count, 0.0, rng)
    if not count:
        return [sheet, *thumb]
    flat = pose.points(grains.points[:, :2]) + (0, 0, 1) * grains.points[:, 2:]
    return [sheet, *thumb, Part("card dust", Mesh(flat, grains.quads, grains.uv), rgb=(0.5, 0.36, 0.22))]


def _sheet(params: Params, pose: CardPose) -> Mesh:
    """The card's sheet, flat or wrinkled. Draws from a stream of its own, so that all else stays as it was."""
    corners = sheet_corners(params, pose)
    if not params.card.wrinkle:
        return solid.plate(corners)
    rng = np.random.default_rng([params.seed, 86028121])
    return solid.wrinkled(corners, params.card.wrinkle, rng)


def _thumb(params: Params, pose: CardPose) -> Part:
    """A thumb that comes over the edge away from the board, at a place of its own."""
    rng = np.random.default_rng([params.seed, 49979687])
    half_w, half_h = card.half_sheet(params.card)
    tip = np.array([rng.uniform(-0.7, 0.7) * half_w, -half_h + params.card.thumb])
    back = tip + 60 * np.array([rng.uniform(-0.5, 0.5), -1.0])
    ends = pose.points(np.stack([tip, back]))
    return Part("thumb", solid.finger(ends[0], ends[1], radius=float(rng.uniform(8, 10.5))), rgb=SKIN, gloss=0.3)


def _block(top: Array, level: float) -> Mesh:
    """A block under the corners `top` (4, 3), down to the bench."""
    ring = np.concatenate([top, top[:1]])
    low = ring * (1, 1, 0) + (0, 0, level)
    return solid.join([solid.plate(top), solid.grid(np.stack([low, ring]), np.stack([low, ring])[..., [0, 2]] / 100)])


def _block_picture(params: Params, rng: np.random.Generator) -> Image:
    kind = params.card.block
    if kind in ("black", "grey"):
        tone = {"black": 0.03, "grey": 0.22}[kind]
        return np.repeat(tone * (1 + 0.08 * wood.noise((600, 900), 3, rng))[..., None], 3, 2).astype(np.float32)
    species = wood.SPECIES["birch" if kind == "ply" else params.board.species]
    return wood.long_grain(species, (180, 90), 6, rng)


def _surroundings(params: Params, pose: CardPose, rng: np.random.Generator, level: float) -> list[Part]:
    parts = bench_parts(params, pose, rng, level, params.board.thickness + 30)
    return parts + (_jaw(params, rng, level) if params.place.neighbour == "jaw" else [])


def bench_parts(params: Params, pose: CardPose, rng: np.random.Generator, level: float, clear_to: float) -> list[Part]:
    """The bench at height `level` and what lies on it, none of it before y = `clear_to` (mm) below the card."""
    place = params.place
    width, height = bench.SIZE_MM
    middle = pose.centre
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (width / 2, height / 2) + middle[:2]
    parts = [Part("bench", solid.plate(np.c_[corners, np.full(4, level)]), bench.top(place.bench, rng))]
    reach = np.array(card.half_sheet(params.card)) + np.array([30, 38])
    keep_out = (middle[0] - reach[0], middle[1] - reach[1], middle[0] + reach[0], clear_to)
    things = bench.clutter(place.clutter, level, keep_out, rng)
    return parts + [Part(f"thing {i}", thing.mesh, rgb=thing.rgb) for i, thing in enumerate(things)]


def _jaw(params: Params, rng: np.random.Generator, level: float) -> list[Part]:
    """A vice jaw of the board's own wood against the transfer face, in some with a cork lining."""
    board, height = params.board, -params.place.jaw_drop
    near = board.thickness + 0.05
    left, right = board.width / 2 - rng.uniform(60, 160), board.width / 2 + rng.uniform(60, 160)
    lining = 3.5 if params.place.jaw_lining else 0.0
    species = wood.SPECIES[board.species]
    body = solid.box((left, near + lining, level), (right, near + lining + rng.uniform(35, 70), height), 160)
    parts = [Part("jaw", body, wood.long_grain(species, (160, 100), 8, rng))]
    if lining:
        strip = solid.box((left, near, level), (right, near + lining, height + 0.6))
        parts.append(Part("lining", strip, rgb=(0.22, 0.12, 0.06)))
    return parts
