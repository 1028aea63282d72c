"""The numbers of a measured board that lists and charts need, worked out once when its answer comes.

Definitions are those of the practice log (`service/practice/series.py`); `u` are standard uncertainties.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import fmean
from typing import Any

from calibration.quantity import COVERAGE_FACTOR
from service.domain.board import Board
from service.domain.check import Answer, Check

DEFAULT_GAP_LIMIT_MM = 0.10
"""The limit of a check without a class, where an older result does not tell it."""


@dataclass(frozen=True)
class Measures:
    """One board by its newest measured end (`check`), and what it was handed in to. Lean in degrees, lengths in mm.

    `abs_` are means of sizes, `worst_` the largest size; taper is None without sockets. `left_to_right` counts left
    walls that lean to the right by more than their expanded uncertainty, and so on.
    """

    board: str
    check: str
    person: str
    assignment: str
    created: datetime
    stage: str
    advice: str
    width_mm: float
    thickness_mm: float
    gap_limit_mm: float
    walls: int
    lean_deg: float
    abs_lean_deg: float
    lean_u_deg: float
    left_lean_deg: float | None
    right_lean_deg: float | None
    spread_deg: float
    spread_u_deg: float
    out_of_square_mm: float
    out_of_square_u_mm: float
    worst_out_of_square_mm: float
    left_walls: int
    right_walls: int
    left_to_left: int
    left_to_right: int
    right_to_left: int
    right_to_right: int
    sockets: int
    taper_mm: float | None
    abs_taper_mm: float | None
    taper_u_mm: float | None
    worst_taper_mm: float | None
    worst_gap_mm: float | None
    worst_squeeze_mm: float | None
    seats: int
    loose: int
    splitting: int
    too_close_to_call: int

    @property
    def failed(self) -> int:
        """Sockets that are firmly too loose or too tight."""
        return self.loose + self.splitting


def measures_of(board: Board, checks: Sequence[Check]) -> Measures | None:
    """The numbers of a board with these checks; None when none is measured or its result has no walls.

    Raises KeyError, TypeError or ValueError for a result that is damaged.
    """
    measured = [check for check in checks if check.view == "end" and check.advice]
    newest = max(measured, key=lambda check: (check.sent_at, check.id), default=None)
    if newest is None or newest.answer is None or len(newest.answer.result.get("walls", ())) < 2:
        return None
    result = newest.answer.result
    limit_mm = gap_limit_of(newest.answer)
    size, walls, sockets = result["board"], result["walls"], result["sockets"]
    named: dict[str, Any] = {"board": board.id, "check": newest.id, "person": board.person}
    named |= {"assignment": board.assignment, "created": board.created}
    told = {"stage": result["stage"], "advice": result["advice"], "gap_limit_mm": limit_mm}
    sizes = {name: float(size[name]) for name in ("width_mm", "thickness_mm")}
    numbers = sizes | _of_walls(walls, sizes["thickness_mm"]) | _of_sockets(sockets)
    if not all(math.isfinite(number) for number in numbers.values() if number is not None):
        raise ValueError("a number of the result is not finite")
    return Measures(**named, **told, **numbers)


def gap_limit_of(answer: Answer) -> float:
    """The widest gap that the verdicts allow, mm: as the result tells it, else as the class's policy did."""
    sockets = answer.result.get("sockets") or [{}]
    policy = answer.words.get("policy", {}).get("gap_mm", DEFAULT_GAP_LIMIT_MM)
    return float(sockets[0].get("gap_limit_mm", policy))


def _of_walls(walls: Sequence[Mapping[str, Any]], thickness_mm: float) -> dict[str, Any]:
    leans, outs = [wall["lean_deg"] for wall in walls], [abs(wall["out_of_square_mm"]) for wall in walls]
    u = [wall["lean_u95_deg"] / COVERAGE_FACTOR for wall in walls]
    lean = fmean(leans)
    return {
        "walls": len(walls),
        "lean_deg": lean,
        "abs_lean_deg": fmean(map(abs, leans)),
        "lean_u_deg": fmean(u),
        "spread_deg": math.sqrt(sum((each - lean) ** 2 for each in leans) / (len(leans) - 1)),
        "spread_u_deg": math.sqrt(fmean(each**2 for each in u)),
        "out_of_square_mm": fmean(outs),
        "out_of_square_u_mm": fmean(out_of_square_u95_mm(wall, thickness_mm) for wall in walls) / COVERAGE_FACTOR,
        "worst_out_of_square_mm": max(outs),
        **_of_sides(walls),
    }


def out_of_square_u95_mm(wall: Mapping[str, Any], thickness_mm: float) -> float:
    """Out of square = T tan(lean): its uncertainty is that of the lean times T / cos^2(lean)."""
    mm_per_rad = thickness_mm / math.cos(math.radians(wall["lean_deg"])) ** 2
    return float(mm_per_rad * math.radians(wall["lean_u95_deg"]))


def _of_sides(walls: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    told: dict[str, Any] = {}
    for side in ("left", "right"):
        own = [wall for wall in walls if wall["side"] == side]
        told[f"{side}_walls"] = len(own)
        told[f"{side}_lean_deg"] = fmean(wall["lean_deg"] for wall in own) if own else None
        told[f"{side}_to_left"] = sum(-wall["lean_deg"] > wall["lean_u95_deg"] for wall in own)
        told[f"{side}_to_right"] = sum(wall["lean_deg"] > wall["lean_u95_deg"] for wall in own)
    return told


def _of_sockets(sockets: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    tapers = [socket["taper_mm"] for socket in sockets]
    verdicts = [socket["verdict"] for socket in sockets]
    return {
        "sockets": len(sockets),
        "taper_mm": fmean(tapers) if tapers else None,
        "abs_taper_mm": fmean(map(abs, tapers)) if tapers else None,
        "taper_u_mm": fmean(socket["taper_u95_mm"] / COVERAGE_FACTOR for socket in sockets) if tapers else None,
        "worst_taper_mm": max(tapers, key=abs, default=None),
        "worst_gap_mm": max((socket["gap_mm"] for socket in sockets), default=None),
        "worst_squeeze_mm": max((socket["squeeze_mm"] for socket in sockets), default=None),
        "seats": verdicts.count("seats"),
        "loose": verdicts.count("loose"),
        "splitting": verdicts.count("splitting"),
        "too_close_to_call": verdicts.count("too close to call"),
    }
