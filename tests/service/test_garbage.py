"""Garbage is looked for seldom while one photo is answered, and between photos."""

from __future__ import annotations

import gc
import subprocess
import sys
import weakref
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.cli import build_parser
from service.commands.each_photo import answer_each
from service.garbage import SELDOM, settle_garbage


@pytest.fixture
def usual_garbage() -> Iterator[None]:
    before = gc.get_threshold()
    yield
    gc.set_threshold(*before)


class Knot:
    """What nothing but itself points at."""

    def __init__(self) -> None:
        self.itself = self


@pytest.mark.usefixtures("usual_garbage")
def test_garbage_is_looked_for_seldom() -> None:
    settle_garbage()
    assert gc.isenabled()
    assert gc.get_threshold()[0] == SELDOM


def test_nothing_is_looked_through_at_the_end_of_the_process() -> None:
    watch = "import atexit, gc; atexit.register(lambda: print(gc.get_count()[0], gc.get_freeze_count() > 1000));"
    program = watch + "from service.garbage import settle_garbage; settle_garbage(); settle_garbage()"
    said = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    assert said.split() == ["0", "True"]


def test_one_photo_leaves_no_garbage_to_the_next() -> None:
    knots: list[weakref.ref[Knot]] = []
    left: list[int] = []

    def one(path: Path, overlay: Path | None) -> bool:
        left.append(sum(knot() is not None for knot in knots))
        knots.append(weakref.ref(Knot()))
        return True

    answer_each(build_parser().parse_args(["check", "--json", "one.jpg", "two.jpg", "three.jpg"]), one)
    assert left == [0, 0, 0]
