"""What numbers become once something about their errors is known: the best linear estimate from labelled parts.

Evidence is a quantity whose true value is zero: a size seen less the size told, an angle that ought to vanish. Its
parts name the same sources of error as the numbers' own, so every number is corrected by its regression on the
evidence (Gauss and Markov's theorem; JCGM 100:2008, F.1.2.4 for covariance from shared sources). The corrected number
is a sum of quantities: it keeps labelled, independent parts, those of the evidence among them.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

import numpy as np

from calibration.parts import parts_of, quantity_of, sources_of, values_of
from calibration.quantity import Quantity, Source


def given(
    quantities: Sequence[Quantity], evidence: Sequence[Quantity], *, apart: Collection[str] = ()
) -> list[Quantity]:
    """The quantities, each in its own unit, once every piece of `evidence` is known to be zero in truth.

    Errors of the causes `apart` are not read from the evidence: they stay as they are. Raises ValueError for evidence
    without uncertainty: nothing could be learned from it but a contradiction.
    """
    if not evidence:
        return list(quantities)
    if any(one.u == 0.0 for one in evidence):
        raise ValueError("evidence must not be without uncertainty")
    sources = sources_of([*quantities, *evidence])
    seen, numbers = parts_of(evidence, sources), parts_of(quantities, sources)
    read = numbers * [source.cause not in apart for source in sources]
    size = np.linalg.norm(seen, axis=1)
    alike = seen / size[:, None]
    gain = np.linalg.solve(alike @ alike.T, alike @ read.T).T / size
    values = values_of(quantities) - gain @ values_of(evidence)
    parts = numbers - gain @ seen
    return [
        quantity_of(value, row, sources, quantity.unit)
        for quantity, value, row in zip(quantities, values, parts, strict=True)
    ]


def log_likelihood(evidence: Sequence[Quantity]) -> float:
    """Logarithm of the evidence's probability density, normal and about zero, but for a constant."""
    seen = parts_of(evidence, sources_of(evidence))
    size = np.linalg.norm(seen, axis=1)
    alike, values = seen / size[:, None], values_of(evidence) / size
    covariance = alike @ alike.T
    _, log_size = np.linalg.slogdet(covariance)
    return float(-0.5 * (values @ np.linalg.solve(covariance, values) + log_size) - np.log(size).sum())


def widened(quantity: Quantity, times: Mapping[Source, float]) -> Quantity:
    """The quantity with the parts of some sources so many times as large."""
    return quantity.parts_times(lambda source: times.get(source, 1.0))


def spread_of_mixture(share: float, times: float) -> float:
    """How many times wider a normal distribution's 95 % interval is when a `share` of draws is `times` as wide.

    By halving: the interval ends where both kinds together leave 5 % outside (JCGM 101:2008, 7.7, symmetric case).
    """
    low, high = 1.0, times
    for _ in range(50):
        middle = (low + high) / 2.0
        outside = (1.0 - share) * _outside(middle) + share * _outside(middle / times)
        low, high = (middle, high) if outside > _outside(1.0) else (low, middle)
    return high


def _outside(times: float) -> float:
    """Probability that a normal deviate lies outside `times` its own 95 % interval."""
    return math.erfc(times * _Z95 / math.sqrt(2.0))


_Z95 = 1.959963984540054
"""Normal deviate that leaves 5 % outside, two-sided."""
