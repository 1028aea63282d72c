"""Student's t and chi-squared, as far as intervals need them; scipy's special functions load only when asked for."""

from __future__ import annotations

import math

MOST_FREEDOM = 1e7
"""So many degrees of freedom are as good as a normal distribution."""


def student(confidence: float, freedom: float) -> float:
    """Half-width of the two-sided Student interval, in standard uncertainties; `freedom` may be infinite."""
    from scipy.special import stdtrit

    return float(stdtrit(min(freedom, MOST_FREEDOM), (1.0 + confidence) / 2.0))


def two_sided_p(t: float, freedom: float) -> float:
    """Probability of a Student's t at least as far from zero as `t`; `freedom` may be infinite."""
    from scipy.special import stdtr

    return float(2.0 * stdtr(min(freedom, MOST_FREEDOM), -abs(t)))


def spread_factors(confidence: float, freedom: float) -> tuple[float, float]:
    """What a standard deviation must be multiplied by for the ends of its confidence interval.

    The chi-squared interval of a normal sample (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.8).
    """
    from scipy.special import chdtri

    tail = (1.0 - confidence) / 2.0
    return math.sqrt(freedom / chdtri(freedom, tail)), math.sqrt(freedom / chdtri(freedom, 1.0 - tail))
