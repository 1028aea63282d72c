"""Light as luma and colour: what a photo keeps sharp, and what it keeps at half the resolution.

Photos are stored as luma and two colour differences (ITU-R BT.601, as JFIF and HEIF use it), most of them with one
sample of colour to four of luma. Red, green and blue are then each a sharp and a soft picture in one; luma is all
sharp, and the differences are all soft.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import linear_to_srgb, srgb_to_linear

Floats = NDArray[np.float64]
Light = NDArray[np.float32]

_LUMA = np.array([0.299, 0.587, 0.114])
_RED, _BLUE = 0, 2
_COLOUR = 0.5
"""Weight of a colour difference: where one sample in four says something new, its squares count for a quarter."""
_GAMMA = 2.2
"""By how much more than stored levels light changes, each as a share of itself."""
KERF_POWER, FLOOR_POWER = 1.0, 0.7
"""Luma is told as this power of light, beside kerfs and above floors. Phones sharpen levels, not light, so a power
between the two makes leans surer; but it also moves an edge a tenth of a pixel into the dark, and both edges of a kerf
would make it look slimmer than the saw. Of the powers from 0.4 to 1, learned on photos of known truth."""
_MIX = np.stack([_LUMA, _COLOUR * (np.eye(3)[_BLUE] - _LUMA), _COLOUR * (np.eye(3)[_RED] - _LUMA)])
_DARKEST = 1e-4
_DARK = np.float32(0.03)
"""The least that anything is divided by; light, over that of bare wood, below which its scatter falls no more."""


def coarse(profile: EdgeProfile, px: float = 1.0) -> EdgeProfile:
    """The profile of colour with one sample to two by two pixels, each `px` long in the profile's unit.

    Averaging two pixels adds a variance of 1/4 px^2 in either direction, spreading them out again between neighbours by
    3/4 and 1/4 (as decoders do) adds 3/4: together one pixel.
    """
    return EdgeProfile(float(np.hypot(profile.blur, px)), profile.overshoot, float(np.hypot(profile.halo, px)))


def light_in_tones(light: Light, wood: Floats, power: float = KERF_POWER) -> Light:
    """Luma relative to the wood, and blue and red beyond the wood's, of `light` (walls, rows, 3, columns).

    `light` is red, green and blue relative to the `wood` (walls, 3), both linear. Luma comes back as a power of light,
    the differences as stored, in units of about the same light.
    """
    levels = linear_to_srgb(light * wood.astype(np.float32)[:, None, :, None])
    wood_levels = linear_to_srgb(wood.astype(np.float32))
    luma, wood_luma = np.einsum("c,wrcx->wrx", _LUMA, levels), wood_levels @ _LUMA
    tones = np.empty_like(light)
    per_wood = np.maximum(srgb_to_linear(wood_luma), _DARKEST)
    tones[:, :, 0] = (srgb_to_linear(luma) / per_wood[:, None, None]) ** power
    unit = _COLOUR * _GAMMA / np.maximum(wood_luma, _DARKEST)
    for tone, channel in ((1, _BLUE), (2, _RED)):
        own = (wood_levels[:, channel] - wood_luma)[:, None, None]
        tones[:, :, tone] = (levels[:, :, channel] - luma - own) * unit[:, None, None]
    return tones


def shot_precision(tones: Light, power: float = KERF_POWER) -> Light:
    """How many times less each tone (..., 3, columns) scatters than that of bare wood, of its shape.

    Light scatters as its square root, as shot noise does: grain in the dark of a kerf or a socket follows that law well
    enough. Colour scatters alike, being told as stored.
    """
    luma = tones[..., 0, :]
    beside = np.pad(luma, [(0, 0)] * (luma.ndim - 1) + [(1, 1)], mode="edge")
    light = np.maximum(0.25 * beside[..., :-2] + 0.5 * luma + 0.25 * beside[..., 2:], _DARK) ** (1.0 / power)
    precision = np.ones_like(tones)
    precision[..., 0, :] = light ** (0.5 - power)
    return precision


def ink_in_tones(ink: Floats, power: float = KERF_POWER) -> Floats:
    """What ink takes of the wood's luma and adds to the differences, (..., 3), from its darkening of each colour."""
    tones = ink @ _MIX.T
    tones[..., 0] = 1.0 - (1.0 - tones[..., 0]) ** power
    return np.asarray(tones)


def ink_in_colours(tones: Floats, power: float = KERF_POWER) -> Floats:
    """The reverse of `ink_in_tones`."""
    mixed = tones.copy()
    mixed[..., 0] = 1.0 - (1.0 - tones[..., 0]) ** (1.0 / power)
    return np.asarray(mixed @ np.linalg.inv(_MIX).T)
