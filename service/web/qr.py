"""Addresses as QR codes for phones."""

from __future__ import annotations

import io

import segno

LOOKS = {"scale": 6, "border": 4, "dark": "#23211d", "light": "#fffdf8"}


def qr_svg(address: str) -> str:
    """The QR code of an address as an inline SVG."""
    file = io.BytesIO()
    segno.make(address, error="m").save(file, kind="svg", xmldecl=False, svgns=True, omitsize=True, **LOOKS)
    return file.getvalue().decode()
