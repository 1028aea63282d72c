"""A camera profile as JSON keeps it. Every version that was ever written can be read: each has its way to the next."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from calibration.camera.profile import CameraProfile
from calibration.camera.setting import CameraSetting

VERSION = 1
Record = dict[str, Any]

UPGRADES: dict[int, Callable[[Record], Record]] = {}
"""By version: what makes a record of that version one of the next. Version 1 is the first and, so far, the only one."""


def profile_record(profile: CameraProfile) -> Record:
    """The profile as plain values of the present version."""
    return {
        "version": VERSION,
        "name": profile.name,
        "camera": profile.setting.to_dict(),
        "log_focal_k1_k2_principal_px": profile.lens.tolist(),
        "covariance": profile.covariance.tolist(),
        "decentring": profile.decentring.tolist(),
        "sigma_px": profile.sigma_px,
        "photos": profile.photos,
        "distance_mm": profile.distance_mm,
        "verdict": profile.verdict,
        "made": profile.made,
    }


def profile_from_record(record: object) -> CameraProfile:
    """The profile in a record of any version so far.

    Raises ValueError, saying what is wrong, for one of a later version or one that is no profile.
    """
    if not isinstance(record, dict):
        raise ValueError("it is not a camera profile")
    latest = upgraded(record, UPGRADES, VERSION)
    try:
        return _profile(latest)
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError(f"it is not a camera profile ({type(error).__name__}: {error})") from error


def upgraded(record: Record, upgrades: dict[int, Callable[[Record], Record]], latest: int) -> Record:
    """The record brought to the latest version, step by step. Raises ValueError for no version, or a later one."""
    version = record.get("version")
    if not isinstance(version, int) or version < 1:
        raise ValueError("it does not say which version it has")
    if version > latest:
        raise ValueError(f"it has version {version}, which a newer tailproof wrote; this one reads up to {latest}")
    for step in range(version, latest):
        record = upgrades[step](record)
    return record


def _profile(record: Record) -> CameraProfile:
    return CameraProfile(
        str(record["name"]),
        CameraSetting.from_dict(record["camera"]),
        np.array(record["log_focal_k1_k2_principal_px"], float),
        np.array(record["covariance"], float),
        np.array(record["decentring"], float),
        float(record["sigma_px"]),
        int(record["photos"]),
        float(record["distance_mm"]),
        str(record["verdict"]),
        str(record["made"]),
    )
