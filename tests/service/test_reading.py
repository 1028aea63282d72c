"""Photos out of files: read while something else is done, asked for once, and never an older one than the file's."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from service.measuring import reading
from service.measuring.reading import load_photo, read_meanwhile


def written(path: Path, grey: int) -> Path:
    """A file with a photo of one shade."""
    assert cv2.imwrite(str(path), np.full((1000, 1200, 3), grey, np.uint8))
    return path


def test_a_photo_read_meanwhile_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path, names = written(tmp_path / "end.png", 90), []
    monkeypatch.setattr(reading, "decode", lambda data, name: names.append(name) or len(data))
    with read_meanwhile(path):
        assert load_photo(path) == path.stat().st_size
        assert names == ["end.png"]
        load_photo(path)
    assert names == ["end.png"] * 2


def test_another_photo_is_read_when_it_is_asked_for(tmp_path: Path) -> None:
    one, other = written(tmp_path / "one.png", 90), written(tmp_path / "other.png", 120)
    with read_meanwhile(one):
        assert (load_photo(other).rgb == 120).all()
        assert (load_photo(one).rgb == 90).all()


def test_what_nobody_asked_for_is_not_kept(tmp_path: Path) -> None:
    path = written(tmp_path / "end.png", 90)
    with read_meanwhile(path):
        pass
    assert (load_photo(written(path, 120)).rgb == 120).all()


def test_a_file_that_never_ends_is_read_to_the_limit_and_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    endless = Path("/dev/zero")
    if not endless.exists():
        pytest.skip("this system has no file without an end")
    monkeypatch.setattr(Path, "read_bytes", lambda path: pytest.fail("read without a limit"))
    with pytest.raises(CannotMeasure) as caught:
        load_photo(endless)
    assert caught.value.refusal.reason == "image_too_large"


@pytest.mark.parametrize(("name", "reason"), [("gone.jpg", "unreadable_file"), ("notes.jpg", "not_an_image")])
def test_a_file_that_is_no_photo_is_refused_when_it_is_asked_for(tmp_path: Path, name: str, reason: str) -> None:
    (tmp_path / "notes.jpg").write_text("no photo")
    with read_meanwhile(tmp_path / name), pytest.raises(CannotMeasure) as caught:
        load_photo(tmp_path / name)
    assert caught.value.refusal.reason == reason
