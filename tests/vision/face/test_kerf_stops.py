"""Where a cut stops, on painted kerfs of known length."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from vision.face.kerf_stops import MODEL_U_MM, KerfPath, find_stop
from vision.photo.edge_profile import EdgeProfile

PX_PER_MM, SIGMA_MM, BASELINE_MM = 16.0, 0.07, 12.0
PROFILE = EdgeProfile(SIGMA_MM, 0.0, 1.5 * SIGMA_MM)
SLOPE, X_MM, KERF_MM = 0.15, 6.0, 0.55
PATH = KerfPath(X_MM, SLOPE, -1.0, KERF_MM, BASELINE_MM)


def between(z: np.ndarray, low: float, high: float) -> np.ndarray:
    return np.asarray(ndtr((z - low) / SIGMA_MM) - ndtr((z - high) / SIGMA_MM))


def face(
    stop_mm: float,
    line: float = 0.5,
    drawn: float = 0.0,
    kerf: float = 0.02,
    seed: int = 0,
    drawn_to_mm: float = BASELINE_MM,
    drawn_from_mm: float = -0.25,
) -> np.ndarray:
    """A picture of one cut of a left wall that stops at `stop_mm`, crossed by the baseline, beside a drawn line."""
    x, y = np.arange(256) / PX_PER_MM, np.arange(300) / PX_PER_MM
    across = x[None, :] - (X_MM + SLOPE * y)[:, None]
    light = 0.45 * (1.0 - line * between(y - BASELINE_MM, -0.1, 0.1)[:, None])
    light = light * (1.0 - drawn * between(across, drawn_from_mm, 0.1) * between(y, -1.0, drawn_to_mm)[:, None])
    cut = between(across, -KERF_MM, 0.0) * between(y, -9.0, stop_mm)[:, None]
    light = light * (1.0 - cut) + kerf * cut
    level = 255.0 * (1.055 * light ** (1 / 2.4) - 0.055) + np.random.default_rng(seed).normal(0.0, 2.0, light.shape)
    return np.repeat(level.clip(0.0, 255.0).round().astype(np.uint8)[..., None], 3, axis=2)


def to_image(points: np.ndarray) -> np.ndarray:
    return np.asarray(points * PX_PER_MM)


@pytest.mark.parametrize("past_mm", [-1.5, -0.6, -0.2, 0.0, 0.2, 0.7, 1.8])
@pytest.mark.parametrize("drawn", [0.0, 0.6])
def test_the_stop_is_found_to_its_uncertainty(past_mm: float, drawn: float) -> None:
    stop = find_stop(face(BASELINE_MM + past_mm, drawn=drawn), to_image, PATH, PROFILE, PX_PER_MM, open_socket=False)
    assert stop.seen
    assert stop.y_mm == pytest.approx(BASELINE_MM + past_mm, abs=2.0 * stop.u_mm)
    assert MODEL_U_MM <= stop.u_mm < 0.1


@pytest.mark.parametrize("past_mm", [-0.6, 0.0, 0.3])
@pytest.mark.parametrize("over_mm", [0.7, 1.3])
@pytest.mark.parametrize("drawn", [0.55, 0.7])
def test_a_line_drawn_past_the_baseline_is_no_cut(past_mm: float, over_mm: float, drawn: float) -> None:
    picture = face(BASELINE_MM + past_mm, drawn=drawn, drawn_to_mm=BASELINE_MM + over_mm, drawn_from_mm=-0.5)
    stop = find_stop(picture, to_image, PATH, PROFILE, PX_PER_MM, open_socket=False)
    assert stop.y_mm == pytest.approx(BASELINE_MM + past_mm, abs=2.0 * stop.u_mm)


def test_a_kerf_as_bright_as_the_wood_has_no_stop() -> None:
    stop = find_stop(face(12.4, line=0.0, kerf=0.45), to_image, PATH, PROFILE, PX_PER_MM, open_socket=False)
    assert not stop.seen
    assert stop.y_mm == BASELINE_MM
    assert stop.u_mm >= 0.5  # nothing is claimed


def test_in_an_open_socket_the_floor_or_a_cut_beyond_it_is_the_stop() -> None:
    stop = find_stop(face(12.9), to_image, PATH, PROFILE, PX_PER_MM, open_socket=True)
    assert stop.y_mm == pytest.approx(12.9, abs=2.0 * stop.u_mm)


@pytest.mark.parametrize("wrong_mm", [-0.3, 0.3])
def test_a_wall_taken_for_a_drawn_line_is_noticed_and_the_stop_still_found(wrong_mm: float) -> None:
    """The dark of the kerf lies `wrong` off where the wall has it, into the waste for a wall too far in the tail."""
    path = KerfPath(X_MM + wrong_mm, SLOPE, -1.0, KERF_MM, BASELINE_MM)
    stop = find_stop(face(12.8), to_image, path, PROFILE, PX_PER_MM, open_socket=False)
    assert stop.aside_mm == pytest.approx(wrong_mm, abs=0.08)  # a pixel
    assert stop.y_mm == pytest.approx(12.8, abs=2.0 * stop.u_mm)
    straight = find_stop(face(12.8), to_image, PATH, PROFILE, PX_PER_MM, open_socket=False)
    assert straight.aside_mm == pytest.approx(0.0, abs=0.08)
