"""From the pinhole's linear picture to what the phone makes of it: lens, blur, noise, tone, sharpening."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from .camera import Camera
from .params import Develop
from .wood import Image, colour

TRACED_SIGMA_PX = 0.40
"""Blur that the path tracer's pixel filter (1.5 px wide) and the resampling leave already."""
WHITE_AIM = 0.62
"""Linear level that the card's white gets at zero exposure correction: a camera keeps paper below clipping."""

LUMA = colour(0.299, 0.587, 0.114)
"""Brightness of a colour as JPEG counts it (ITU-R BT.601)."""


def develop(
    traced: Image, overscan: tuple[int, int], camera: Camera, how: Develop, seed: int, traced_at: int = 1
) -> NDArray[np.uint8]:
    """The upright photo (rows, cols, 3), RGB, from a picture traced `traced_at` times coarser."""
    rng = np.random.default_rng([seed, 32452843])
    linear = _through_lens(traced, overscan, camera, traced_at)
    linear = linear * _gain(linear, how) * colour(how.wb[0], 1, how.wb[1]) * _vignette(camera, how)[..., None]
    rest = np.sqrt(max(how.blur**2 - TRACED_SIGMA_PX**2, 0.0))
    linear = cv2.GaussianBlur(linear, (0, 0), rest) if rest > 0.1 else linear
    linear = cv2.filter2D(linear, -1, shake(how)) if how.motion else linear
    encoded = _finished(_tone(_noisy(linear, how, rng), how), how)
    return np.rint(np.clip(_sharpened(encoded, how), 0, 1) * 255).astype(np.uint8)


def shake(how: Develop) -> Image:
    """Where the light of one point goes during the exposure: a line of even weight about its middle, so that nothing
    moves on the whole."""
    reach = int(np.ceil(how.motion / 2)) + 1
    dy, dx = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    along, across = _turned(dx, dy, np.radians(how.motion_angle))
    weight = np.clip(how.motion / 2 + 0.5 - np.abs(along), 0, 1) * np.clip(1 - np.abs(across), 0, 1)
    return (weight / weight.sum()).astype(np.float32)


def _turned(x: Image, y: Image, angle: float) -> tuple[Image, Image]:
    return x * np.cos(angle) + y * np.sin(angle), y * np.cos(angle) - x * np.sin(angle)


def _finished(encoded: Image, how: Develop) -> Image:
    """What filters of the phone's own make of the picture, before it is sharpened."""
    if how.beauty:
        encoded = _beautified(encoded, how.beauty)
    return np.repeat((encoded @ LUMA)[..., None], 3, axis=2) if how.mono else encoded


def _beautified(encoded: Image, strength: float) -> Image:
    """Texture smoothed where it is faint, then contours and local contrast raised."""
    flat = cv2.bilateralFilter(np.clip(encoded, 0, 1), 9, 0.10 * strength, 4.0)
    fine = flat - cv2.GaussianBlur(flat, (0, 0), 2.5)
    broad = flat - cv2.GaussianBlur(flat, (0, 0), 24)
    return flat + strength * (1.2 * fine + 0.25 * broad)


def _through_lens(traced: Image, overscan: tuple[int, int], camera: Camera, traced_at: int) -> Image:
    coarse = camera.coarser(traced_at).centre
    source = ((camera.pinhole_source() - camera.centre) / traced_at + coarse + overscan).astype(np.float32)
    return np.maximum(cv2.remap(traced, source[..., 0], source[..., 1], cv2.INTER_LANCZOS4), 0)


def _gain(linear: Image, how: Develop) -> float:
    """Exposure: the bright end of the picture brought to WHITE_AIM, then the photographer's correction."""
    bright = float(np.percentile(linear[::8, ::8].mean(-1), 97))
    return WHITE_AIM / bright * 2.0**how.exposure


def _vignette(camera: Camera, how: Develop) -> Image:
    cols = (np.arange(camera.px[0]) - camera.centre[0]) / np.hypot(*camera.px) * 2
    rows = (np.arange(camera.px[1]) - camera.centre[1]) / np.hypot(*camera.px) * 2
    return (1 - how.vignette * (rows[:, None] ** 2 + cols[None] ** 2)).astype(np.float32)


def _noisy(linear: Image, how: Develop, rng: np.random.Generator) -> Image:
    """Shot noise that reaches `how.noise` at mid grey, read noise, and a little of it smeared by demosaicing."""
    white = rng.standard_normal(linear.shape, dtype=np.float32)
    smeared = cv2.GaussianBlur(white, (0, 0), 0.6)
    grain = 0.6 * white + 0.8 * smeared / smeared.std()
    return linear + how.noise * (0.15 + np.sqrt(np.maximum(linear, 0) / 0.18)) * grain * np.float32(0.18)


def _tone(linear: Image, how: Develop) -> Image:
    """A soft shoulder, the sRGB curve (IEC 61966-2-1), then a gentle S of strength `how.contrast`."""
    level = np.clip(linear, 0, None)
    level = np.where(level > 0.7, 0.7 + 0.3 * np.tanh((level - 0.7) / 0.3), level)
    encoded = np.where(level <= 0.0031308, 12.92 * level, 1.055 * np.maximum(level, 1e-9) ** (1 / 2.4) - 0.055)
    curved = encoded * encoded * (3 - 2 * encoded)
    return (encoded + 0.4 * how.contrast * (curved - encoded)).astype(np.float32)


def _sharpened(encoded: Image, how: Develop) -> Image:
    """Unsharp masking of the brightness, as phones do, halos and all."""
    luma = encoded @ LUMA
    return encoded + how.sharpen * (luma - cv2.GaussianBlur(luma, (0, 0), 1.2))[..., None]
