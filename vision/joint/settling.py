"""How a scribed pin meets the walls of its socket, and how the boards settle sideways.

A pin scribed at the transfer face is as wide along its whole length. At a wall the wood overlaps by
`show * u + push` at height u (0 at the transfer face, 1 at the show face): `show` is how far the wall reaches into the
socket at the show face, `push` how far the settled pin board is shifted toward that wall. Negative overlap is a gap.
The left wall of a tail is pushed by a shift to +x, the right wall by a shift to -x.

A twisted wall reaches in by another amount at every depth: `show` at the end and `root` at the bottom of the socket,
straight between them. Without a `root` it is the same at every depth.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HALVINGS = 40
"""Bisection steps of `settle`: the shift is exact to 1e-12 of the largest overlap."""

EVEN = 1e-5
"""Walls whose reach changes over the depth by a smaller share of what they overlap count as even there: the middle then
errs by less (1e-11) than the difference of two areas would by rounding."""


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


def mean_over_depth(show: Floats, root: Floats, push: Floats) -> Floats:
    """Mean over height and depth of the overlap of walls that reach in by `show` at the end, `root` at the bottom, mm.

    Times thickness and depth it is the volume that pin and tail share; arrays broadcast. Closed form: `mean_overlap`
    integrated over the reach from `show` to `root`, over that span.
    """
    show, root, push = np.broadcast_arrays(show, root, push)
    span = root - show
    even = np.abs(span) <= EVEN * (np.abs(show) + np.abs(root) + np.abs(push))
    areas = (_overlap_area(root, push) - _overlap_area(show, push)) / np.where(even, 1.0, span)
    return np.where(even, mean_overlap(0.5 * (show + root), push), np.maximum(areas, 0.0))


def _overlap_area(reach: Floats, push: Floats) -> Floats:
    """An antiderivative of `mean_overlap` by the reach s.

    With q = s^2/4 + p s and r = 3 p^2/4 + p^2/2 ln(|s/p|): q + r for an overlap at the show face alone (p < 0 < s + p),
    q for one at all heights (p, s + p > 0), -r for one at the transfer face alone (s + p < 0 < p), else 0.
    """
    size = np.abs(push)
    ratio = np.maximum(np.abs(reach) / np.where(size > 0.0, size, 1.0), 1.0)
    rest = push * push * (0.75 + 0.5 * np.log(ratio))
    inside = 0.25 * reach * reach + push * reach + np.where(push < 0.0, rest, 0.0)
    return np.where(reach + push > 0.0, inside, np.where(push > 0.0, -rest, 0.0))


def settle(show: Floats, root: Floats | None = None) -> Floats:
    """The common shift of the pin board (mm, +x) that makes the elastic energy of all overlaps least.

    `show` is (walls, ...): each wall's overlap at the show face before settling, in `wall_signs` order, at the end, and
    `root` the same at the bottom of the sockets; the result has the trailing shape. Every wall is an elastic bed of one
    stiffness, so the energy is the sum of the squared overlaps over all heights and depths: convex, with the slope
    sum(sign * mean overlap). Where nothing overlaps nothing moves.
    """
    signs = _push(show, 1.0)
    reach, resting = _reach(show, root)
    low, high = -reach, reach.copy()
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        uphill = np.sum(signs * _mean(show, root, signs * middle), axis=0) > 0.0
        low, high = np.where(uphill, low, middle), np.where(uphill, middle, high)
    return np.where(resting, 0.0, 0.5 * (low + high))


def _reach(show: Floats, root: Floats | None) -> tuple[Floats, Floats]:
    """The largest overlap or gap of any wall, and whether none overlaps anywhere; both of the trailing shape."""
    corners = show if root is None else np.concatenate([show, root])
    return np.max(np.abs(corners), axis=0), np.max(corners, axis=0) <= 0.0


def _mean(show: Floats, root: Floats | None, push: Floats) -> Floats:
    return mean_overlap(show, push) if root is None else mean_over_depth(show, root, push)


def _per_socket(walls: Floats) -> Floats:
    """Sums over the walls of each socket: (walls, ...) to (walls / 2 + 1, ...); the outer sockets have one wall."""
    sockets = np.zeros((len(walls) // 2 + 1, *walls.shape[1:]))
    sockets[:-1] += walls[0::2]
    sockets[1:] += walls[1::2]
    return sockets


def wall_squeeze(show: Floats, shift: Floats | float, root: Floats | None = None) -> Floats:
    """The largest overlap of each wall anywhere (mm, at least 0), after the pin board's `shift`; like `show`."""
    push = _push(show, shift)
    at_end = np.maximum(np.maximum(show + push, push), 0.0)
    return at_end if root is None else np.maximum(at_end, wall_squeeze(root, shift))


def gap_and_squeeze(show: Floats, shift: Floats | float, root: Floats | None = None) -> tuple[Floats, Floats]:
    """Per socket, (sockets, ...) in mm: the gap seen at the show face, and the squeeze, after the pin board's `shift`.

    The gap is the sum of the gaps at the socket's walls, at the depth where that sum is largest. The squeeze is the sum
    of the overlaps at its walls where that sum is largest. Both are convex from face to face and from end to bottom,
    so they are largest at one of the corners.
    """
    push = _push(show, shift)
    at_show = show + push
    at_transfer = np.broadcast_to(push, show.shape)
    gap = _per_socket(np.maximum(-at_show, 0.0))
    squeeze = np.maximum(_per_socket(np.maximum(at_show, 0.0)), _per_socket(np.maximum(at_transfer, 0.0)))
    if root is None:
        return gap, squeeze
    gap_at_root, squeeze_at_root = gap_and_squeeze(root, shift)
    return np.maximum(gap, gap_at_root), np.maximum(squeeze, squeeze_at_root)


def mean_squeeze(show: Floats, shift: Floats | float, root: Floats | None = None) -> Floats:
    """Per socket, (sockets, ...) in mm: the overlaps at its walls, mean over their whole area, after the `shift`."""
    return _per_socket(_mean(show, root, _push(show, shift)))
