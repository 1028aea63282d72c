"""Service tests with a measuring core of known answers, so that what people see can be checked alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from calibration.outcome import refuse
from calibration.prints.known import Known
from tests.service.house import House, open_house
from tests.vision.photos import encoded, measurement, picture
from tests.vision.told_walls import with_told
from vision.end.report import Measurement, Stage
from vision.photo.photo import Photo
from vision.walls.placed import ToldWall


@pytest.fixture
def core(monkeypatch: pytest.MonkeyPatch) -> None:
    """The name of the photo decides: `good...` is measured, `fault...` breaks, anything else has no card.

    Told walls stand where they were told; a first one at the photo's very border cannot be used.
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

    monkeypatch.setattr("service.measuring.checking.measure_end", measure)


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
