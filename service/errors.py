"""What goes wrong on the command line, and how a person is told."""

from __future__ import annotations

import errno
import logging
import sys

from service.status import Status

_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
"""What a full or broken disk says."""
_LIBRARY_MISSING = "cannot open shared object file"
_WHICH_LIBRARY = (
    "{library} is missing, which OpenCV needs of the system. On Debian or Ubuntu:"
    " `apt-get install libgl1 libglib2.0-0`. Elsewhere install the package that holds it."
)
"""What the dynamic linker says, after the name of the library; and what helps."""


class UsageError(Exception):
    """A request that cannot be carried out as it was made; its text says why and what to do instead."""


def complain(message: str, status: int) -> int:
    """Say `message` on stderr and hand back the exit status."""
    print(f"tailproof: {message}", file=sys.stderr)
    return int(status)


def report_fault(error: Exception, about: str = "") -> int:
    """Tell of a fault of the program's own, `about` a photo if given; --debug logs where it happened.

    An output that cannot be written is no fault of the program, nor is a library that the system lacks.
    """
    if isinstance(error, OSError) and error.errno in _NO_ROOM:
        return complain(f"the output could not be written ({error.strerror}). Make room for it.", Status.USAGE)
    if isinstance(error, ImportError) and _LIBRARY_MISSING in str(error):
        return complain(_WHICH_LIBRARY.format(library=str(error).partition(":")[0]), Status.USAGE)
    logging.getLogger("tailproof").debug("fault", exc_info=error)
    what = f"{type(error).__name__}: {error}".rstrip(": ")
    where = f"{about}: " if about else ""
    return complain(
        f"{where}a fault in the program ({what}), not in your photo. Please report this line, the command and the"
        " photo; --debug shows where it happened.",
        Status.FAULT,
    )
