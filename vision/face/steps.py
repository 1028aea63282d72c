"""Steps of light to either side of every place in a straightened face: what tails' and boards' sides are told by."""

from __future__ import annotations

import numpy as np

from vision.photo.strip import Light

ASIDE_MM, MOST_STEP = 0.08, 0.3
"""How far to either side of a place its light is looked at, and the step of it that counts most."""


def steps_to_the_right(light: Light, unit: float) -> Light:
    """How much the light (rows, columns) falls to the right across every place, within +-`MOST_STEP`.

    In the unit of `light`; `unit` is samples per mm. The outermost columns have none.
    """
    gap = max(1, round(ASIDE_MM * unit))
    steps = np.zeros_like(light)
    steps[:, gap:-gap] = np.clip(light[:, : -2 * gap] - light[:, 2 * gap :], -MOST_STEP, MOST_STEP)
    return steps
