"""The options of `serve` and `demo`."""

from __future__ import annotations

import argparse
from pathlib import Path

from service.option_types import web_address, whole

PORT, SECONDS, MEMORY_MB = 8017, 60, 3072
"""Time and memory as in `service.jobs.limits`, which is not loaded only to parse a command."""


def add_serve_arguments(parser: argparse.ArgumentParser) -> None:
    """What `tailproof serve` takes, but for where data are kept."""
    add = parser.add_argument
    add("--lan", action="store_true", help="let paired phones on the same network in, and nobody else")
    add("--class", action="store_true", dest="for_class", help="several people, each with an account")
    add("--address", type=web_address, metavar="URL", help="with --class: where a web server in front is reached")
    _add_port(parser)
    add("--database", metavar="URL", help="keep the log in PostgreSQL (default: a file with the data)")
    add("--workers", type=whole(1, 64), metavar="N", help="photos to measure at once (default: one a processor)")
    add("--seconds", type=whole(5, 3600), default=SECONDS, metavar="S", help="time for one photo (default: 60)")
    add(
        "--memory",
        type=whole(1000, 1_000_000),
        default=MEMORY_MB,
        metavar="MB",
        help="memory for one photo (default: 3072)",
    )


def add_demo_arguments(parser: argparse.ArgumentParser) -> None:
    """What `tailproof demo` takes."""
    parser.add_argument("--lan", action="store_true", help="let others on the same network look around as well")
    _add_port(parser)
    parser.add_argument("--data", type=Path, metavar="FOLDER", help="keep it there (default: gone once it is stopped)")
    parser.set_defaults(for_class=True, address=None, database=None, workers=None, seconds=SECONDS, memory=MEMORY_MB)


def _add_port(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--port", type=whole(0, 65535), default=PORT, metavar="N", help="port to listen on (default: 8017; 0: any)"
    )
