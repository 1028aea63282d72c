"""A HEIF file (ISO/IEC 14496-12 and 23008-12) whose private parts are written over in place, pixels untouched.

Items of EXIF and XMP are found through the item tables and blanked where they lie, so that no offset changes; what is
kept of the EXIF is written where the old one was. Boxes that are no part of the picture become free space.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

PICTURE_BOXES = {b"ftyp", b"meta", b"mdat", b"free", b"skip"}
_HEADER_LENGTH = 8


@dataclass(frozen=True)
class _Box:
    """A box by its kind and the places of its start, its body and its end in the file."""

    kind: bytes
    start: int
    body: int
    end: int


def clean_heif(data: bytes, exif: bytes) -> bytes:
    """The file with EXIF items holding `exif` or nothing, and XMP and foreign boxes blanked.

    Raises ValueError for a file whose tables cannot be followed.
    """
    out, boxes = bytearray(data), list(_boxes(data, 0, len(data)))
    meta = next((box for box in boxes if box.kind == b"meta"), None)
    if meta is None:
        raise ValueError("the HEIF has no table of items")
    for box in boxes:
        if box.kind not in PICTURE_BOXES:
            out[box.start + 4 : box.start + 8] = b"free"
        if box.kind not in PICTURE_BOXES - {b"free", b"skip"}:
            out[box.body : box.end] = bytes(box.end - box.body)
    inner = {box.kind: box for box in _boxes(data, meta.body + 4, meta.end)}
    kinds = dict(_item_kinds(data, inner[b"iinf"])) if b"iinf" in inner else {}
    for item, start, length in _extents(data, inner):
        if kinds.get(item) in (b"Exif", b"mime", b"uri "):
            out[start : start + length] = _payload(exif, length) if kinds[item] == b"Exif" else bytes(length)
    return bytes(out)


def _payload(exif: bytes, length: int) -> bytes:
    """An EXIF item of that length: where its TIFF block begins (23008-12, A.2.1), the block, and nothing after it."""
    block = (6).to_bytes(4, "big") + exif if exif else b""
    return block.ljust(length, b"\0") if len(block) <= length else bytes(length)


def _boxes(data: bytes, place: int, end: int) -> Iterator[_Box]:
    """The boxes between two places, one after the other."""
    while place < end:
        size, body = int.from_bytes(data[place : place + 4], "big"), place + _HEADER_LENGTH
        if size == 1:
            size, body = int.from_bytes(data[place + 8 : place + 16], "big"), place + 16
        elif size == 0:
            size = end - place
        if size < body - place or place + size > end:
            raise ValueError("a HEIF box is cut short")
        yield _Box(data[place + 4 : place + 8], place, body, place + size)
        place += size


def _item_kinds(data: bytes, table: _Box) -> Iterator[tuple[int, bytes]]:
    """Item number and type of every entry of the item table (14496-12, 8.11.6)."""
    count_size = 2 if data[table.body] == 0 else 4
    for entry in _boxes(data, table.body + 4 + count_size, table.end):
        version, place = data[entry.body], entry.body + 4
        size = 2 if version == 2 else 4
        if entry.kind == b"infe" and version >= 2:
            number = int.from_bytes(data[place : place + size], "big")
            yield number, data[place + size + 2 : place + size + 6]


class _Reader:
    """Numbers of a table, one after the other."""

    def __init__(self, data: bytes, place: int) -> None:
        self._data = data
        self._place = place

    def number(self, size: int) -> int:
        found = self._data[self._place : self._place + size]
        if len(found) < size:
            raise ValueError("a HEIF table is cut short")
        self._place += size
        return int.from_bytes(found, "big")


def _extents(data: bytes, inner: dict[bytes, _Box]) -> Iterator[tuple[int, int, int]]:
    """Item number, start and length in the file of every extent of every item (14496-12, 8.11.3)."""
    if b"iloc" not in inner:
        raise ValueError("the HEIF does not say where its items are")
    base_of = {0: 0, 1: inner[b"idat"].body if b"idat" in inner else None}
    read = _Reader(data, inner[b"iloc"].body)
    version, _ = read.number(1), read.number(3)
    sizes = read.number(2)
    offset_size, length_size, base_size, index_size = sizes >> 12, sizes >> 8 & 15, sizes >> 4 & 15, sizes & 15
    for _ in range(read.number(2 if version < 2 else 4)):
        item = read.number(2 if version < 2 else 4)
        method = read.number(2) & 15 if version else 0
        read.number(2)
        base = read.number(base_size)
        for _ in range(read.number(2)):
            read.number(index_size if version else 0)
            start, length = base + read.number(offset_size), read.number(length_size)
            origin = base_of.get(method)
            if origin is None:
                continue
            if origin + start + length > len(data):
                raise ValueError("a HEIF item lies outside its file")
            yield item, origin + start, length
