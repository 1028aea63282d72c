"""Profiles as files: what this version writes it reads, what version 1 wrote stays readable for ever."""

from __future__ import annotations

import json

import numpy as np
import pytest

from calibration.camera.record import UPGRADES, VERSION, Record, profile_from_record, profile_record, upgraded

VERSION_1 = """{
 "version": 1,
 "name": "Phone 9 6.8 mm 4032 px",
 "camera": {"make": "Maker", "model": "Phone 9", "lens": "back 2x", "focal_mm": 6.8, "film_mm": 52.0, "zoom": 1.0,
            "size_px": [4032, 3024]},
 "log_focal_k1_k2_principal_px": [8.6125, 0.0123, -0.0045, 12.5, -7.25],
 "covariance": [[4e-06, 0, 0, 0, 0], [0, 1e-06, 0, 0, 0], [0, 0, 1.6e-05, 0, 0], [0, 0, 0, 16.0, 0.5],
                [0, 0, 0, 0.5, 20.25]],
 "decentring": [0.0, 0.0],
 "sigma_px": 0.061,
 "photos": 11,
 "distance_mm": 322.5,
 "verdict": "good",
 "made": "2025-11-25T09:30:00+00:00"
}"""
"""A file as version 1 wrote it: never to be changed."""


def test_a_file_of_version_1_is_read() -> None:
    profile = profile_from_record(json.loads(VERSION_1))
    assert (profile.name, profile.setting.size_px) == ("Phone 9 6.8 mm 4032 px", (4032, 3024))
    assert (profile.setting.focal_mm, profile.photos, profile.verdict) == (6.8, 11, "good")
    assert profile.focal_px == pytest.approx(np.exp(8.6125), rel=1e-12)
    assert profile.covariance[3, 4] == 0.5
    assert profile.distance_mm == 322.5


def test_what_is_written_is_read_again() -> None:
    record = profile_record(profile_from_record(json.loads(VERSION_1)))
    assert record["version"] == VERSION
    assert profile_record(profile_from_record(json.loads(json.dumps(record)))) == record


def test_every_past_version_has_its_way_to_the_next() -> None:
    assert set(UPGRADES) == set(range(1, VERSION))


def test_upgrades_are_made_step_by_step() -> None:
    def second(record: Record) -> Record:
        return record | {"version": 2, "steps": [*record["steps"], "to 2"]}

    def third(record: Record) -> Record:
        return record | {"version": 3, "steps": [*record["steps"], "to 3"]}

    steps = {1: second, 2: third}
    assert upgraded({"version": 1, "steps": []}, steps, 3)["steps"] == ["to 2", "to 3"]
    assert upgraded({"version": 2, "steps": []}, steps, 3)["steps"] == ["to 3"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"version": VERSION + 1}, "a newer tailproof wrote"),
        ({"version": None}, "does not say which version"),
        ({"camera": {}}, "not a camera profile"),
        ({"covariance": [[1.0]]}, "covariance 5 by 5"),
        ({"photos": None}, "not a camera profile"),
    ],
)
def test_a_file_that_is_no_profile_says_what_is_wrong(change: Record, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        profile_from_record(json.loads(VERSION_1) | change)
