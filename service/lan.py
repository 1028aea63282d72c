"""This computer's own address on the local network, as a phone would reach it."""

from __future__ import annotations

import ipaddress
import socket

ANY_TARGET = ("192.0.2.1", 9)
"""An address kept for examples (RFC 5737): asking the way to it sends nothing."""


def lan_address() -> str | None:
    """The IPv4 address that leads out of this computer; None when nothing does."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(ANY_TARGET)
        except OSError:
            return None
        found = str(probe.getsockname()[0])
    address = ipaddress.ip_address(found)
    return None if address.is_loopback or address.is_unspecified else found
