"""A JPEG file with only the segments that make the picture (ITU-T T.81, annex B), pixels untouched."""

from __future__ import annotations

from collections.abc import Iterator

START, END, SCAN = 0xD8, 0xD9, 0xDA
_RESTARTS = range(0xD0, 0xD8)
_ICC = b"ICC_PROFILE\0"
_JFIF, _ADOBE = (0xE0, b"JFIF\0"), (0xEE, b"Adobe")


def clean_jpeg(data: bytes, exif: bytes) -> bytes:
    """The file with `exif` in place of every comment and application segment but JFIF, colour profile and Adobe.

    What follows the picture's end is dropped. Raises ValueError for a file that is cut short or no JPEG.
    """
    parts = [bytes([0xFF, START]), _exif_segment(exif)]
    for marker, body in _segments(data):
        if _kept(marker, body):
            parts.append(body)
    return b"".join(parts) + bytes([0xFF, END])


def _exif_segment(exif: bytes) -> bytes:
    return b"\xff\xe1" + (len(exif) + 2).to_bytes(2, "big") + exif if exif else b""


def _kept(marker: int, segment: bytes) -> bool:
    """Whether a segment is part of the picture: no comment, no application's own data but the few named."""
    inner = segment[4:]
    if marker == 0xFE:
        return False
    if 0xE0 <= marker <= 0xEF:
        named = any(marker == number and inner.startswith(name) for number, name in (_JFIF, _ADOBE))
        return named or (marker == 0xE2 and inner.startswith(_ICC))
    return True


def _segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and bytes of every segment between start and end; a scan's data belong to its segment."""
    place = 2
    while True:
        place, marker = _next_marker(data, place)
        if marker == END:
            return
        length = int.from_bytes(data[place + 2 : place + 4], "big")
        after = place + 2 + length
        if length < 2 or after > len(data):
            raise ValueError("a JPEG segment is cut short")
        if marker == SCAN:
            after = _end_of_scan(data, after)
        yield marker, data[place:after]
        place = after


def _next_marker(data: bytes, place: int) -> tuple[int, int]:
    """Where the next marker begins, past fill bytes, and its code."""
    if data[place : place + 1] != b"\xff":
        raise ValueError("a JPEG marker is missing")
    while data[place + 1 : place + 2] == b"\xff":
        place += 1
    if place + 2 > len(data):
        raise ValueError("the JPEG has no end")
    return place, data[place + 1]


def _end_of_scan(data: bytes, place: int) -> int:
    """Where the coded data end: at the first marker that is neither a stuffed byte nor a restart."""
    while True:
        place = data.find(b"\xff", place)
        if place < 0 or place + 1 >= len(data):
            raise ValueError("the JPEG has no end")
        code = data[place + 1]
        if code != 0 and code not in _RESTARTS and code != 0xFF:
            return place
        place += 1 if code == 0xFF else 2
