"""`tailproof camera`: photos of the card at different angles become a camera profile that later checks use."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

from calibration.camera.fit import CameraFit
from calibration.camera.print_seen import print_seen
from calibration.camera.profile import CameraProfile
from calibration.camera.setting import CameraSetting
from calibration.outcome import CannotMeasure, Refusal
from calibration.prints.check import LENGTHS
from calibration.prints.record import PrintRecord
from service.answers.camera_text import made_dict, made_text, profile_text
from service.errors import UsageError
from service.kept.camera_store import CameraStore, check_name
from service.kept.data_folder import data_folder
from service.kept.print_store import DEFAULT, NO_PRINT, PrintStore
from service.measuring.camera_making import CameraMade, make_camera
from service.measuring.reading import load_photo
from service.status import Status
from vision.photo.photo import Photo

FEWEST_PHOTOS, MOST_PHOTOS = 6, 20


def run_camera(options: argparse.Namespace) -> int:
    """Make, list or forget profiles, as the command line asks. Raises UsageError."""
    folder = data_folder(options.data, os.environ)
    store = CameraStore(folder)
    if options.list:
        print(_listed(store))
    elif options.forget is not None:
        _forget(store, options.forget)
    else:
        return _make(store, PrintStore(folder), options)
    return Status.MEASURED


def _make(store: CameraStore, prints: PrintStore, options: argparse.Namespace) -> int:
    _check_request(store, prints, options)
    made = make_camera(_photos(options.photos))
    profile = _profile(made, options.name)
    path = None if profile is None else store.put(profile)
    if path is not None and made.fit is not None and options.print is not None:
        _keep_print(prints, made.fit, options.print)
    print(json.dumps(made_dict(made, profile)) if options.json else _told(made, profile, path, options.print))
    return Status.REFUSED if profile is None else Status.MEASURED


def _check_request(store: CameraStore, prints: PrintStore, options: argparse.Namespace) -> None:
    """Everything that can be refused before the photos are looked at. Raises UsageError."""
    if not FEWEST_PHOTOS <= len(options.photos) <= MOST_PHOTOS:
        raise UsageError(
            f"give {FEWEST_PHOTOS} to {MOST_PHOTOS} photos of the card from different sides; got {len(options.photos)}."
        )
    if options.name is not None:
        check_name(options.name)
    if options.print == NO_PRINT:
        raise UsageError(f"--print: {NO_PRINT!r} means no print; choose another name.")
    store.list()
    prints.list()


def _photos(paths: list[Path]) -> Iterator[tuple[str, Photo | Refusal]]:
    """Every photo by name, or why it could not be read; one at a time, for they are large."""
    for number, path in enumerate(paths, start=1):
        print(f"[{number}/{len(paths)}] {path.name}", file=sys.stderr, flush=True)
        try:
            yield path.name, load_photo(path)
        except CannotMeasure as error:
            yield path.name, error.refusal


def _profile(made: CameraMade, name: str | None) -> CameraProfile | None:
    """What is worth keeping, under its name. Raises UsageError when there is none to keep it under."""
    if made.fit is None or made.setting is None or made.advice.verdict == "not usable":
        return None
    now = datetime.now(UTC).isoformat(timespec="seconds")
    kept_as = name or _name_of(made.setting)
    return CameraProfile.of_fit(kept_as, made.setting, made.fit, verdict=made.advice.verdict, made=now)


def _name_of(setting: CameraSetting) -> str:
    if not setting.told:
        raise UsageError("the photos do not say which phone took them; name the profile with --name.")
    focal = f" {setting.focal_mm:g} mm" if setting.focal_mm else ""
    zoom = f" x{setting.zoom:g}" if setting.zoom != 1.0 else ""
    return f"{setting.model}{focal}{zoom} {max(setting.size_px)} px"


def _told(made: CameraMade, profile: CameraProfile | None, path: Path | None, print_name: str | None) -> str:
    """What came of the photos, where the profile is kept, and how to use it and the print."""
    if profile is None:
        return made_text(made, profile)
    kept = [f"Kept as {profile.name!r} in {path}.", _use(profile)]
    kept += [] if print_name is None else [_print_use(print_name)]
    return made_text(made, profile) + "\n\n" + "\n".join(kept)


def _use(profile: CameraProfile) -> str:
    if profile.setting.told:
        return "`tailproof check` uses it for every photo with the same phone, lens, zoom and picture size."
    return f"Use it with `tailproof check --camera {profile.name!r}`: the photos do not say which phone took them."


def _keep_print(prints: PrintStore, fit: CameraFit, name: str) -> None:
    note = f"shape from {len(fit.views)} photos, size not measured"
    nothing: dict[str, tuple[float, ...]] = dict.fromkeys(LENGTHS, ())
    prints.put(PrintRecord(print_seen(fit, name), nothing, "camera", date.today(), note))


def _print_use(name: str) -> str:
    use = "unless told otherwise" if name == DEFAULT else f"with --print {name}"
    return f"The card's shape is kept as the print {name!r}; `tailproof check` uses it {use}."


def _listed(store: CameraStore) -> str:
    profiles = store.list()
    return "\n".join(map(profile_text, profiles)) if profiles else f"No camera profile is kept in {store.folder}."


def _forget(store: CameraStore, name: str) -> None:
    if not store.forget(name):
        raise UsageError(f"--forget: no camera profile is kept as {name!r}.")
    print(f"The camera profile {name!r} is forgotten.")
