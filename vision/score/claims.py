"""Numbers held against the truth: how far off they are, and how often the truth lies within their +-U."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.quantity import Quantity


@dataclass(frozen=True)
class Claim:
    """A reported number against the truth: what it is, its error (mm or degrees), and its expanded uncertainty."""

    what: str
    error: float
    u95: float

    @classmethod
    def of(cls, what: str, measured: Quantity, true: float) -> Claim:
        """The claim that a quantity makes of a number that is `true`, in the same unit."""
        return cls(what, measured.value - true, measured.u95)

    @property
    def inside(self) -> bool:
        """Whether the truth lies within +-U."""
        return abs(self.error) <= self.u95


def errors_of(claims: Sequence[Claim]) -> dict[str, float] | None:
    """Absolute errors of one kind of number, in its own unit; None when there is no claim.

    `count` is how many, then `median`, `p95`, the 95th percentile, and the `worst`.
    """
    if not claims:
        return None
    errors = np.abs([claim.error for claim in claims])
    shares = zip(("median", "p95", "worst"), (50, 95, 100), strict=True)
    return {"count": len(claims)} | {name: float(np.percentile(errors, share)) for name, share in shares}


def coverage(claims: Sequence[Claim]) -> float | None:
    """Share of the truths inside +-U; None when there is no claim."""
    return sum(claim.inside for claim in claims) / len(claims) if claims else None
