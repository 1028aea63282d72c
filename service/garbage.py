"""How often Python looks for objects that only point at each other: seldom, for loading our modules makes thousands.

Looking through them all time and again would take a twentieth of the time of one photo, and finds hardly anything.
"""

from __future__ import annotations

import atexit
import gc

SELDOM = 50_000
"""New objects after which Python looks for garbage; it has made about 40,000 when one photo is answered."""


def settle_garbage() -> None:
    """Look for garbage seldom from now on, and at the end of the process not at all: the system takes it all back."""
    gc.set_threshold(SELDOM)
    atexit.unregister(gc.freeze)
    atexit.register(gc.freeze)
