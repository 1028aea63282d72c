"""Where on a wall pin and tail overlap: how much, and the middle of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.joint.settling import mean_overlap

Floats = NDArray[np.float64]

NODES = 12
"""Gauss-Legendre nodes on each stretch of depth: polynomials are exact, the rational rest is good to 1e-6 of itself."""


@dataclass(frozen=True)
class Overlap:
    """Mean overlap over a wall's area (mm) and the middle of its volume.

    `height` runs from the transfer face (0) to the show face (1), `depth` from the end (0) to the socket's bottom (1).
    """

    mean_mm: float
    height: float
    depth: float


def overlap_of(show_mm: float, root_mm: float, push_mm: float) -> Overlap:
    """The overlap at a wall that reaches in by `show_mm` at the end and `root_mm` at the bottom (see `settling`).

    Across the height it is exact, along the depth it is integrated on either side of where it changes its form.
    """
    depths, weights = _nodes(show_mm, root_mm, push_mm)
    reach = show_mm + (root_mm - show_mm) * depths
    mean, moment = mean_overlap(reach, np.full_like(reach, push_mm)), _height_moment(reach, push_mm)
    return _placed(float(weights @ mean), float(weights @ moment), float(weights @ (depths * mean)))


def together(overlaps: Iterable[Overlap]) -> Overlap:
    """The overlaps of several walls of one size as one: their sum, and the middle of all."""
    found = list(overlaps)
    moments = [(one.mean_mm, one.mean_mm * one.height, one.mean_mm * one.depth) for one in found]
    return _placed(*(float(total) for total in np.sum(moments, axis=0)))


def _placed(mean_mm: float, height_moment: float, depth_moment: float) -> Overlap:
    """The middle from the moments; that of nothing is the middle of the wall."""
    if not mean_mm > 0.0:
        return Overlap(0.0, 0.5, 0.5)
    return Overlap(mean_mm, height_moment / mean_mm, depth_moment / mean_mm)


def _nodes(show_mm: float, root_mm: float, push_mm: float) -> tuple[Floats, Floats]:
    """Depths and weights that integrate over 0 to 1, split where the overlap at the show face begins or ends."""
    span = root_mm - show_mm
    split = min(max((-push_mm - show_mm) / span, 0.0), 1.0) if span else 0.0
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    stretches = [(0.0, split), (split, 1.0)]
    depths = [low + (high - low) * 0.5 * (nodes + 1.0) for low, high in stretches]
    return np.concatenate(depths), np.concatenate([0.5 * (high - low) * weights for low, high in stretches])


def _height_moment(reach: Floats, push_mm: float) -> Floats:
    """The integral of u max(0, reach u + push) over heights u from 0 to 1: a straight line where it is positive."""
    turn = np.clip(-push_mm / np.where(reach == 0.0, 1.0, reach), 0.0, 1.0)
    low = np.where(push_mm > 0.0, 0.0, turn)
    high = np.where((push_mm > 0.0) & (reach + push_mm < 0.0), turn, 1.0)
    at_low, at_high = (np.maximum(reach * u + push_mm, 0.0) for u in (low, high))
    moment: Floats = (high - low) * (at_low * (2.0 * low + high) + at_high * (low + 2.0 * high)) / 6.0
    return moment
