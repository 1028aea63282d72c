"""What became of invented boards: how each pin fitted when it was driven, and what an instructor said of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from service.domain.fit import Outcome
from service.domain.review import Decision
from service.practice.entries import Chances
from service.practice.from_result import chances_of

LEAST_CHANCE = 0.01
"""What is rarer does not happen: one such pin would make all predictions of a student with thirty look wrong."""
CONTRADICTED: Mapping[str, tuple[float, Decision]] = {
    "start over": (0.15, "pare"),
    "photograph again": (0.5, "transfer"),
    "pare": (0.3, "start over"),
}
"""How often an invented instructor decides otherwise than the tool advises, and what then."""


def outcomes(sockets: Sequence[Mapping[str, Any]], rng: np.random.Generator) -> dict[int, Outcome]:
    """How the pins of a driven joint fitted, by their number: things come as often as the tool foretold them."""
    foretold = {number: chances_of(socket) for number, socket in enumerate(sockets)}
    return {number: _outcome(chances, rng) for number, chances in foretold.items() if chances is not None}


def _outcome(chances: Chances, rng: np.random.Generator) -> Outcome:
    names: tuple[Outcome, ...] = ("seated", "loose", "split")
    shares = np.array((chances.seats, chances.loose, chances.splitting))
    shares[shares < LEAST_CHANCE] = 0.0
    return names[int(rng.choice(len(names), p=shares / shares.sum()))]


def decision(advice: str, rng: np.random.Generator) -> Decision:
    """What the instructor decides of a board with that advice."""
    share, other = CONTRADICTED.get(advice, (0.0, "transfer"))
    return other if rng.random() < share else advice  # type: ignore[return-value]


def worst_walls(walls: Sequence[Mapping[str, Any]], most: int) -> list[int]:
    """The walls, by number, that lean most and by more than their uncertainty, the worst first."""
    leaning = [number for number, wall in enumerate(walls) if abs(wall["lean_deg"]) > wall["lean_u95_deg"]]
    return sorted(leaning, key=lambda number: -abs(walls[number]["lean_deg"]))[:most]


def fault(walls: Sequence[Mapping[str, Any]]) -> str:
    """The fault to speak of: `left` or `right` when most walls lean that way, `both` when they scatter, or `none`."""
    ways = [np.sign(wall["lean_deg"]) for wall in walls if abs(wall["lean_deg"]) > wall["lean_u95_deg"]]
    if 2 * len(ways) < len(walls):
        return "none"
    if abs(sum(ways)) < len(ways):
        return "both"
    return "left" if ways[0] < 0 else "right"
