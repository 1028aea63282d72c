"""How the channels of a band are seen: each through its profile, with ink that takes its share of some channel's light.

In red, green and blue all channels have one profile, and ink takes away a share of each one's own light. In luma and
colour (`vision.walls.tones`) the differences are softer, and what ink adds to them is a share of the wood's luma.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from vision.walls.lights import Sums, shown
from vision.walls.parts import WallParts

Floats = NDArray[np.float64]
Light = NDArray[np.float32]
Indices = NDArray[np.intp]


class Channels(NamedTuple):
    """The `parts` of a wall through each profile, the profile of each channel, and whose light its ink is a share of.

    `profile_of` and `share_of` are (channels,): places in `parts`, and channels.
    """

    parts: tuple[WallParts, ...]
    profile_of: Indices
    share_of: Indices

    @classmethod
    def alike(cls, parts: WallParts, count: int = 3) -> Channels:
        """`count` channels seen alike, each darkened by its own share."""
        return cls((parts,), np.zeros(count, np.intp), np.arange(count))

    @classmethod
    def luma_and_colour(cls, luma: WallParts, colour: WallParts) -> Channels:
        """Luma and two colour differences."""
        return cls((luma, colour), np.array([0, 1, 1]), np.zeros(3, np.intp))

    @property
    def wall(self) -> WallParts:
        """The parts as they are, whatever the profile."""
        return self.parts[0]

    @property
    def own(self) -> NDArray[np.bool_]:
        """Which channels' ink is a share of their own light, (channels,)."""
        return np.asarray(self.share_of == np.arange(len(self.share_of)))

    def shapes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Shapes (rows, channels, parts, columns), as `WallParts.shapes`; one channel stands for all if alike."""
        return self._by_channel([parts.shapes(borders, across, rough) for parts in self.parts])

    def changes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Changes (rows, channels, parts, borders, columns), as `WallParts.changes`; one channel for all if alike."""
        return self._by_channel([parts.changes(borders, across, rough) for parts in self.parts])

    def edge_changes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Changes of the shapes (rows, channels, parts, columns) as the wall's edge alone moves."""
        own = self.wall.own.astype(np.float32)
        return self._by_channel([own @ parts.changes(borders, across, rough) for parts in self.parts])

    def moved(self, amounts: Floats, changes: Light) -> Light:
        """Changes of the light (rows, channels, borders, columns) with the borders, of `amounts` of the shapes."""
        *_, borders, columns = changes.shape
        moved = shown(amounts, changes.reshape(*changes.shape[:3], -1)).reshape(*amounts.shape[:2], borders, columns)
        if not self.own.all():
            moved[:, :, -1] = shown(amounts[:, self.share_of], changes[..., -1, :])
        return moved

    def amounts(self, sums: Sums, between: Floats, ink: Floats, lights: Floats | None = None) -> tuple[Floats, Floats]:
        """Amounts of the shapes (..., channels, parts), and the inverse of the normal matrix that gave them.

        Ties `between` the parts' lights (parts, parts) draw them to `lights`, or to nothing, with ink of darkening
        `ink` (..., channels). A channel whose ink is a share of another's light follows that other's amounts.
        """
        ties = np.where(self.own[:, None, None], self.wall.ties(between, ink), between)
        lights = np.zeros_like(sums.with_light) if lights is None else lights
        amounts, inverse = sums.amounts(ties, self.amounts_of(lights, ink))
        if self.own.all():
            return amounts, inverse
        following, _ = sums.amounts(ties, self._shared(lights, -ink, amounts))
        return np.where(self.own[:, None], amounts, following), inverse

    def amounts_of(self, lights: Floats, ink: Floats) -> Floats:
        """Amounts of the shapes that the parts' lights stand for, (..., channels, parts).

        Ink takes away its share of the wood's light; what it takes beyond that, or less, is the light of its own part.
        """
        return self._shared(lights, -ink, lights)

    def lights_of(self, amounts: Floats, ink: Floats) -> Floats:
        """The reverse of `amounts_of`."""
        return self._shared(amounts, ink, amounts)

    def mixing(self, ink: Floats) -> Floats:
        """How each channel's amounts follow from its own lights: (..., channels, parts, parts)."""
        mixing = self.wall.mixing(ink)
        return np.where(self.own[:, None, None], mixing, np.eye(mixing.shape[-1]))

    def _shared(self, own: Floats, share: Floats, whole: Floats) -> Floats:
        """`own` with the ink's `share` of the `whole` light of tail and beyond, (..., channels, parts)."""
        inked = own.copy()
        whole = whole[..., self.share_of, :]
        inked[..., -2] += share * whole[..., 0]
        inked[..., -1] += share * whole[..., self.wall.beyond]
        return inked

    def _by_channel(self, by_profile: list[Light]) -> Light:
        if len(by_profile) == 1:
            return by_profile[0][:, None]
        return np.stack(by_profile, axis=1)[:, self.profile_of]
