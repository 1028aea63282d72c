"""A camera profile: what a set of photos taught about one camera, and what it says of the lens of another photo."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from calibration.camera.setting import CameraSetting, turn_matrix
from calibration.lens_prior import FOCUS_U, STABILISER_SHARE, LensPrior

if TYPE_CHECKING:
    from calibration.camera.fit import CameraFit

Floats = NDArray[np.float64]

_PRINCIPAL = slice(3, 5)


@dataclass(frozen=True, eq=False)
class CameraProfile:
    """A camera kept under a `name`: `lens` (5,), `covariance` (5, 5) and `decentring` (2,) as in `LensPrior`.

    Everything is in the stored picture's own frame, not the upright one's. `verdict` is the word of the day it was
    made, `made` that day (ISO 8601), `photos` how many were used, `sigma_px` their corners' standard deviation,
    `distance_mm` the middle distance of the card in nominal mm. Raises ValueError unless the covariance is positive
    definite.
    """

    name: str
    setting: CameraSetting
    lens: Floats
    covariance: Floats
    decentring: Floats = field(default_factory=lambda: np.zeros(2))
    sigma_px: float = 0.0
    photos: int = 0
    distance_mm: float = 0.0
    verdict: str = ""
    made: str = ""

    def __post_init__(self) -> None:
        LensPrior(self.lens, self.covariance, self.decentring)

    @classmethod
    def of_fit(cls, name: str, setting: CameraSetting, fit: CameraFit, *, verdict: str, made: str) -> CameraProfile:
        """The profile of a solved camera."""
        distance_mm = float(np.median(np.linalg.norm(fit.poses[:, 3:], axis=1)))
        of_lens = fit.covariance[:5, :5]
        return cls(
            name, setting, fit.lens, of_lens, fit.decentring, fit.sigma_px, len(fit.views), distance_mm, verdict, made
        )

    @property
    def focal_px(self) -> float:
        """Focal length in pixels, at the distance of the profile's photos."""
        return float(np.exp(self.lens[0]))

    def prior(self, stored_px: tuple[int, int], orientation: int) -> LensPrior:
        """What it says of a photo of that stored size which EXIF `orientation` turns upright.

        Refocusing and the stabiliser add their allowances. A photo that was turned before it was stored leaves open to
        which side, and so which way the principal point went. Raises ValueError for another size.
        """
        if sorted(stored_px) != sorted(self.setting.size_px):
            raise ValueError(f"stored_px must be {self.setting.size_px}, got {stored_px}")
        stored_turned = stored_px != self.setting.size_px
        mean, covariance, decentring = self.lens.copy(), self._with_allowances(), self.decentring
        if stored_turned:
            offset = mean[_PRINCIPAL].copy()
            mean[_PRINCIPAL] = 0.0
            covariance[_PRINCIPAL, _PRINCIPAL] += np.eye(2) * float(offset @ offset)
            decentring = np.zeros(2)
        return _turned(mean, covariance, decentring, turn_matrix(orientation))

    def _with_allowances(self) -> Floats:
        stabiliser = STABILISER_SHARE * max(self.setting.size_px)
        return self.covariance + np.diag([FOCUS_U, 0.0, 0.0, stabiliser, stabiliser]) ** 2


def _turned(mean: Floats, covariance: Floats, decentring: Floats, turn: Floats) -> LensPrior:
    """The prior in the upright picture. Decentring turns as the vector (p2, p1) does."""
    whole = np.eye(5)
    whole[_PRINCIPAL, _PRINCIPAL] = turn
    p2, p1 = turn @ decentring[::-1]
    return LensPrior(whole @ mean, whole @ covariance @ whole.T, np.array([p1, p2]))
