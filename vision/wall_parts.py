"""What a wall looks like across its edge: the parts of the picture and how they change with its borders.

Rows of a straightened band run across one wall: bare wood of the tail, perhaps a drawn or knifed line, the edge, then
the kerf and the waste beyond (`sawn`), or the socket's floor (`cleared`). The borders are straight, sharp edges seen
through the photo's edge profile. A line is a strip that darkens the wood, square to the face, cut off where the saw
went: that is how it is told from the kerf, and why it does not pull the edge toward the tail. Its cover is about, not
exactly, the same all along: a pen skips and a pencil smears.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.edge_profile import EdgeProfile

Floats = NDArray[np.float64]

EDGE, SLOPE, KERF, LINE, LINE_SLOPE, LINE_WIDTH = range(6)
INK = slice(6, 9)
FLOOR_LINE = 9
SHADE = 10
PARAMETERS = 11
"""Edge position and slope, kerf width, line position, slope and width, its darkening in three channels, the place of
the line's other half on the floor of a cleared socket, and how much darker the floor is close to the wall. Positions
in mm across the band, slopes in mm per mm."""

_SHADE_MM = 0.4
_UNEVEN = 2.0


@dataclass(frozen=True)
class Band:
    """Light relative to the wood (blocks, 3, columns), at `along` (blocks,) and `across` (columns,) in mm.

    `across` grows from the tail to the waste; `along` is measured from mid thickness.
    """

    light: Floats
    along: Floats
    across: Floats


@dataclass(frozen=True)
class Picture:
    """Parts as seen, `basis` (blocks, 3, columns, parts), and what `WallParts.change` needs of them."""

    basis: Floats
    changes: dict[int, Floats]
    ink: tuple[Floats, Floats]
    ink_changes: dict[int, tuple[Floats, Floats]]


class WallParts:
    """The parts over one band: tail, kerf or floor with a gradient, waste, and uneven ink on the tail and beyond.

    `ridge` (parts, parts) holds mild ties between their lights: waste like tail, little gradient in the kerf or along
    the floor, even ink; in units of the samples' squares.
    """

    def __init__(self, band: Band, profile: EdgeProfile, kerf: bool) -> None:
        self.band, self.profile, self.kerf = band, profile, kerf
        self.u = band.across[None, :]
        self.beyond = 3 if kerf else 1
        self.ridge = self._ridge()

    def _ridge(self) -> Floats:
        if not self.kerf:
            return np.diag([1e-6, 1e-6, 0.2, _UNEVEN, _UNEVEN])
        tie = np.diag([1.0, 0.0, 0.5, 1.0, _UNEVEN, _UNEVEN])
        tie[0, 3] = tie[3, 0] = -1.0
        return tie + 1e-6 * np.eye(6)

    def picture(self, p: Floats, rough: Floats | float = 0.0) -> Picture:
        """The picture for borders `p`, each row's edge moved by `rough` (blocks,) mm while all else stays straight."""
        shapes, changes = self._shapes(p, rough)
        ink, ink_changes = self._ink(p, rough)
        uneven = np.stack(ink, axis=2)
        basis = np.repeat(np.concatenate([shapes, uneven], axis=2)[:, None], 3, axis=1)
        darkening = p[INK][:, None]
        basis[..., 0] -= darkening * ink[0][:, None]
        basis[..., self.beyond] -= darkening * ink[1][:, None]
        return Picture(basis, changes, ink, ink_changes)

    def _borders(self, p: Floats, rough: Floats | float) -> tuple[Floats, Floats]:
        straight = p[EDGE] + p[SLOPE] * self.band.along
        return (straight + rough)[:, None], (straight + p[KERF])[:, None]

    def _shapes(self, p: Floats, rough: Floats | float) -> tuple[Floats, dict[int, Floats]]:
        """Parts (blocks, columns, parts) and their changes with the edge, the kerf's width and the shade."""
        edge, far = self._borders(p, rough)
        tail, d_edge = self.profile.step(edge - self.u), self.profile.slope(edge - self.u)
        if self.kerf:
            waste, d_far = self.profile.step(self.u - far), self.profile.slope(self.u - far)
            inside = 1.0 - tail - waste
            ramp = np.clip((self.u - far + p[KERF] / 2.0) / p[KERF], -0.5, 0.5) * 2.0
            sloping = inside * (np.abs(ramp) < 1.0) * 2.0 / p[KERF]
            with_width = sloping * (0.5 + 0.5 * ramp)
            shapes = np.stack([tail, inside, inside * ramp, waste], axis=2)
            with_edge = np.stack([d_edge, d_far - d_edge, (d_far - d_edge) * ramp - sloping, -d_far], axis=2)
            with_kerf = np.stack([np.zeros_like(tail), d_far, d_far * ramp - with_width, -d_far], axis=2)
            return shapes, {EDGE: with_edge, KERF: with_kerf}
        past = np.maximum(self.u - edge, 0.0)
        near, ramp = np.exp(-past / _SHADE_MM), np.minimum(past, 1.6)
        floor = 1.0 - tail
        lit = 1.0 - p[SHADE] * near
        beside = floor * (self.u > edge)
        shapes = np.stack([tail, floor * lit, floor * ramp], axis=2)
        lit_change = -beside * p[SHADE] * near / _SHADE_MM - d_edge * lit
        ramp_change = -beside * (past < 1.6) - d_edge * ramp
        with_edge = np.stack([d_edge, lit_change, ramp_change], axis=2)
        zero = np.zeros_like(tail)
        return shapes, {EDGE: with_edge, SHADE: np.stack([zero, -floor * near, zero], axis=2)}

    def _ink(self, p: Floats, rough: Floats | float) -> tuple[tuple[Floats, Floats], dict[int, tuple[Floats, Floats]]]:
        """The line's strip on the tail and beyond the edge, and their changes with the borders and the line."""
        edge, far = self._borders(p, rough)
        line = (p[LINE] + p[LINE_SLOPE] * self.band.along)[:, None]
        half = p[LINE_WIDTH] / 2.0
        tail, tail_changes = self._clipped_strip(line - half, line + half, edge)
        if self.kerf:
            beyond, changes = _Mirror(self).strip(line - half, line + half, far)
            limit = changes["limit"]
            beyond_changes = {EDGE: limit, KERF: limit, LINE: changes["line"], LINE_WIDTH: changes["width"]}
        else:
            floor_line = line - p[LINE] + p[FLOOR_LINE]
            left, right = np.maximum(floor_line - half, edge), np.maximum(floor_line + half, edge)
            beyond = self.profile.step(right - self.u) - self.profile.step(left - self.u)
            d_left, d_right = self.profile.slope(left - self.u), self.profile.slope(right - self.u)
            free_left, free_right = d_left * (floor_line - half > edge), d_right * (floor_line + half > edge)
            beyond_changes = {
                FLOOR_LINE: free_right - free_left,
                EDGE: d_right - free_right - d_left + free_left,
                LINE_WIDTH: 0.5 * (free_right + free_left),
            }
        zero = np.zeros_like(tail)
        names = {EDGE, KERF, LINE, LINE_WIDTH, FLOOR_LINE}
        return (tail, beyond), {name: (tail_changes.get(name, zero), beyond_changes.get(name, zero)) for name in names}

    def _clipped_strip(self, left: Floats, right: Floats, edge: Floats) -> tuple[Floats, dict[int, Floats]]:
        a, b = np.minimum(left, edge), np.minimum(right, edge)
        strip = self.profile.step(b - self.u) - self.profile.step(a - self.u)
        slope_a, slope_b = self.profile.slope(a - self.u), self.profile.slope(b - self.u)
        free_a, free_b = slope_a * (left < edge), slope_b * (right < edge)
        changes = {
            EDGE: slope_b * (right >= edge) - slope_a * (left >= edge),
            LINE: free_b - free_a,
            LINE_WIDTH: 0.5 * (free_b + free_a),
        }
        return strip, changes

    def changes(self, free: tuple[int, ...], p: Floats, picture: Picture, lights: Floats) -> Floats:
        """Changes of the light (blocks, 3, columns, free) with the parameters `free`, the parts' lights held."""
        jacobian = np.zeros((*self.band.light.shape, len(free)))
        for place, index in enumerate(free):
            if index == SLOPE and EDGE in free:
                jacobian[..., place] = jacobian[..., free.index(EDGE)] * self.band.along[:, None, None]
            elif INK.start <= index < INK.stop:
                channel = index - INK.start
                jacobian[:, channel, :, place] = -self._through(picture.ink, lights[:, channel])
            else:
                jacobian[..., place] = self.change(index, p, picture, lights)
        return jacobian

    def change(self, index: int, p: Floats, picture: Picture, lights: Floats) -> Floats:
        """Change of the light (blocks, 3, columns) with one parameter other than the ink's darkening."""
        base = {SLOPE: EDGE, LINE_SLOPE: LINE}.get(index, index)
        change = np.zeros(self.band.light.shape)
        if base in picture.ink_changes:
            change += self._inked(picture.ink_changes[base], p, lights)
        if base in picture.changes:
            change += lights[..., :-2] @ np.swapaxes(picture.changes[base], 1, 2)
        if index == LINE_SLOPE and not self.kerf:
            on_floor = picture.ink_changes[FLOOR_LINE][1]
            change += self._inked((np.zeros_like(on_floor), on_floor), p, lights)
        return change if base == index else change * self.band.along[:, None, None]

    def _inked(self, strips: tuple[Floats, Floats], p: Floats, lights: Floats) -> Floats:
        """Light (blocks, 3, columns) that strips (blocks, columns) of ink add, even and uneven."""
        amounts = lights[..., -2:].copy()
        amounts[..., 0] -= p[INK] * lights[..., 0]
        amounts[..., 1] -= p[INK] * lights[..., self.beyond]
        return np.asarray(amounts @ np.stack(strips, axis=1))

    def _through(self, strips: tuple[Floats, Floats], lights: Floats) -> Floats:
        """Strips (blocks, columns) on the tail and beyond, lit by one channel's lights (blocks, parts)."""
        return np.asarray(strips[0] * lights[:, :1] + strips[1] * lights[:, self.beyond, None])


class _Mirror:
    """A strip cut off from the left by the kerf's far border."""

    def __init__(self, problem: WallParts) -> None:
        self.problem = problem

    def strip(self, left: Floats, right: Floats, limit: Floats) -> tuple[Floats, dict[str, Floats]]:
        profile, u = self.problem.profile, self.problem.u
        a, b = np.maximum(left, limit), np.maximum(right, limit)
        strip = profile.step(u - a) - profile.step(u - b)
        slope_a, slope_b = profile.slope(u - a), profile.slope(u - b)
        free_a, free_b = slope_a * (left > limit), slope_b * (right > limit)
        return strip, {
            "limit": -slope_a * (left <= limit) + slope_b * (right <= limit),
            "line": free_b - free_a,
            "width": 0.5 * (free_b + free_a),
        }
