"""What is known of a lens before a photo is solved: from the photo's own data, or from a camera profile."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

K1_PRIOR = 0.02
K2_PRIOR = 0.008
"""Standard deviations of radial distortion left in a phone's own pictures (common practice, no source)."""

PRINCIPAL_SHARE = 0.005
"""Standard deviation of the principal point about the middle, as a share of the picture's long side, in each direction
(common practice, no source)."""
CUT_PRINCIPAL_SHARE = 0.1
"""The same for a picture cut out of a larger one: people cut away what is not the board, on one side or the other."""

FOCAL_PRIOR_UNKNOWN = 0.4
"""Standard deviation of the logarithm of the focal length when the photo does not state it: phones have lenses of 24 to
77 mm equivalent, from a wide to a 3x one."""

FOCUS_U = 0.01 / np.sqrt(3.0)
"""Relative standard uncertainty that refocusing leaves in the focal length: within 1 %, rectangular (JCGM 100:2008,
4.3.7; the limit is common practice, no source)."""
STABILISER_SHARE = 0.003
"""How far a picture stabiliser moves the principal point, one standard deviation, as a share of the picture's long side
(common practice, no source)."""

SIZE = 5
PRINCIPAL = slice(3, 5)


@dataclass(frozen=True, eq=False)
class LensPrior:
    """Gaussian knowledge of (log focal length in px, k1, k2, principal point less the middle of the picture, x and y).

    `mean` (5,), `covariance` (5, 5), `decentring` (2,): p1 and p2, taken as known. Raises ValueError unless the
    covariance is positive definite.
    """

    mean: Floats
    covariance: Floats
    decentring: Floats = field(default_factory=lambda: np.zeros(2))

    def __post_init__(self) -> None:
        if np.shape(self.mean) != (SIZE,) or np.shape(self.covariance) != (SIZE, SIZE):
            raise ValueError("mean must have 5 entries and covariance 5 by 5")
        if not np.all(np.linalg.eigvalsh(self._scaled) > 0.0):
            raise ValueError("covariance must be positive definite")

    @classmethod
    def from_focal(
        cls, focal_px: float, relative_u: float, size_px: tuple[int, int], principal_share: float = PRINCIPAL_SHARE
    ) -> LensPrior:
        """A lens of which only the focal length is known, with its relative standard deviation; the rest as phones'."""
        principal = principal_share * max(size_px)
        sigma = np.array([relative_u, K1_PRIOR, K2_PRIOR, principal, principal])
        return cls(np.array([np.log(focal_px), 0.0, 0.0, 0.0, 0.0]), np.diag(sigma**2))

    def off_middle(self, lens: Floats) -> float:
        """How far the principal point of a `lens` (5,) is from where this prior has it, in standard deviations."""
        return float(np.linalg.norm(self.whitened(lens - self.mean)[PRINCIPAL]))

    @property
    def focal_px(self) -> float:
        """The likeliest focal length."""
        return float(np.exp(self.mean[0]))

    @cached_property
    def information(self) -> Floats:
        """Inverse of the covariance, (5, 5)."""
        return np.asarray(np.linalg.inv(self.covariance))

    def whitened(self, departure: Floats) -> Floats:
        """A departure (5,) from the mean in standard deviations of five independent directions."""
        return np.asarray(np.linalg.solve(self._root, departure))

    @cached_property
    def _root(self) -> Floats:
        return np.asarray(np.linalg.cholesky(self.covariance))

    @property
    def _scaled(self) -> Floats:
        """The correlation matrix: eigenvalues of a covariance in mixed units say nothing."""
        variances = np.diag(self.covariance)
        return np.asarray(self.covariance / np.sqrt(np.maximum(np.outer(variances, variances), 1e-300)))
