"""The command line asks the numerical libraries for one thread, and leaves alone what the user asked for."""

from __future__ import annotations

import os

import pytest

from service.threads import ONE_THREAD, settle_threads


def test_one_thread_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ONE_THREAD:
        monkeypatch.delenv(name, raising=False)
    settle_threads()
    assert {name: os.environ[name] for name in ONE_THREAD} == ONE_THREAD


def test_what_the_user_asked_for_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "4")
    settle_threads()
    assert os.environ["OPENBLAS_NUM_THREADS"] == "4"
