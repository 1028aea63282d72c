"""Files that no row holds any more are removed, and never one that an upload is just about to hold."""

from __future__ import annotations

from collections.abc import Iterable

from service.use_cases.ports import Ports


def forget_photos(names: Iterable[str], ports: Ports) -> int:
    """Remove those of the stored files that no row of anybody holds; how many there were."""
    wanted = set(names)
    with ports.unit_of_work() as uow:
        uow.lock_photos()
        unused = wanted - uow.checks.still_used(wanted)
        ports.photos.remove(unused)
    return len(unused)


def sweep_photos(older_than_s: float, ports: Ports) -> int:
    """Remove what cut-off uploads and killed workers left behind, if older than that; how many files there were."""
    return forget_photos(ports.photos.names(older_than_s), ports)
