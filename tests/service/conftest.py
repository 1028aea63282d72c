"""Service tests with a measuring core of known answers, so that what people see can be checked alone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from calibration.outcome import refuse
from calibration.prints.known import Known
from tests.service.house import House, open_house
from tests.vision.photos import encoded, measurement, picture
from vision.end.report import Measurement, Stage
from vision.photo.photo import Photo


@pytest.fixture
def core(monkeypatch: pytest.MonkeyPatch) -> None:
    """The name of the photo decides: `good...` is measured, `fault...` breaks, anything else has no card."""

    def measure(image: Photo, *, stage: Stage | None, card_side: str, known: Known) -> Measurement:
        if image.name.startswith("fault"):
            raise ZeroDivisionError("on purpose")
        if not image.name.startswith("good"):
            raise refuse("no_card")
        return measurement(stage=stage or "sawn")

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
