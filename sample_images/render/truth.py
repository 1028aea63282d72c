"""The truth file of a photo, in the format of the project's photo sets."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from .camera import Camera
from .drill import true_cut
from .face_cuts import face_truth
from .photo_file import stored_orientation
from .scene import Scene
from .wall import Fit, Wall, fit

FRAME = "x along the width, y from show face (0) to transfer face (thickness); mm, degrees"
FACE_FRAME = "x as in the end frame, depth from the end; mm, degrees; slope positive when the tail narrows with depth"


def truth(scene: Scene, camera: Camera, photo: str) -> dict[str, Any]:
    """Everything known of a photo, ready for JSON."""
    params = scene.params
    return {
        "photo": photo,
        "frame": FACE_FRAME if params.face else FRAME,
        "board": _board(scene),
        "card": _card(scene),
        "camera": _camera(scene, camera),
        "corners_px": camera.project(scene.end).tolist(),
        **_cuts(scene, camera),
        "params": asdict(params),
        "stored_orientation": stored_orientation(params),
        "final": True,
    }


def _cuts(scene: Scene, camera: Camera) -> dict[str, Any]:
    if scene.params.face:
        return face_truth(scene.params)
    return _drill(scene) if scene.params.drill else _tails(scene, camera)


def _tails(scene: Scene, camera: Camera) -> dict[str, Any]:
    fits, board = [fit(wall) for wall in scene.walls], scene.params.board
    kerfs = [_kerf(wall, found, camera, board.thickness) for wall, found in zip(scene.walls, fits, strict=True)]
    return {"kerfs": kerfs, "sockets": sockets(fits, board.width)}


def _drill(scene: Scene) -> dict[str, Any]:
    pairs = zip(scene.walls, scene.params.drill, strict=True)
    return {"cuts": [true_cut(number, wall, meant) for number, (wall, meant) in enumerate(pairs, start=1)]}


def _board(scene: Scene) -> dict[str, Any]:
    board = scene.params.board
    keys = ("width", "thickness", "tails", "species", "stage", "slope", "depth")
    return {key: getattr(board, key) for key in keys}


def _card(scene: Scene) -> dict[str, Any]:
    card = scene.params.card
    return {
        "kind": card.kind,
        "gap": card.gap,
        "height_above_end": card.height,
        "tilt_deg": list(card.tilt),
        "turn_deg": card.turn,
        "print_scale": [1.0, 1.0],
    }


def _camera(scene: Scene, camera: Camera) -> dict[str, Any]:
    return {
        "f_px": camera.f_px,
        "k1": camera.k1,
        "k2": camera.k2,
        "width": camera.px[0],
        "height": camera.px[1],
        "distance": camera.distance,
        "tilt_deg": scene.params.shot.tilt,
        "px_per_mm": camera.f_px / camera.distance,
    }


def _kerf(wall: Wall, found: Fit, camera: Camera, thickness: float) -> dict[str, Any]:
    x_show, x_transfer = wall.ends
    pixels = camera.project(np.array([[x_show, 0, 0], [x_transfer, thickness, 0]], float))
    return {
        "tail": wall.tail,
        "side": wall.side,
        "nominal": wall.nominal,
        "lean": wall.lean,
        "bow": wall.bow,
        "x_mid": wall.x_mid,
        "x_show": x_show,
        "x_transfer": x_transfer,
        "slope": wall.slope,
        "px_show": pixels[0].tolist(),
        "px_transfer": pixels[1].tolist(),
        "fit_lean": found.lean,
        "x_show_fit": found.x_show,
        "x_transfer_fit": found.x_transfer,
        "squareness_zone": found.zone,
        "kerf": wall.kerf,
    }


def sockets(fits: list[Fit], width: float) -> list[dict[str, Any]]:
    """Openings between the fitted walls; at the two half pins the board's edge stands in, square."""
    edge_left, edge_right = Fit(0, 0, 0, 0), Fit(0, width, width, 0)
    lines = [edge_left, *fits, edge_right]
    pairs = list(zip(lines[::2], lines[1::2], strict=True))
    return [_socket(left, right, half=i in (0, len(pairs) - 1), first=i == 0) for i, (left, right) in enumerate(pairs)]


def _socket(left: Fit, right: Fit, *, half: bool, first: bool) -> dict[str, Any]:
    show, transfer = right.x_show - left.x_show, right.x_transfer - left.x_transfer
    return {
        "kind": "half" if half else "full",
        "width_show": show,
        "width_transfer": transfer,
        "lean_left": None if half and first else left.lean,
        "lean_right": None if half and not first else right.lean,
        "taper": show - transfer,
    }
