"""What holds for every test."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def empty_data_folder(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test sees, or touches, what the person who runs the tests keeps in the data folder."""
    folder = tmp_path_factory.getbasetemp() / "no-data"
    monkeypatch.setenv("TAILPROOF_DATA", str(folder))
    return folder
