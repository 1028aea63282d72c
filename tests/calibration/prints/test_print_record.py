"""Kept prints as data: what is written is read back, and what cannot be read says so."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import numpy as np
import pytest

from calibration.kept_format import NewerFormatError
from calibration.prints.check import CALIPER, PrintRefused
from calibration.prints.record import (
    FORMAT,
    PrintRecord,
    measured_print,
    prints_from_dict,
    prints_to_dict,
)

READINGS = {"AB": [100.8, 100.7], "AD": [99.6], "AC": [141.3], "BD": [142.1]}
DAY = date(2026, 3, 14)


def record(name: str = "laser") -> PrintRecord:
    return measured_print(name, READINGS, CALIPER, on=DAY, note="A4, matt")


def test_a_print_survives_the_way_through_json() -> None:
    kept = prints_from_dict(json.loads(json.dumps(prints_to_dict({"laser": record(), "café": record("café")}))))
    assert sorted(kept) == ["café", "laser"]
    back, first = kept["laser"], record()
    assert (back.name, back.instrument, back.measured, back.note) == ("laser", "caliper", DAY, "A4, matt")
    assert back.readings_mm == first.readings_mm
    # Python writes floats so that they are read back as they were.
    assert (back.shape.x_scale, back.shape.y_scale, back.shape.skew_rad) == (
        first.shape.x_scale,
        first.shape.y_scale,
        first.shape.skew_rad,
    )
    np.testing.assert_array_equal(back.shape.covariance, first.shape.covariance)


def test_the_first_format_stays_readable() -> None:
    """As version 0.1.0 wrote it."""
    print_data = {
        "x_scale": 1.008,
        "y_scale": 0.996,
        "skew_rad": 0.005,
        "covariance": [[4e-7, 0.0, 0.0], [0.0, 4e-7, 0.0], [0.0, 0.0, 7e-7]],
        "readings_mm": {"AB": [100.8], "AD": [99.6], "AC": [141.3], "BD": [142.1]},
        "instrument": "caliper",
        "measured": "2026-03-14",
        "note": "",
    }
    kept = prints_from_dict({"format": 1, "prints": {"default": print_data}})
    assert kept["default"].shape.x_scale == 1.008
    assert kept["default"].shape.name == "default"


def test_a_newer_format_is_told_from_a_damaged_file() -> None:
    with pytest.raises(NewerFormatError, match=f"written in format 9, this version .* up to {FORMAT}"):
        prints_from_dict({"format": 9, "prints": {}})


@pytest.mark.parametrize(
    "data",
    [
        None,
        [],
        {"format": "1", "prints": {}},
        {"format": 1},
        {"format": 1, "prints": {"a": None}},
        {"format": 1, "prints": {"a": {}}},
        {"format": 1, "prints": {"a": record().to_dict() | {"x_scale": 0.0}}},
        {"format": 1, "prints": {"a": record().to_dict() | {"covariance": [1.0]}}},
        {"format": 1, "prints": {"a": record().to_dict() | {"measured": "yesterday"}}},
    ],
)
def test_anything_else_is_damaged(data: Any) -> None:
    with pytest.raises(ValueError, match=r"not kept prints|damaged|above zero|3 by 3|isoformat"):
        prints_from_dict(data)


def test_a_print_that_makes_no_sense_is_not_kept() -> None:
    with pytest.raises(PrintRefused, match="contradict"):
        measured_print("a", READINGS | {"AD": [90.0]}, CALIPER, on=DAY)
