"""`tailproof repeat` from photos to verdict with the real core: scenes of known truth, two people, two boards."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from service.cli import main
from tests.scenes import Scene, render
from tests.vision.photos import encoded, exif_bytes

BOARDS = {
    "ash": Scene(leans_deg=(0.4, -0.3, 0.0, 0.6), places_mm=(7.0, 22.0, 32.0, 47.0), width_mm=54.0),
    "cherry": Scene(
        leans_deg=(-0.5, 0.2, 0.3, -0.1), places_mm=(8.0, 24.0, 36.0, 51.0), width_mm=60.0, wood=(0.42, 0.26, 0.15)
    ),
}
VIEWS = {"Ada": [(2.0, -3.0), (1.0, 2.0)], "Bert": [(-2.0, 3.0), (3.0, 1.0)]}
"""Tilts of the camera in each person's photos, degrees."""

LENS = exif_bytes({}, {0xA405: 67})
"""The scenes' focal length as a phone writes it, for a film of 43.27 mm diagonal: 3200 px of 2081."""

ROUGH_MM = 0.003
"""Every photo draws its roughness anew, so that the wall itself changes a little: 0.01 degrees, well below the rest."""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("study")
    for seed, (board, person, shot) in enumerate((b, p, s) for b in BOARDS for p in VIEWS for s in range(2)):
        scene = replace(
            BOARDS[board],
            tilt_deg=VIEWS[person][shot],
            seed=seed + 1,
            rough_mm=ROUGH_MM,
            size_px=(1700, 1200),
            px_per_mm=12.0,
            focal_px=3200.0,
            aim_mm=(60.0, 32.0),
        )
        path = folder / board / person / f"{shot}.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(encoded(render(scene).photo.rgb, "JPEG", exif=LENS))
    return folder


def test_known_boards_are_measured_alike_by_both_and_within_the_claim(
    study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "values.csv"
    assert main(["repeat", str(study), "--json", "--save-csv", str(table)]) == 0
    result = json.loads(capsys.readouterr().out)
    lean, taper, half = result["studies"]
    assert result["left_out"] == []
    assert (lean["parts"], taper["parts"], half["parts"]) == (8, 2, 4)
    assert (lean["persons"], lean["readings"], lean["balanced"]) == (["Ada", "Bert"], 32, True)
    # No person differs in truth: what is seen beyond the claim could only be a claim that is too small.
    for each in result["studies"]:
        assert each["realised_over_claimed"][1] < 1.0
    # The parts were made to differ by 0.37 degrees, one standard deviation; eight know it to a quarter, twice that.
    assert lean["parts_spread"]["sd"] == pytest.approx(0.37, rel=0.5)
    assert lean["gauge"]["u95"] < 0.3  # the least that README accepts of the 95th percentile, 0.25, and its spread
    assert len(table.read_text().splitlines()) == 1 + 8 * (4 + 1 + 2)
