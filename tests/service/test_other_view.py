"""A photo that was checked as the other view than it shows: the refusal says so, where measuring it proves it."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.cli import main

SAMPLES = Path(__file__).parents[2] / "sample_images"

Capture = pytest.CaptureFixture[str]


def told(capsys: Capture, photo: str, *options: str) -> str:
    assert main(["check", str(SAMPLES / photo), *options]) == 3
    return " ".join(capsys.readouterr().out.split())


def test_a_face_checked_as_an_end_is_told_with_the_option_that_was_meant(capsys: Capture) -> None:
    out = told(capsys, "pine-sawn-pencil-show.jpg")
    assert out.startswith("The card does not lie in the plane of the end.")
    assert "It can be measured as a photo of a face: if it is one, add `--view show` or `--view transfer`." in out


def test_an_end_checked_as_a_face_is_told_to_leave_the_option_out(capsys: Capture) -> None:
    out = told(capsys, "pine-sawn-pencil.jpg", "--view", "show")
    assert "It can be measured as a photo of the end: if it is one, leave out `--view`." in out


def test_an_end_that_cannot_be_measured_is_not_taken_for_a_face(capsys: Capture) -> None:
    out = told(capsys, "ash-refused-missing-cut.jpg")
    assert "do not make up whole tails" in out
    assert "--view" not in out
