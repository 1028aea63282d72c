"""The fit of all pins once the boards have settled, with its uncertainty by random draws (JCGM 101).

Gap and squeeze have kinks, so what a linear budget would make of them is not good enough; what the walls share stays
shared in the draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from calibration.parts import parts_of, sources_of, values_of
from calibration.quantity import Quantity
from vision.joint.decision import Estimate, from_draws
from vision.joint.settling import Floats, gap_and_squeeze, mean_squeeze, settle, wall_squeeze

DRAWS = 2000
"""Random draws per board: the ends of a 95 % interval are then known to about 6 % of the standard uncertainty."""


class SettledFit(NamedTuple):
    """Gaps and squeezes per socket, settled and not; the common shift; the squeeze of each wall once settled (mm).

    `squeeze_mean` is the mean over the area of the socket's walls, `squeeze` the most anywhere on them.
    """

    gap: list[Estimate]
    squeeze: list[Estimate]
    squeeze_mean: list[Estimate]
    gap_unsettled: list[Estimate]
    squeeze_unsettled: list[Estimate]
    shift: Estimate
    wall_squeeze_mm: Floats


def settle_walls(
    overlaps: Sequence[Quantity], rng: np.random.Generator, *, roots: Sequence[Quantity] | None = None
) -> SettledFit:
    """Settle the best estimate and every draw of the walls' `overlaps` at the show face, in mm.

    `roots` are the overlaps there at the bottom of the sockets; without them every depth is like the end.
    """
    cases = _cases([*overlaps, *(roots or ())], rng)
    show, root = cases[: len(overlaps)], None if roots is None else cases[len(overlaps) :]
    shift = settle(show, root)
    gap, squeeze = map(_estimates, gap_and_squeeze(show, shift, root))
    gap_unsettled, squeeze_unsettled = map(_estimates, gap_and_squeeze(show, 0.0, root))
    best_root = None if root is None else root[:, 0]
    return SettledFit(
        gap,
        squeeze,
        _estimates(mean_squeeze(show, shift, root)),
        gap_unsettled,
        squeeze_unsettled,
        _estimates(shift[None])[0],
        wall_squeeze(show[:, 0], float(shift[0]), best_root),
    )


def draw_quantities(quantities: Sequence[Quantity], draws: int, rng: np.random.Generator) -> Floats:
    """Joint random draws of `quantities`, (n, draws): one standard normal per independent source (JCGM 101, 6.4.7)."""
    sources = sources_of(quantities)
    errors = parts_of(quantities, sources) @ rng.standard_normal((len(sources), draws))
    return values_of(quantities)[:, None] + errors


def _cases(quantities: Sequence[Quantity], rng: np.random.Generator) -> Floats:
    """The best estimates in the first column, then the draws: (n, 1 + draws)."""
    return np.hstack([values_of(quantities)[:, None], draw_quantities(quantities, DRAWS, rng)])


def _estimates(cases: Floats) -> list[Estimate]:
    """Estimates from (n, 1 + draws): the best estimate in the first column, then the draws."""
    return from_draws(cases[:, 0], cases[:, 1:])
