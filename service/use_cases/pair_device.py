"""Phones are paired by a one-time code, programs let in by a token; both are listed and dropped."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from service.domain.device import PAIRING_LASTS, SEEN_EVERY, SESSION_LASTS, Device, Kind, Pairing, secret_hash
from service.domain.mistakes import NoRoomError, NotFoundError, check_text
from service.domain.person import Person
from service.use_cases.ports import Ports, UnitOfWork

LONGEST_NAME = 60


def offer_pairing(person: str, ports: Ports) -> str:
    """A code that pairs one phone with this person; it stands for ten minutes."""
    code = ports.new_secret()
    with ports.unit_of_work() as uow:
        uow.devices.drop_stale_pairings(ports.now())
        uow.devices.add_pairing(Pairing(secret_hash(code), person, ports.now() + PAIRING_LASTS))
        uow.commit()
    return code


def accept_pairing(code: str, name: str, ports: Ports) -> str:
    """Use a code up; the secret that the phone keeps. Raises NotFoundError for a code that is used, old or wrong."""
    with ports.unit_of_work() as uow:
        pairing = uow.devices.take_pairing(secret_hash(code))
        if pairing is None or pairing.expires < ports.now():
            raise NotFoundError
        secret = _let_in(uow, pairing.person, name, "phone", ports)
        uow.commit()
    return secret


def issue_token(person: str, name: str, ports: Ports) -> str:
    """A token for a program. Raises MistakeError for a name that cannot be kept."""
    with ports.unit_of_work() as uow:
        secret = _let_in(uow, person, name.strip(), "program", ports)
        uow.commit()
    return secret


def person_with(secret: str, ports: Ports) -> tuple[Person, Kind]:
    """The person whose device holds this secret, and its kind. Raises NotFoundError for a secret that nobody has.

    Who signed in with a password has to do so again after a month.
    """
    now = ports.now()
    with ports.reading() as uow:
        device = uow.devices.with_secret(secret_hash(secret))
        person = uow.people.get(device.person)
    if device.kind == "browser" and now - device.paired_at > SESSION_LASTS:
        raise NotFoundError
    if now - device.seen_at > SEEN_EVERY:
        with suppress(NoRoomError):  # boards can be looked at, and deleted, on a full disk as well
            _note_seen(device, ports)
    return person, device.kind


def list_devices(person: str, ports: Ports) -> Sequence[Device]:
    """A person's devices, the last paired first."""
    with ports.reading() as uow:
        return uow.devices.of_person(person)


def drop_device(person: str, device_id: str, ports: Ports) -> None:
    """From now on this device is a stranger. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        if device_id not in {device.id for device in uow.devices.of_person(person)}:
            raise NotFoundError
        uow.devices.remove(device_id)
        uow.commit()


def _let_in(uow: UnitOfWork, person: str, name: str, kind: Kind, ports: Ports) -> str:
    check_text("name", name, LONGEST_NAME)
    secret, now = ports.new_secret(), ports.now()
    uow.devices.add(Device(ports.new_id(), person, name or kind, kind, secret_hash(secret), now, now))
    return secret


def _note_seen(device: Device, ports: Ports) -> None:
    with ports.unit_of_work() as uow:
        uow.devices.put(replace(device, seen_at=ports.now()))
        uow.commit()
