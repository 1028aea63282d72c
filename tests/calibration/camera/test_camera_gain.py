"""What a camera profile brings: over simulated ends, the error that lens, print and card leave, and the U that is told.

`python -m tests.calibration.test_camera_gain` prints the table that DEVELOPERS.md quotes.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from calibration.camera.bundle import card_matrix
from calibration.camera.fit import CameraFit, fit_camera
from calibration.camera.gain import EXIF_FOCAL_U, end_numbers, end_points, numbers_u95, typical_u, without_profile
from calibration.camera.model import Floats, image_points
from calibration.camera.profile import CameraProfile
from calibration.camera.setting import CameraSetting
from calibration.lens_prior import FOCAL_PRIOR_UNKNOWN, FOCUS_U, STABILISER_SHARE, LensPrior
from calibration.plane import PlaneMap, solve_plane
from calibration.prints.shape import UNCHECKED
from tests.calibration.card_views import CENTRE, FOCAL_PX, POINTS, SIGMA_PX, SIZE, Phone, card_views, drawn_phone, pose

KNOWLEDGE = ("nothing", "focal length", "profile")
PHONES, ENDS = 12, 5
LEANS = slice(0, 3)


@cache
def phone_and_fit(seed: int) -> tuple[Phone, CameraFit]:
    rng = np.random.default_rng(700 + seed)
    phone = drawn_phone(rng)
    return phone, fit_camera(card_views(phone, rng), SIZE, focal_px=FOCAL_PX, focal_u=0.03)


def priors(phone: Phone, fit: CameraFit, rng: np.random.Generator) -> dict[str, LensPrior]:
    """What may be known of the lens: nothing, a focal length off by what EXIF leaves, a profile."""
    told = phone.lens[0] + EXIF_FOCAL_U * rng.standard_normal()
    unknown = LensPrior.from_focal(float(max(SIZE)) * 1.3, FOCAL_PRIOR_UNKNOWN, SIZE)
    profile = CameraProfile.of_fit("test", CameraSetting(size_px=SIZE), fit, verdict="good", made="")
    exif = LensPrior.from_focal(float(np.exp(told)), EXIF_FOCAL_U, SIZE)
    return dict(zip(KNOWLEDGE, (unknown, exif, profile.prior(SIZE, 1)), strict=True))


def seen_end(phone: Phone, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Pixels of the card's corners, with noise, and of the end, without, in a photo held by hand."""
    lens = phone.lens.copy()
    stabiliser = STABILISER_SHARE * SIZE[0]
    lens[[0, 3, 4]] += rng.standard_normal(3) * [FOCUS_U, stabiliser, stabiliser]
    where = pose(6.0 * rng.standard_normal(2), 3.0 * float(rng.standard_normal()), np.array([0.0, -250.0]))
    corners = image_points(where, lens, CENTRE, POINTS @ card_matrix(*phone.shape.tolist()).T)
    return corners + SIGMA_PX * rng.standard_normal(corners.shape), image_points(where, lens, CENTRE, end_points())


@cache
def realised() -> dict[str, tuple[Floats, Floats]]:
    """By knowledge: errors and U (n, 6) of three leans (rad) and three places (mm), the same photos for each."""
    found: dict[str, list[tuple[Floats, Floats]]] = {name: [] for name in KNOWLEDGE}
    for seed in range(PHONES):
        phone, fit = phone_and_fit(seed)
        rng = np.random.default_rng(800 + seed)
        lenses = priors(phone, fit, rng)
        for _ in range(ENDS):
            corners, end = seen_end(phone, rng)
            for name in KNOWLEDGE:
                found[name].append(_error_and_u(corners, end, lenses[name]))
    return {name: (np.array([e for e, _ in pairs]), np.array([u for _, u in pairs])) for name, pairs in found.items()}


def _error_and_u(corners: Floats, end: Floats, lens: LensPrior) -> tuple[Floats, Floats]:
    plane: PlaneMap = solve_plane(POINTS, corners, size_px=SIZE, lens=lens, card=UNCHECKED)[0]
    return end_numbers(plane.to_plane(end)) - end_numbers(end_points()), numbers_u95(plane)


@pytest.mark.parametrize("knowledge", KNOWLEDGE)
def test_the_true_value_lies_inside_u_about_95_times_in_100(knowledge: str) -> None:
    errors, u95 = realised()[knowledge]
    inside = np.mean(np.abs(errors[:, LEANS]) < u95[:, LEANS])
    # 60 photos whose three leans go together, of 12 phones: a share near 95 % is known to about 3.5 %, two of those.
    # What is believed of lens and print is a little wider than these are drawn, so that more may lie inside.
    assert inside > 0.88


def test_a_profile_makes_leans_more_certain_and_truer() -> None:
    u95 = {name: np.degrees(np.median(pair[1][:, LEANS])) for name, pair in realised().items()}
    error = {name: np.degrees(np.sqrt(np.mean(pair[0][:, LEANS] ** 2))) for name, pair in realised().items()}
    assert u95["profile"] < 0.75 * u95["focal length"] < 0.75 * u95["nothing"]
    assert error["profile"] < error["focal length"] < error["nothing"]


def test_a_typical_ends_gain_is_in_the_same_order() -> None:
    _, fit = phone_and_fit(0)
    lens = CameraProfile.of_fit("test", CameraSetting(size_px=SIZE), fit, verdict="", made="").prior(SIZE, 1)
    known = typical_u(lens, SIZE, 320.0)
    told = typical_u(without_profile(lens, SIZE, EXIF_FOCAL_U), SIZE, 320.0)
    unknown = typical_u(without_profile(lens, SIZE), SIZE, 320.0)
    assert known.lean_u95_deg < told.lean_u95_deg < unknown.lean_u95_deg
    assert known.x_u95_mm <= told.x_u95_mm <= unknown.x_u95_mm


def table() -> str:
    """The benchmark in lines."""
    lines = []
    for name, (errors, u95) in realised().items():
        rms, u = np.sqrt(np.mean(errors**2, axis=0)), np.median(u95, axis=0)
        inside = 100.0 * np.mean(np.abs(errors[:, LEANS]) < u95[:, LEANS])
        lean_rms, lean_u = np.degrees([np.sqrt(np.mean(rms[LEANS] ** 2)), np.mean(u[LEANS])])
        x_rms, x_u = float(np.sqrt(np.mean(rms[3:] ** 2))), float(np.mean(u[3:]))
        lines.append(
            f"{name:13} lean rms {lean_rms:.3f} U {lean_u:.3f} deg, inside {inside:.0f} %,"
            f" place rms {x_rms:.3f} U {x_u:.3f} mm"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    print(table())
