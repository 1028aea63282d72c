"""Streams that can show what we print: any encoding, a closed pipe, a redirected file."""

from __future__ import annotations

import codecs
import io
import os
import sys

_PLAIN = {"±": "+/-", "°": "deg", "²": "2"}


def _plain(error: UnicodeError) -> tuple[str, int]:
    """Codec error handler: a plain spelling of what the terminal's encoding lacks."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end]
    return "".join(_PLAIN.get(letter, "?") for letter in lacking), error.end


def settle_streams() -> None:
    """Let stdout and stderr spell what they cannot encode in plain letters instead of failing."""
    codecs.register_error("tailproof-plain", _plain)
    sys.stdout = sys.stdout or open(os.devnull, "w")  # noqa: SIM115 - closed by the caller, as `>&-` does
    sys.stderr = sys.stderr or open(os.devnull, "w")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="tailproof-plain")


def write_or_drop_output() -> None:
    """Write out what stdout still holds; what a full disk does not take is dropped."""
    try:
        sys.stdout.flush()
    except OSError:
        drop_output()


def drop_output() -> None:
    """What stdout still holds goes nowhere: else Python would fail to write it when it shuts down, and complain."""
    devnull = os.open(os.devnull, os.O_WRONLY)
    os.dup2(devnull, sys.stdout.fileno())
