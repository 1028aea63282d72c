"""Service tests with a measuring core of known answers, so that what people see can be checked alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from calibration.outcome import refuse
from calibration.prints.known import Known
from tests.service.house import House, open_house
from tests.vision.drills import made_drill
from tests.vision.photos import encoded, measurement, picture
from tests.vision.told_walls import with_told
from vision.drill.plan import DrillPlan
from vision.drill.report import DrillMeasurement
from vision.end.report import Measurement, Stage
from vision.photo.photo import Photo
from vision.walls.placed import ToldWall

LEANS_DEG = (0.64, 0.52, 0.66, 0.58, 0.67, 0.53, 0.63, 0.57)


@pytest.fixture
def core(monkeypatch: pytest.MonkeyPatch) -> None:
    """The name of the photo decides: `good...` is measured, `fault...` breaks, anything else has no card.

    Told walls stand where they were told; a first one at the photo's very border cannot be used. Practice cuts lean to
    the right by six tenths of a degree, whatever was meant, and there are eight of them.
    """

    def measure(
        image: Photo, *, stage: Stage | None, card_side: str, known: Known, told: Sequence[ToldWall] = ()
    ) -> Measurement:
        if image.name.startswith("fault"):
            raise ZeroDivisionError("on purpose")
        if not image.name.startswith("good"):
            raise refuse("no_card")
        if told and told[0].show_px[0] == 0.0:
            raise refuse("told_walls_unusable")
        return with_told(measurement(stage=stage or "sawn"), told)

    def measure_drill(image: Photo, plan: DrillPlan, *, card_side: str, known: Known) -> DrillMeasurement:
        if not image.name.startswith("good"):
            raise refuse("no_card")
        plan.sequence(len(LEANS_DEG)), plan.intents_of(len(LEANS_DEG)), plan.keeps_of(len(LEANS_DEG))
        return made_drill(LEANS_DEG)

    monkeypatch.setattr("service.measuring.checking.measure_end", measure)
    monkeypatch.setattr("service.measuring.drill_check.measure_drill", measure_drill)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with two photos to measure, one without a card, one that breaks the program and one text file."""
    data = encoded(picture(), "JPEG")
    for name in ("good-1.jpg", "good-2.jpg", "cardless.jpg", "fault.jpg"):
        (tmp_path / name).write_bytes(data)
    (tmp_path / "notes.txt").write_text("no photo")
    return tmp_path


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """A service in one process whose photos are any bytes."""
    with open_house(tmp_path) as house:
        yield house
