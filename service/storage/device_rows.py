"""Devices and pairing codes as rows of one database session."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from service.domain.device import Device, Pairing
from service.domain.mistakes import NotFoundError
from service.storage.tables import DeviceRow, PairingRow


class DeviceRows:
    """`ports.Devices` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, device: Device) -> None:
        self._session.add(DeviceRow(**_values(device)))
        self._session.flush()

    def put(self, device: Device) -> None:
        self._session.execute(update(DeviceRow).where(DeviceRow.id == device.id).values(**_values(device)))

    def with_secret(self, secret_sha256: str) -> Device:
        row = self._session.scalar(select(DeviceRow).where(DeviceRow.secret_sha256 == secret_sha256))
        if row is None:
            raise NotFoundError
        return _device(row)

    def of_person(self, person_id: str) -> Sequence[Device]:
        asked = select(DeviceRow).where(DeviceRow.person_id == person_id)
        rows = self._session.scalars(asked.order_by(DeviceRow.paired_at.desc(), DeviceRow.id))
        return [_device(row) for row in rows]

    def remove(self, device_id: str) -> None:
        self._session.execute(delete(DeviceRow).where(DeviceRow.id == device_id))

    def remove_all(self, person_id: str) -> None:
        self._session.execute(delete(DeviceRow).where(DeviceRow.person_id == person_id))
        self._session.execute(delete(PairingRow).where(PairingRow.person_id == person_id))

    def add_pairing(self, pairing: Pairing) -> None:
        row = PairingRow(code_sha256=pairing.code_sha256, person_id=pairing.person, expires=pairing.expires)
        self._session.add(row)
        self._session.flush()

    def take_pairing(self, code_sha256: str) -> Pairing | None:
        """Removed in the same statement: of two phones with one code, one gets it."""
        taken = delete(PairingRow).where(PairingRow.code_sha256 == code_sha256)
        row = self._session.execute(taken.returning(PairingRow.person_id, PairingRow.expires)).first()
        return None if row is None else Pairing(code_sha256, row.person_id, row.expires)

    def drop_stale_pairings(self, now: datetime) -> None:
        self._session.execute(delete(PairingRow).where(PairingRow.expires < now))

    def drop_stale_sessions(self, oldest: datetime) -> None:
        self._session.execute(delete(DeviceRow).where(DeviceRow.kind == "browser", DeviceRow.paired_at < oldest))


def _device(row: DeviceRow) -> Device:
    return Device(row.id, row.person_id, row.name, row.kind, row.secret_sha256, row.paired_at, row.seen_at)  # type: ignore[arg-type]


def _values(device: Device) -> dict[str, object]:
    return {
        "id": device.id,
        "person_id": device.person,
        "name": device.name,
        "kind": device.kind,
        "secret_sha256": device.secret_sha256,
        "paired_at": device.paired_at,
        "seen_at": device.seen_at,
    }
