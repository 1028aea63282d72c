"""How many threads the numerical libraries may use: one, for our arrays are small and starting threads takes time."""

from __future__ import annotations

import os

ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
"""Environment of a process that shares the processors with others of its kind."""


def settle_threads() -> None:
    """Ask for one thread, unless the environment says otherwise; of use before numpy is loaded."""
    for name, count in ONE_THREAD.items():
        os.environ.setdefault(name, count)
