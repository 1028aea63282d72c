"""A WebP file with only the chunks that make the picture (RFC 9649), pixels untouched."""

from __future__ import annotations

from collections.abc import Iterator

KEPT = {b"VP8 ", b"VP8L", b"ALPH", b"ICCP"}
_ICC_FLAG, _ALPHA_FLAG, _EXIF_FLAG = 0x20, 0x10, 0x08


def clean_webp(data: bytes, exif: bytes) -> bytes:
    """The file with its picture's chunks alone, and `exif` at its end.

    Raises ValueError for a file that is cut short, and for an animation.
    """
    chunks = list(_chunks(data))
    extended = next((body for kind, body in chunks if kind == b"VP8X"), None)
    kept = [(kind, body) for kind, body in chunks if kind in KEPT]
    if extended is None:
        return _file([chunk for chunk in kept if chunk[0] != b"ICCP"])
    if not any(kind in (b"VP8 ", b"VP8L") for kind, _ in kept):
        raise ValueError("a moving picture")
    flags = extended[0] & (_ICC_FLAG | _ALPHA_FLAG) | (_EXIF_FLAG if exif else 0)
    last = [(b"EXIF", exif.removeprefix(b"Exif\0\0"))] if exif else []
    return _file([(b"VP8X", bytes([flags]) + extended[1:10]), *kept, *last])


def _chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Kind and body of every chunk within the file's stated length."""
    place, end = 12, 8 + int.from_bytes(data[4:8], "little")
    if end > len(data):
        raise ValueError("the WebP is cut short")
    while place + 8 <= end:
        size = int.from_bytes(data[place + 4 : place + 8], "little")
        if place + 8 + size > end:
            raise ValueError("the WebP is cut short")
        yield data[place : place + 4], data[place + 8 : place + 8 + size]
        place += 8 + size + size % 2


def _file(chunks: list[tuple[bytes, bytes]]) -> bytes:
    body = b"WEBP" + b"".join(kind + len(b).to_bytes(4, "little") + b + b"\0" * (len(b) % 2) for kind, b in chunks)
    return b"RIFF" + len(body).to_bytes(4, "little") + body
