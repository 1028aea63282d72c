"""`tailproof serve`: the service with its workers, until it is stopped."""

from __future__ import annotations

import argparse
import importlib.util
import os
import socket
from pathlib import Path

from service.data_folder import data_folder
from service.errors import UsageError
from service.status import Status

NEEDED = ("fastapi", "uvicorn", "jinja2", "sqlalchemy", "alembic", "multipart")
LOOPBACK = "127.0.0.1"
SWEEP_AGE_S = 3600.0
"""A stored file that no row holds is an upload under way, or after an hour one that was cut off."""


def run_serve(options: argparse.Namespace) -> int:
    """Serve until stopped. Raises UsageError: parts missing, folder in use, no such database, port taken."""
    missing = [name for name in NEEDED if importlib.util.find_spec(name) is None]
    if missing:
        raise UsageError('the service is an extra: install it with `pip install "tailproof[service]"`.')
    data = data_folder(options.data, os.environ).absolute()
    _make_folder(data)
    return _serve(options, data)


def _make_folder(data: Path) -> None:
    try:
        data.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(f"{data} could not be made ({error.strerror or error}). Name another --data.") from error


def _serve(options: argparse.Namespace, data: Path) -> int:
    from service.jobs.crew import Crew
    from service.jobs.instance import instance_name, lock_folder
    from service.jobs.limits import Limits
    from service.storage.engine import database_url, open_engine
    from service.storage.migrate import migrate
    from service.storage.ports import open_ports
    from service.use_cases.forget_photos import sweep_photos
    from service.use_cases.solo import ensure_solo

    database = database_url(options.database, data)
    listener = _listen(options.port)
    with lock_folder(data), listener:
        engine = open_engine(database)
        migrate(engine)
        size = options.workers or os.cpu_count() or 1
        crew = Crew(instance_name(data), database, str(data), size, Limits(options.seconds, options.memory))
        ports = open_ports(engine, data, crew)
        ensure_solo(ports)
        sweep_photos(SWEEP_AGE_S, ports)
        crew.start(ports)
        try:
            _answer(ports, data, listener)
        finally:
            crew.stop()
    return Status.MEASURED


def _listen(port: int) -> socket.socket:
    """A socket on loopback; port 0 takes a free one."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((LOOPBACK, port))
    except OSError as error:
        listener.close()
        raise UsageError(f"port {port} cannot be used ({error.strerror or error}). Name another with --port.") from (
            error
        )
    return listener


def _answer(ports: object, data: Path, listener: socket.socket) -> None:
    import uvicorn

    from service.texts import text
    from service.web.app import create_app

    app = create_app(ports, data)  # type: ignore[arg-type]
    address = f"http://localhost:{listener.getsockname()[1]}/"
    listener.listen(128)
    print(
        text("serve.address", address=address), text("serve.solo", data=data), text("serve.stop"), sep="\n", flush=True
    )
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, timeout_graceful_shutdown=5
    )
    uvicorn.Server(config).run(sockets=[listener])
