"""Sizes of the board that a person tells on the command line reach the check, with a caliper's uncertainty."""

from __future__ import annotations

from pathlib import Path

import pytest

from calibration.prints.known import TOLD_SIZE_U_MM, Known
from service.cli import build_parser
from service.commands.check_job import settings_from


def known(tmp_path: Path, *words: str) -> Known:
    return settings_from(build_parser().parse_args(["check", "end.jpg", "--data", str(tmp_path), *words])).known


def test_told_sizes_reach_the_check(tmp_path: Path) -> None:
    told = known(tmp_path, "--thickness", "18.6", "--width", "88.2")
    assert (told.thickness.value, told.width.value) == (18.6, 88.2)
    assert told.thickness.u == told.width.u == TOLD_SIZE_U_MM
    assert set(told.thickness.parts).isdisjoint(told.width.parts)


def test_sizes_nobody_told_are_unknown(tmp_path: Path) -> None:
    assert (known(tmp_path).thickness, known(tmp_path).width) == (None, None)


@pytest.mark.parametrize("size", ["0", "-3", "thick"])
def test_what_is_no_size_is_a_mistake(size: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        build_parser().parse_args(["check", "end.jpg", "--thickness", size])
    assert "must be a length above zero, in mm or as 3.94in" in capsys.readouterr().err
