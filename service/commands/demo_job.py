"""`tailproof demo`: a fresh instance with an invented school, filled and then served until it is stopped."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from service.commands.serve_job import check_installed, make_folder, serve_folder
from service.errors import UsageError

if TYPE_CHECKING:
    from service.use_cases.ports import Ports


def run_demo(options: argparse.Namespace) -> int:
    """Fill and serve. Raises UsageError: parts missing, a folder that holds something, port taken."""
    check_installed()
    with _folder(options.data) as data:
        return serve_folder(options, data, partial(_prepare, data=data))


@contextmanager
def _folder(wanted: Path | None) -> Iterator[Path]:
    """The folder wanted, else one that goes when the demonstration ends. Raises UsageError unless it is empty."""
    if wanted is None:
        with tempfile.TemporaryDirectory(prefix="tailproof-demo-", ignore_cleanup_errors=True) as data:
            yield Path(data)
        return
    from service.texts import text

    if wanted.exists() and (not wanted.is_dir() or any(wanted.iterdir())):
        raise UsageError(text("demo.not_empty", data=wanted))
    make_folder(wanted)
    yield wanted.absolute()


def _prepare(ports: Ports, data: Path) -> None:
    """The school in its database, its logins on the terminal."""
    from service.demo.fill import fill
    from service.demo.school import read_school
    from service.domain.join_code import join_code
    from service.texts import text

    school, password = read_school(), join_code(ports.new_secret())
    print(text("demo.filling", school=school.name), flush=True)
    fill(school, password, ports, data, _tell)
    teachers = ", ".join(teacher.login for teacher in school.teachers)
    learners = ", ".join(learner.login for learner in school.learners)
    print(text("demo.logins", teachers=teachers, learners=learners, password=password), flush=True)


def _tell(done: int, of: int) -> None:
    """How far it is, on a terminal alone, in one line."""
    if sys.stdout.isatty():
        print(f"\r{done} / {of}", end="\n" if done == of else "", flush=True)
