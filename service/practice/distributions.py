"""Quantiles and tail probabilities that the log needs; scipy's special functions are loaded only when asked for."""

from __future__ import annotations

import math


def t_quantile(probability: float, freedom: float) -> float:
    """Student's t below which `probability` lies, for `freedom` degrees (may be fractional, or infinite)."""
    from scipy.special import ndtri, stdtrit

    return float(ndtri(probability) if math.isinf(freedom) else stdtrit(freedom, probability))


def t_two_sided(t: float, freedom: float) -> float:
    """Probability of a Student's t at least as far from zero as `t`."""
    from scipy.special import ndtr, stdtr

    return float(2.0 * (ndtr(-abs(t)) if math.isinf(freedom) else stdtr(freedom, -abs(t))))


def chi_square_quantile(probability: float, freedom: float) -> float:
    """Chi-square below which `probability` lies."""
    from scipy.special import gammaincinv

    return float(2.0 * gammaincinv(freedom / 2.0, probability))


def half_binomial_quantile(probability: float, trials: int) -> int:
    """Smallest count of heads, in `trials` throws of a fair coin, that has at least `probability` at or below it."""
    from scipy.special import bdtrik

    return max(0, math.ceil(float(bdtrik(probability, trials, 0.5)) - 1e-9)) if trials else 0
