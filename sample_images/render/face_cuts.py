"""The same board's cuts as a face shows them: where each runs from the end to where its saw stopped, and the truth.

Depths are counted from the end, mm; x as in the end frame.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from .draw import another_view
from .params import Face, Params
from .wall import SKIN_MM, STEP_MM, Array, Wall, roughness, walls

BELOW_MM = 2.0
"""How far below the deepest cut or baseline the cut part of the face reaches."""
_PENS = {"none": "gauge", "knife": "knife"}
_KINDS = {"graphite": "pencil", "knife": "knife or gauge", "gauge": "knife or gauge"}
"""What a baseline may be called; coloured ink is neither."""
_WIDTHS_MM = {"gauge": (0.1, 0.3), "knife": (0.07, 0.16)}


@dataclass(frozen=True)
class FaceCut:
    """One cut on a face. `x` (n,) is the true edge of the tail at `depths` (n,), `waste` (n,) the kerf's other edge.

    `stop` is the index in `depths` of where the saw stopped; `lost` and `waste_lost` (n,) are what roughness adds to
    both edges at the face, `far` and `far_waste` (n,) where they run on the other face.
    """

    wall: Wall
    depths: Array
    x: Array
    waste: Array
    lost: Array
    waste_lost: Array
    far: Array
    far_waste: Array
    stop: int


def faced(scene: Params, view: str) -> Params:
    """The scene's board lying on its bench, `view` (show or transfer) up, the card flat on it below the baseline."""
    rng = np.random.default_rng([scene.seed, 32452843, ("show", "transfer").index(view)])
    past = _past(scene, rng)
    pen = _PENS.get(scene.marks.pen, scene.marks.pen)
    width = rng.uniform(*_WIDTHS_MM.get(pen, (0.2, 0.5)))
    skew, layout = rng.normal(0, 0.12), rng.random() < 0.6
    face = Face(view, past, pen, float(width), float(skew), bool(layout), float(rng.uniform(30, 130)))
    gap = scene.board.depth + max(*past, 0.0) + float(rng.uniform(1.5, 12))
    tilt = tuple(float(v) for v in rng.normal(0, 0.04, 2))
    card = replace(scene.card, gap=gap, height=float(rng.uniform(0.1, 0.5)), tilt=tilt)
    seen = another_view(scene, 101 + ("show", "transfer").index(view))
    return replace(seen, card=card, place=replace(seen.place, neighbour="open"), face=face)


def _past(scene: Params, rng: np.random.Generator) -> tuple[float, ...]:
    """How far past the baseline each cut goes: a saw that is not level stops a little elsewhere on the other face."""
    saw = np.random.default_rng([scene.seed, 32452867])
    common = saw.normal(0.0, saw.uniform(0.1, 0.5), 2 * scene.board.tails)
    return tuple(float(v) for v in common + rng.normal(0.0, 0.12, common.size))


def cuts(scene: Params) -> list[FaceCut]:
    """All cuts of the face, by x in the end frame; the walls are those that the end has."""
    rng = np.random.default_rng([scene.seed, 67867967, ("show", "transfer").index(_face(scene).view)])
    deepest = scene.board.depth + max(*_face(scene).past, 0.0) + BELOW_MM
    depths = np.arange(0.0, deepest, STEP_MM)
    return [_cut(scene, wall, past, depths, rng) for wall, past in zip(walls(scene), _face(scene).past, strict=True)]


def baseline_depth(scene: Params, x: Array) -> Array:
    """How deep the baseline lies at `x` (n,) of the end frame, mm: square but for the hand's own small skew."""
    return scene.board.depth + np.tan(np.radians(_face(scene).skew)) * (x - scene.board.width / 2)


def across(scene: Params, x: Array) -> Array:
    """Where x (n,) of the end frame lies in the scene, mm: a show face is seen from the other side."""
    return scene.board.width - x if _face(scene).view == "show" else x


def face_truth(scene: Params) -> dict[str, Any]:
    """What is true of the face, in the format of the project's photo sets; lines as fitted, SKIN_MM from both ends."""
    face, ends = _face(scene), baseline_depth(scene, np.array([0.0, scene.board.width]))
    baseline = {"depth_at_left": float(ends[0]), "depth_at_right": float(ends[1]), "out_of_square_deg": face.skew}
    kind = {"kind": _KINDS[face.pen]} if face.pen in _KINDS else {}
    return {
        "view": face.view,
        "baseline": baseline | kind,
        "kerfs": [_true_cut(scene, cut) for cut in cuts(scene)],
    }


def _cut(scene: Params, wall: Wall, past: float, depths: Array, rng: np.random.Generator) -> FaceCut:
    """The walls' true edges reach the faces where the end has them; down the face they are rough by themselves."""
    side = wall.ends[0 if _face(scene).view == "show" else 1]
    other = wall.ends[1 if _face(scene).view == "show" else 0]
    run = wall.into_tail * wall.slope * depths
    lost, waste_lost = roughness(depths, scene.saw, rng), roughness(depths, scene.saw, rng)
    kerf = wall.into_tail * wall.kerf
    middle = np.array([side])
    stop_mm = float(baseline_depth(scene, middle)[0]) + past
    return FaceCut(
        wall,
        depths,
        side + run + lost,
        side + run - kerf + waste_lost,
        lost,
        waste_lost,
        other + run,
        other + run - kerf,
        int(np.clip(round(stop_mm / STEP_MM), 1, depths.size - 2)),
    )


def _true_cut(scene: Params, cut: FaceCut) -> dict[str, Any]:
    stop = float(cut.depths[cut.stop])
    inside = (cut.depths >= SKIN_MM) & (cut.depths <= min(stop, scene.board.depth) - SKIN_MM)
    run, x_at_end = np.polyfit(cut.depths[inside], cut.x[inside], 1)
    baseline = float(baseline_depth(scene, cut.x[cut.stop : cut.stop + 1])[0])
    return {
        "tail": cut.wall.tail,
        "side": cut.wall.side,
        "x_at_end": float(x_at_end),
        "slope": cut.wall.into_tail * float(run),
        "slope_deg": cut.wall.into_tail * float(np.degrees(np.arctan(run))),
        "stop_depth": stop,
        "past_baseline": stop - baseline,
    }


def _face(scene: Params) -> Face:
    assert scene.face is not None, "the scene shows an end"
    return scene.face
