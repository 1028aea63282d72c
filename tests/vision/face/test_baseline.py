"""The baseline on painted pieces of wood: a dark strip of known place, blurred in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from calibration.outcome import CannotMeasure
from vision.end.find_walls import EndStrip
from vision.face.baseline import BaselineFit, RoughLine, find_baseline, fit_baseline, pieces_between
from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import Frame

PX_PER_MM, SIGMA_MM = 15.0, 0.08
FRAME = Frame.turned(np.array([2.0, 1.0]), 0.0)
PROFILE = EdgeProfile(SIGMA_MM, 0.0, 1.5 * SIGMA_MM)


def wood_with_line(level_mm: float, slope: float, dark: float, seed: int = 0) -> np.ndarray:
    """A picture (300, 900, 3) of wood with a 0.2 mm line at y = level + slope x of FRAME, PX_PER_MM px per mm."""
    x, y = (np.arange(900) / PX_PER_MM - 2.0), (np.arange(300) / PX_PER_MM - 1.0)
    away = (y[:, None] - level_mm - slope * x) / SIGMA_MM
    half = 0.1 / SIGMA_MM
    light = 0.4 * (1.0 - dark * (ndtr(away + half) - ndtr(away - half)))
    level = 1.055 * light ** (1 / 2.4) - 0.055
    noisy = 255.0 * level + np.random.default_rng(seed).normal(0.0, 2.0, level.shape)
    return np.repeat(noisy.round().astype(np.uint8)[..., None], 3, axis=2)


def to_image(points: np.ndarray) -> np.ndarray:
    return np.asarray(points * PX_PER_MM)


def fitted(picture: np.ndarray, level: float, slope: float = 0.0) -> BaselineFit:
    rough = RoughLine(level, slope)
    return fit_baseline(picture, to_image, FRAME, pieces_between(0.0, 54.0), rough, PROFILE, PX_PER_MM)


@pytest.mark.parametrize("off_mm", [-0.2, 0.0, 0.25])
def test_a_line_is_placed_to_a_hundredth_from_a_rough_guess(off_mm: float) -> None:
    fit = fitted(wood_with_line(9.3, 0.004, 0.5), 9.3 + off_mm, 0.003)
    assert fit.line.at(0.0) == pytest.approx(9.3, abs=0.01)  # noise of 2 levels over 108 pieces leaves 0.002
    assert fit.line.slope == pytest.approx(0.004, abs=3.0e-4)
    assert fit.straightness_mm < 0.05  # straight: what is left is noise
    assert 0.1 <= fit.width_mm <= 0.3


def test_wood_without_a_line_is_refused() -> None:
    with pytest.raises(CannotMeasure, match="No baseline"):
        fitted(wood_with_line(9.3, 0.0, 0.0), 9.3)


def test_the_border_of_the_wood_is_no_baseline() -> None:
    """A dark gap with something else beyond it: wood goes on past a baseline."""
    picture = wood_with_line(9.3, 0.0, 0.5)
    picture[round((9.3 + 1.0 + 0.2) * PX_PER_MM) :] //= 2
    with pytest.raises(CannotMeasure, match="No baseline"):
        fitted(picture, 9.3)


def test_too_little_wood_is_refused() -> None:
    with pytest.raises(CannotMeasure, match="No baseline"):
        fit_baseline(
            wood_with_line(9.3, 0.0, 0.5), to_image, FRAME, np.arange(5.0), RoughLine(9.3, 0.0), PROFILE, PX_PER_MM
        )


def strip(*lines: tuple[float, float]) -> EndStrip:
    """A face (rows, columns) with level lines at depth `mm`, so `dark`."""
    x, y = np.arange(0.0, 60.0, 0.1), np.arange(0.4, 30.0, 0.1)
    light = np.ones((len(y), len(x), 3), np.float32)
    for mm, dark in lines:
        light *= (1.0 - dark * np.exp(-0.5 * ((y - mm) / 0.12) ** 2))[:, None, None].astype(np.float32)
    return EndStrip(light, x, y)


def test_of_two_lines_the_one_where_the_cuts_stop_is_the_baseline() -> None:
    both = strip((12.0, 0.05), (18.0, 0.1))
    everywhere = np.ones(both.light.shape[:2], bool)
    assert find_baseline(both, everywhere, everywhere, np.array([11.8, 12.3])).level == pytest.approx(12.0, abs=0.15)
    assert find_baseline(both, everywhere, everywhere, np.array([])).level == pytest.approx(18.0, abs=0.15)


def test_a_hidden_line_is_not_found() -> None:
    hidden = strip((18.0, 0.4))
    everywhere = np.ones(hidden.light.shape[:2], bool)
    with pytest.raises(CannotMeasure, match="No baseline"):
        find_baseline(hidden, everywhere & (hidden.y < 17.0)[:, None], everywhere, np.array([]))


def test_graphite_as_light_as_red_wood_is_seen_in_red() -> None:
    """Darker in red and lighter in blue by as much: in white light there is nothing."""
    face = strip()
    line = np.exp(-0.5 * ((face.y - 14.0) / 0.12) ** 2)[:, None]
    face.light[..., 0] -= (0.3 * line).astype(np.float32)
    face.light[..., 2] += (0.3 * line).astype(np.float32)
    everywhere = np.ones(face.light.shape[:2], bool)
    found = find_baseline(face, everywhere, everywhere, np.array([]))
    assert found.level == pytest.approx(14.0, abs=0.15)
    assert found.channels == (1.0, 0.0, 0.0)
    picture = wood_with_line(9.3, 0.004, 0.3)
    picture[..., 2] = np.clip(2.0 * picture[..., 2].max() - picture[..., 2].astype(float), 0, 255).astype(np.uint8)
    rough = RoughLine(9.2, 0.004, found.channels)
    fit = fit_baseline(picture, to_image, FRAME, pieces_between(0.0, 54.0), rough, PROFILE, PX_PER_MM)
    assert fit.line.at(0.0) == pytest.approx(9.3, abs=0.02)
