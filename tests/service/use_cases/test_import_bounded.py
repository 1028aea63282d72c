"""No line of an export that is brought back fills the memory; the one that is too long is named, with what to do."""

from __future__ import annotations

import io
import json

import pytest

from service.domain.mistakes import MistakeError
from service.use_cases import import_log as importing
from service.use_cases.import_log import Brought, import_log
from tests.service.house import House
from tests.service.use_cases.test_export_and_import import exported, forget_all, views


class Counting(io.BytesIO):
    """A file that knows the most that was asked of it at once."""

    asked = 0

    def readline(self, size: int | None = -1, /) -> bytes:
        return self._noted(size, super().readline(size))

    def read(self, size: int | None = -1, /) -> bytes:
        return self._noted(size, super().read(size))

    def _noted(self, size: int | None, data: bytes) -> bytes:
        assert size is not None
        assert size >= 0, "read without a bound"
        self.asked = max(self.asked, size)
        return data


@pytest.fixture
def log(house: House) -> bytes:
    """An export of three boards, the second with a photo much larger than the others'."""
    for size in (10, 5000, 20):
        house.send(b"x" * size)
        house.later(seconds=1)
    data = exported(house)
    forget_all(house)
    return data


def bound(monkeypatch: pytest.MonkeyPatch, most: int) -> None:
    monkeypatch.setattr(importing, "MOST_AT_ONCE_BYTES", most)


def test_a_line_as_long_as_may_be_comes_back(house: House, log: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    bound(monkeypatch, max(map(len, log.splitlines(keepends=True))))
    assert import_log("ann", io.BytesIO(log), house.ports) == Brought(3, 3, 0)


def test_a_longer_line_is_named_with_what_to_do_and_what_was_brought_back(
    house: House, log: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    bound(monkeypatch, max(map(len, log.splitlines(keepends=True))) - 1)
    file = Counting(log)
    with pytest.raises(MistakeError, match=r"^Line 3 of this file is longer than .* or take that line out\.") as caught:
        import_log("ann", file, house.ports)
    assert caught.value.field == "file"
    assert file.asked == importing.MOST_AT_ONCE_BYTES + 1
    assert len(views(house)) == 1


def test_without_that_line_the_others_come_back(house: House, log: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    lines = log.splitlines(keepends=True)
    bound(monkeypatch, len(lines[2]) - 1)
    kept = lines[:2] + lines[3:]
    assert import_log("ann", io.BytesIO(b"".join(kept)), house.ports) == Brought(2, 2, 0)


def test_the_first_board_may_be_the_one_that_is_taken_out(house: House, log: bytes) -> None:
    lines = log.splitlines(keepends=True)
    assert import_log("ann", io.BytesIO(b"".join(lines[:1] + lines[2:])), house.ports) == Brought(2, 2, 0)


@pytest.mark.parametrize("indent", [None, 1])
def test_a_large_file_in_one_piece_is_told_so(
    house: House, log: bytes, monkeypatch: pytest.MonkeyPatch, indent: int | None
) -> None:
    file = Counting(json.dumps(json.loads(log), indent=indent).encode())
    bound(monkeypatch, 1000)
    with pytest.raises(MistakeError, match="holds all its boards in one piece"):
        import_log("ann", file, house.ports)
    assert views(house) == []


def test_a_line_that_never_ends_is_no_more_read_than_that(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    head = b'{"format": "tailproof-log", "version": 1, "exported": "", "boards": [\n'
    file = Counting(head + b"[" * 100_000)
    bound(monkeypatch, 1000)
    with pytest.raises(MistakeError, match="Line 2 of this file"):
        import_log("ann", file, house.ports)
    assert file.tell() == len(head) + 1001
