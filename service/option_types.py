"""What an option of the command line may hold: lengths, names, numbers; anything else is said in a sentence."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from urllib.parse import urlsplit

from service.lengths import length_mm

LONGEST_NAME = 80
SHALLOWEST_MM, DEEPEST_MM = 1.0, 200.0
"""Sockets are as deep as boards are thick."""


def add_list_and_forget(parser: argparse.ArgumentParser, kept: str) -> None:
    """The options that list what is `kept`, or forget one of it; one of them at a time."""
    add = parser.add_mutually_exclusive_group().add_argument
    add("--list", action="store_true", help=f"list the kept {kept}s")
    add("--forget", metavar="NAME", help=f"forget a kept {kept}")


def length(text: str) -> float:
    """A length in mm, given in mm or inches. Raises ArgumentTypeError unless it is above zero."""
    try:
        return length_mm(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def socket_depth(text: str) -> float:
    """The depth of a socket in mm. Raises ArgumentTypeError for one that no board has."""
    depth_mm = length(text)
    if not SHALLOWEST_MM <= depth_mm <= DEEPEST_MM:
        raise argparse.ArgumentTypeError(f"sockets are {SHALLOWEST_MM:.0f} to {DEEPEST_MM:.0f} mm deep, got {text!r}")
    return depth_mm


def kept_name(text: str) -> str:
    """A name to keep something under. Raises ArgumentTypeError for one that could not be listed or asked for."""
    name = text.strip()
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise argparse.ArgumentTypeError(f"must be a name on one line, of at most {LONGEST_NAME} letters, got {text!r}")
    return name


def note(text: str) -> str:
    """A remark on one line. Raises ArgumentTypeError for letters that cannot be shown."""
    if not text.isprintable():
        raise argparse.ArgumentTypeError(f"must be plain text on one line, got {text!r}")
    return text.strip()


def whole(least: int, most: int) -> Callable[[str], int]:
    """A type of whole numbers from `least` to `most`, both included."""

    def number(text: str) -> int:
        value = int(text) if re.fullmatch(r"\d{1,9}", text) else -1
        if not least <= value <= most:
            raise argparse.ArgumentTypeError(f"must be a whole number from {least} to {most}, got {text!r}")
        return value

    return number


def web_address(text: str) -> str:
    """The address of a whole site, with a slash at its end. Raises ArgumentTypeError for anything else."""
    try:
        told = urlsplit(text)
        fits = told.scheme in ("http", "https") and told.hostname and told.port != 0
    except ValueError:
        fits = False
    if not fits or text.rstrip("/") != f"{told.scheme}://{told.netloc}" or "@" in told.netloc:
        raise argparse.ArgumentTypeError(f"must be the address of a whole site, https://boards.example/, got {text!r}")
    return f"{told.scheme}://{told.netloc.lower()}/"


def budget_subject(text: str) -> str:
    """A wall, a socket or a size by its name, in small letters; empty for what decides.

    Raises ArgumentTypeError for anything else.
    """
    name = " ".join(text.lower().split())
    if name and not re.fullmatch(r"tail [1-9]\d* (left|right)|socket [1-9]\d*|width|thickness", name):
        raise argparse.ArgumentTypeError(
            f'must be such as "tail 2 right", "socket 3", width or thickness, after the photos; got {text!r}'
        )
    return name
