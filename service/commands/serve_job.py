"""`tailproof serve`: the service with its workers, until it is stopped."""

from __future__ import annotations

import argparse
import gc
import importlib.util
import logging
import os
import signal
import socket
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from service.errors import UsageError
from service.kept.data_folder import data_folder
from service.status import Status

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from service.jobs.crew import Crew
    from service.use_cases.ports import Ports

NEEDED = ("fastapi", "uvicorn", "jinja2", "sqlalchemy", "alembic", "multipart", "segno", "argon2", "matplotlib")
LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
SWEEP_AGE_S = 3600.0
"""A stored file that no row holds is an upload under way, or after an hour one that was cut off."""


def run_serve(options: argparse.Namespace) -> int:
    """Serve until stopped.

    Raises UsageError: `--address` alone, parts missing, folder in use, no such database, port taken.
    """
    if options.address and not options.for_class:
        raise UsageError("--address goes with --class: without accounts a web server would let in everybody.")
    check_installed()
    data = data_folder(options.data, os.environ).absolute()
    make_folder(data)
    return serve_folder(options, data)


def tell_faults(*, debug: bool) -> None:
    """Write faults to the output: nobody sees them on a phone, where a page only says that there was one."""
    logging.getLogger("tailproof").setLevel(logging.DEBUG if debug else logging.WARNING)


def check_installed() -> None:
    """Raise UsageError when what the service needs is not there."""
    if any(importlib.util.find_spec(name) is None for name in NEEDED):
        raise UsageError('the service is an extra: in your copy of the repository run `pip install ".[service]"`.')


def make_folder(data: Path) -> None:
    """The folder, with those above it. Raises UsageError."""
    try:
        data.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(f"{data} could not be made ({error.strerror or error}). Name another --data.") from error


def serve_folder(options: argparse.Namespace, data: Path, prepare: Callable[[Ports], None] | None = None) -> int:
    """Serve what is in that folder until stopped, once `prepare` has done what it has to. Raises UsageError."""
    from service.jobs.instance import lock_folder
    from service.storage.engine import database_url
    from service.use_cases.forget_photos import sweep_photos
    from service.use_cases.solo import ensure_solo

    tell_faults(debug=options.debug)
    signal.signal(signal.SIGTERM, _end)
    database = database_url(options.database, data)
    host = _lan_host() if options.lan else None
    listener = _listen(EVERYWHERE if host else LOOPBACK, options.port)
    with lock_folder(data), listener:
        engine, ports, crew = _open(options, data, database)
        if prepare is not None:
            prepare(ports)
        ensure_solo(ports)
        sweep_photos(SWEEP_AGE_S, ports)
        crew.start(ports)
        try:
            _answer(ports, data, listener, options.address or _lan_address(listener, host), options.for_class)
        finally:
            crew.stop()
            engine.dispose()  # SQLite then puts what was written last into the log's own file
    return Status.MEASURED


def _end(number: int, frame: object) -> None:
    """Leave as on Ctrl-C, doing what is done at the end: told to end by the system, Python by itself just stops."""
    sys.exit(128 + number)


def _open(options: argparse.Namespace, data: Path, database: str) -> tuple[Engine, Ports, Crew]:
    """The database, renewed if need be, and the workers that will measure for it. Raises UsageError."""
    from service.jobs.crew import Crew
    from service.jobs.instance import instance_name
    from service.jobs.limits import Limits
    from service.storage.engine import open_engine
    from service.storage.migrate import migrate
    from service.storage.ports import open_ports

    engine = open_engine(database)
    migrate(engine)
    size = options.workers or os.cpu_count() or 1
    crew = Crew(instance_name(data), database, str(data), size, Limits(options.seconds, options.memory))
    return engine, open_ports(engine, data, crew), crew


def _lan_host() -> str:
    """This computer's address on the network. Raises UsageError when it has none."""
    from service.lan import lan_address
    from service.texts import text

    host = lan_address()
    if host is None:
        raise UsageError(text("serve.no_network"))
    return host


def _listen(host: str, port: int) -> socket.socket:
    """A socket at that address; port 0 takes a free one."""
    tcp = socket.IPPROTO_TCP  # told, for asyncio else lets small answers wait for 40 ms (Nagle)
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, tcp)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except (OSError, OverflowError) as error:
        listener.close()
        why = getattr(error, "strerror", None) or error
        raise UsageError(f"port {port} cannot be used ({why}). Name another with --port.") from error
    listener.listen(128)
    return listener


def _lan_address(listener: socket.socket, host: str | None) -> str:
    """Where phones reach it at that host; empty for nobody but this computer."""
    return f"http://{host}:{listener.getsockname()[1]}/" if host else ""


def _answer(ports: Ports, data: Path, listener: socket.socket, address: str, for_class: bool) -> None:
    """Answer until stopped; `address` is where others reach it, empty for nobody but this computer."""
    import uvicorn

    from service.web.app import create_app

    port = listener.getsockname()[1]
    app = create_app(ports, data, address, for_class=for_class)
    greeting = _class_greeting if for_class else _greeting
    print(greeting(ports, data, port, address), flush=True)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,  # nobody may claim to be this computer
        timeout_graceful_shutdown=5,
    )
    gc.freeze()  # what is loaded by now stays: looking through it for garbage holds a page up for 60 ms
    uvicorn.Server(config).run(sockets=[listener])


def _greeting(ports: Ports, data: Path, port: int, address: str) -> str:
    """Where the service is, and for phones the code that pairs one."""
    from service.texts import text

    first = text("serve.address", address=f"http://localhost:{port}/")
    if not address:
        return "\n".join([first, text("serve.solo", data=data), text("serve.stop")])
    return "\n".join([first, text("serve.lan_data", data=data), *_pairing_lines(ports, address), text("serve.stop")])


def _class_greeting(ports: Ports, data: Path, port: int, address: str) -> str:
    """Where the service is, and before there is an owner the link to become it."""
    from service.texts import text
    from service.use_cases.sign_in import has_owner, invite

    here = address or f"http://localhost:{port}/"
    first = [] if has_owner(ports) else [text("serve.first"), f"{here}join/{invite('owner', ports)}"]
    return "\n".join([text("serve.address", address=here), text("serve.class", data=data), *first, text("serve.stop")])


def _pairing_lines(ports: Ports, address: str) -> list[str]:
    """A fresh pairing link, as a QR code for terminals and in letters."""
    import io

    import segno

    from service.domain.device import PAIRING_LASTS
    from service.texts import text
    from service.use_cases.pair_device import offer_pairing
    from service.use_cases.solo import SOLO

    link, drawn = f"{address}pair/{offer_pairing(SOLO, ports)}", io.StringIO()
    segno.make(link, error="l").terminal(drawn, compact=True)
    minutes = int(PAIRING_LASTS.total_seconds() // 60)
    return [text("serve.lan", minutes=minutes), drawn.getvalue(), link]
