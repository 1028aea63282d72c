"""One service per data folder, and a clear word where nothing can be kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.errors import UsageError
from service.jobs.instance import LOCK, NAME, instance_name, lock_folder


def test_a_folder_is_held_by_one_service_at_a_time(tmp_path: Path) -> None:
    with lock_folder(tmp_path), pytest.raises(UsageError, match="in use by another"):
        lock_folder(tmp_path)
    lock_folder(tmp_path).close()


def test_a_folder_keeps_its_name(tmp_path: Path) -> None:
    assert instance_name(tmp_path) == instance_name(tmp_path) != ""


def test_what_cannot_be_written_is_named_with_what_to_do(tmp_path: Path) -> None:
    for name in (LOCK, NAME):
        (tmp_path / name).mkdir()
    with pytest.raises(UsageError, match=f"{LOCK} cannot be read and written .*name another --data"):
        lock_folder(tmp_path)
    with pytest.raises(UsageError, match=f"{NAME} cannot be read and written"):
        instance_name(tmp_path)
