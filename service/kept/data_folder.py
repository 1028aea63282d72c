"""Where the program keeps what it is told: the platform's own folder for data, unless moved."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

VARIABLE = "TAILPROOF_DATA"
"""Environment variable that moves the folder; the option `--data` goes before it."""


def data_folder(given: Path | None, environment: Mapping[str, str]) -> Path:
    """The folder `given`, else that of the environment, else the platform's for this program. It need not exist."""
    if given is not None:
        return given
    if environment.get(VARIABLE):
        return Path(environment[VARIABLE]).expanduser()
    from platformdirs import user_data_path

    return user_data_path("tailproof", appauthor=False)
