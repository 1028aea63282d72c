"""`tailproof serve` writes to its output what its pages say that it wrote there."""

from __future__ import annotations

import logging
from collections.abc import Iterator

import pytest

from service.commands.serve_job import tell_faults


@pytest.fixture
def log() -> Iterator[logging.Logger]:
    """The program's log as a command sets it up; as it was afterwards."""
    log = logging.getLogger("tailproof")
    before = log.level
    log.setLevel(logging.CRITICAL)
    yield log
    log.setLevel(before)


def test_faults_are_written_to_the_services_output(log: logging.Logger, caplog: pytest.LogCaptureFixture) -> None:
    log.error("not seen")
    tell_faults(debug=False)
    log.error("fault at %s", "/boards")
    log.debug("not for everybody")
    tell_faults(debug=True)
    log.debug("for whoever asks")
    assert [record.message for record in caplog.records] == ["fault at /boards", "for whoever asks"]
