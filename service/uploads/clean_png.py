"""A PNG file with only the chunks that make the picture (PNG 3rd edition, section 11), pixels untouched."""

from __future__ import annotations

import zlib
from collections.abc import Iterator

SIGNATURE = b"\x89PNG\r\n\x1a\n"
KEPT = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP", b"bKGD"}


def clean_png(data: bytes, exif: bytes) -> bytes:
    """The file with its picture's chunks alone, and `exif` after the header.

    Raises ValueError for a file that is cut short.
    """
    parts = [SIGNATURE]
    for kind, chunk in _chunks(data):
        if kind in KEPT:
            parts.append(chunk)
        if kind == b"IHDR" and exif:
            parts.append(_chunk(b"eXIf", exif.removeprefix(b"Exif\0\0")))
    return b"".join(parts)


def _chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Kind and bytes of every chunk up to the end of the picture."""
    place, kind = len(SIGNATURE), b""
    while kind != b"IEND":
        after = place + 12 + int.from_bytes(data[place : place + 4], "big")
        kind = data[place + 4 : place + 8]
        if after > len(data) or len(kind) < 4:
            raise ValueError("the PNG is cut short")
        yield kind, data[place:after]
        place = after


def _chunk(kind: bytes, body: bytes) -> bytes:
    return len(body).to_bytes(4, "big") + kind + body + zlib.crc32(kind + body).to_bytes(4, "big")
