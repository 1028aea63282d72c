"""A camera profile for a terminal: the verdict first, then what was found, what it is worth, and what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from calibration.camera.fit import CameraFit, Dropped
from calibration.camera.gain import EXIF_FOCAL_U, typical_u, without_profile
from calibration.camera.profile import CameraProfile
from calibration.camera.record import profile_record
from service.answers.wrapped import wrapped
from service.measuring.camera_making import CameraMade

_UPRIGHT = 1


def made_text(made: CameraMade, profile: CameraProfile | None) -> str:
    """What came of the photos; `profile` is what may be kept of it, or None."""
    parts = [_verdict(made)]
    if made.fit is not None:
        parts.append("\n".join(_figures(made.fit)))
    if profile is not None:
        parts.append("\n".join(wrapped(gain_text(profile))))
    parts += [_section("Left out:", map(_dropped, made.dropped)), _section("Missing:", iter(made.advice.missing))]
    return "\n\n".join(part for part in parts if part)


def made_dict(made: CameraMade, profile: CameraProfile | None) -> dict[str, Any]:
    """The same as one JSON object (schema 1): verdict, what is missing, who was left out, the kept profile or null."""
    return {
        "schema": 1,
        "ok": profile is not None,
        "verdict": made.advice.verdict,
        "photos": made.photos,
        "used": 0 if made.fit is None else len(made.fit.views),
        "dropped": [{"photo": each.name, "why": each.why} for each in made.dropped],
        "missing": list(made.advice.missing),
        "fit": None if made.fit is None else _fit_dict(made.fit),
        "profile": None if profile is None else profile_record(profile),
    }


def _fit_dict(fit: CameraFit) -> dict[str, Any]:
    """What was found, each number with its uncertainty U; the names carry the units."""
    u95 = 2.0 * np.sqrt(np.diag(fit.covariance))
    values = [fit.focal_px, *fit.lens[1:], np.exp(fit.shape[0]), np.degrees(fit.shape[1])]
    scales = [fit.focal_px, 1.0, 1.0, 1.0, 1.0, np.exp(fit.shape[0]), np.degrees(1.0)]
    names = ("focal_px", "k1", "k2", "centre_x_px", "centre_y_px", "card_aspect", "card_skew_deg")
    found = {
        name: {"value": float(v), "u95": float(u * s)} for name, v, u, s in zip(names, values, u95, scales, strict=True)
    }
    p1, p2 = fit.decentring.tolist()
    return found | {"p1": p1, "p2": p2, "corner_sigma_px": fit.sigma_px}


def profile_text(profile: CameraProfile) -> str:
    """A kept profile in two lines."""
    u = 200.0 * np.sqrt(profile.covariance[0, 0])
    return (
        f"{profile.name} ({profile.made[:10]}, {profile.verdict}, {profile.photos} photos):\n"
        f"  {profile.setting.words}, focal length {profile.focal_px:.0f} pixels ± {u:.1f} %"
    )


def gain_text(profile: CameraProfile) -> str:
    """What the profile does to U of a typical lean, in a sentence."""
    size_px = profile.setting.size_px
    lens = profile.prior(size_px, _UPRIGHT)
    unknown, told, known = (
        typical_u(each, size_px, profile.distance_mm).lean_u95_deg
        for each in (without_profile(lens, size_px), without_profile(lens, size_px, EXIF_FOCAL_U), lens)
    )
    return (
        f"What it brings, on a card whose print was not checked: the part of a lean's U that lens and card leave, which"
        f" is {unknown:.3f}° when nothing is known of the lens and {told:.3f}° when the photo tells the focal length,"
        f" becomes {known:.3f}°."
    )


def _verdict(made: CameraMade) -> str:
    used = 0 if made.fit is None else len(made.fit.views)
    word = made.advice.verdict.capitalize()
    camera = f" of {made.setting.words}" if made.setting else ""
    return "\n".join(wrapped(f"{word}: {used} of {made.photos} photos{camera} were used."))


def _figures(fit: CameraFit) -> Iterator[str]:
    u = 2.0 * np.sqrt(np.diag(fit.covariance))
    _, k1, k2, x, y = fit.lens.tolist()
    log_aspect, skew = fit.shape.tolist()
    yield f"Focal length     {fit.focal_px:.0f} ± {fit.focal_px * u[0]:.0f} pixels"
    yield f"Principal point  {x:.0f} ± {u[3]:.0f} right, {y:.0f} ± {u[4]:.0f} down from the middle, pixels"
    yield f"Distortion       k1 {k1:.4f} ± {u[1]:.4f}, k2 {k2:.3f} ± {u[2]:.3f}{_decentring(fit)}"
    yield f"Card             height over length {np.exp(log_aspect):.4f} ± {u[5]:.4f} of what it should be"
    yield f"                 out of square by {np.degrees(skew):.3f} ± {np.degrees(u[6]):.3f}°"
    yield f"Corners          scatter by {fit.sigma_px:.2f} pixels"


def _decentring(fit: CameraFit) -> str:
    p1, p2 = fit.decentring.tolist()
    return f", p1 {p1:.5f}, p2 {p2:.5f}" if p1 or p2 else ""


def _dropped(each: Dropped) -> str:
    return f"{each.name}: {each.why}"


def _section(title: str, lines: Iterator[str]) -> str:
    found = ["\n".join(wrapped(line, "  ", "    ")) for line in lines]
    return "\n".join([title, *found]) if found else ""
