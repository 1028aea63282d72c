"""`tailproof serve` writes to its output what its pages say that it wrote there, and says how what it needs is had."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.cli import main
from service.commands import serve_job
from service.commands.serve_job import tell_faults

README = Path(__file__).parents[2] / "README.md"


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


@pytest.mark.parametrize("job", ["serve", "demo"])
def test_without_its_parts_the_service_says_how_readme_installs_them(
    job: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Not by the program's name alone: what a registry has under that name may be anybody's."""
    monkeypatch.setattr(serve_job, "NEEDED", ("no_such_part_of_the_service",))
    assert main([job]) == 2
    command = 'pip install ".[service]"'
    assert command in capsys.readouterr().err
    assert command in README.read_text(encoding="utf-8")
