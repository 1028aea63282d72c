"""Standard deviations told by medians, which a few wild values leave where they are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

MAD_TO_SD = 1.4826
"""A normal distribution's standard deviation over its median absolute deviation: 1 / Phi^-1(3/4) (P. J. Rousseeuw and
C. Croux, J. Am. Stat. Assoc. 88, 1993, 1273)."""


def robust_sigma(values: NDArray[np.floating]) -> float:
    """Standard deviation of `values` (any shape), in their unit, by the median absolute value: normal about zero."""
    return float(MAD_TO_SD * np.median(np.abs(values)))
