"""How a scribed pin meets the walls of its socket, and how the boards settle sideways.

A pin scribed at the transfer face is as wide along its whole length. At a wall the wood overlaps by
`show * u + push` at height u (0 at the transfer face, 1 at the show face): `show` is how far the wall reaches into the
socket at the show face, `push` how far the settled pin board is shifted toward that wall. Negative overlap is a gap.
The left wall of a tail is pushed by a shift to +x, the right wall by a shift to -x.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HALVINGS = 40
"""Bisection steps of `settle`: the shift is exact to 1e-12 of the largest overlap."""


def wall_signs(walls: int) -> Floats:
    """+1 for the left wall of every tail, -1 for its right wall, (walls,): how a shift to +x pushes it."""
    return np.where(np.arange(walls) % 2 == 0, 1.0, -1.0)


def _push(show: Floats, shift: Floats | float) -> Floats:
    """How far a `shift` (mm, +x) of the pin board pushes into each wall of `show`."""
    return wall_signs(len(show)).reshape(-1, *[1] * (show.ndim - 1)) * shift


def mean_overlap(show: Floats, push: Floats) -> Floats:
    """Mean over the height of the overlap max(0, show u + push), u from 0 to 1, in mm; arrays broadcast.

    Times the thickness it is the overlapping area in the end's plane. Closed form without cancellation:
    (A + B)^2 / (2 (|a| + |b|)) with a, b the overlaps at the two faces and A, B their positive parts.
    """
    low, high = np.broadcast_arrays(push, show + push)
    positive = np.maximum(low, 0.0) + np.maximum(high, 0.0)
    span = np.abs(low) + np.abs(high)
    mean: Floats = positive * positive / (2.0 * np.where(span > 0.0, span, 1.0))
    return mean


def settle(show: Floats) -> Floats:
    """The common shift of the pin board (mm, +x) that makes the elastic energy of all overlaps least.

    `show` is (walls, ...): each wall's overlap at the show face before settling, in `wall_signs` order; the result
    has the trailing shape. Every wall is an elastic bed of one stiffness, so the energy is the sum of the squared
    overlaps over all heights: convex, with the slope sum(sign * mean_overlap). Where nothing overlaps nothing moves.
    """
    signs = _push(show, 1.0)
    reach = np.max(np.abs(show), axis=0)
    low, high = -reach, reach.copy()
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        uphill = np.sum(signs * mean_overlap(show, signs * middle), axis=0) > 0.0
        low, high = np.where(uphill, low, middle), np.where(uphill, middle, high)
    resting = np.sum(np.maximum(show, 0.0), axis=0) == 0.0
    return np.where(resting, 0.0, 0.5 * (low + high))


def _per_socket(walls: Floats) -> Floats:
    """Sums over the walls of each socket: (walls, ...) to (walls / 2 + 1, ...); the outer sockets have one wall."""
    sockets = np.zeros((len(walls) // 2 + 1, *walls.shape[1:]))
    sockets[:-1] += walls[0::2]
    sockets[1:] += walls[1::2]
    return sockets


def wall_squeeze(show: Floats, shift: Floats | float) -> Floats:
    """The largest overlap of each wall at any height (mm, at least 0), after the pin board's `shift`; like `show`."""
    push = _push(show, shift)
    return np.maximum(np.maximum(show + push, push), 0.0)


def gap_and_squeeze(show: Floats, shift: Floats | float) -> tuple[Floats, Floats]:
    """Per socket, (sockets, ...) in mm: the gap seen at the show face, and the squeeze, after the pin board's `shift`.

    The gap is the sum of the gaps at the socket's walls. The squeeze is the sum of the overlaps at its walls at the
    height where that sum is largest: one of the two faces, since it is convex between them.
    """
    push = _push(show, shift)
    at_show = show + push
    at_transfer = np.broadcast_to(push, show.shape)
    gap = _per_socket(np.maximum(-at_show, 0.0))
    squeeze = np.maximum(_per_socket(np.maximum(at_show, 0.0)), _per_socket(np.maximum(at_transfer, 0.0)))
    return gap, squeeze
