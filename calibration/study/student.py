"""Student's t, as far as intervals need it; scipy's special functions are loaded only when asked for."""

from __future__ import annotations

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
