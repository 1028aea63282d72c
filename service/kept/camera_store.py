"""Camera profiles on disk: one JSON file each in the data folder, written whole or not at all."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote

from calibration.camera.profile import CameraProfile
from calibration.camera.record import profile_from_record, profile_record
from service.errors import UsageError
from service.kept.kept_file import write_kept

FOLDER_NAME = "cameras"
NO_CAMERA = "none"
"""Name with a meaning of its own: no profile."""
LONGEST_NAME = 60


class CameraStore(NamedTuple):
    """The profiles kept below `folder`, which is made when the first is put. Methods raise UsageError, saying why.

    A file that is damaged or newer than this program is never written over.
    """

    folder: Path

    def path_of(self, name: str) -> Path:
        """The file of the profile of that name, whether there is one or not."""
        return self.folder / FOLDER_NAME / f"{quote(name, safe=' ')}.json"

    def list(self) -> tuple[CameraProfile, ...]:
        """All kept profiles, by name."""
        profiles, faults = self.usable()
        if faults:
            raise faults[0]
        return profiles

    def usable(self) -> tuple[tuple[CameraProfile, ...], tuple[UsageError, ...]]:
        """The kept profiles that can be used, by name, and for every other file why it cannot; nothing is raised."""
        profiles, faults = [], []
        for path in sorted((self.folder / FOLDER_NAME).glob("*.json")):
            try:
                profiles.append(_read(path))
            except UsageError as error:
                faults.append(error)
        return tuple(sorted(profiles, key=lambda profile: profile.name)), tuple(faults)

    def get(self, name: str) -> CameraProfile | None:
        """The profile kept under `name`, or None."""
        path = self.path_of(name)
        return _read(path) if path.is_file() else None

    def put(self, profile: CameraProfile) -> Path:
        """Keep a profile under its name, in place of an older one of that name; the file it is in."""
        check_name(profile.name)
        self.get(profile.name)
        path = self.path_of(profile.name)
        write_kept(path, profile_record(profile))
        return path

    def forget(self, name: str) -> bool:
        """Remove a profile; whether there was one."""
        try:
            self.path_of(name).unlink()
        except FileNotFoundError:
            return False
        except OSError as error:
            raise UsageError(f"{self.path_of(name)} could not be removed ({error.strerror or error}).") from error
        return True


def check_name(name: str) -> None:
    """Raise UsageError unless a profile may be kept under `name`."""
    if name == NO_CAMERA:
        raise UsageError(f"--name: {NO_CAMERA!r} means no profile; choose another name.")
    if not name.strip() or len(name) > LONGEST_NAME or re.search(r"[\x00-\x1f]", name):
        raise UsageError(f"--name must have 1 to {LONGEST_NAME} letters.")


def _read(path: Path) -> CameraProfile:
    try:
        return profile_from_record(json.loads(path.read_text(encoding="utf-8")))
    except OSError as error:
        raise UsageError(f"{path} could not be read ({error.strerror or error}).") from error
    except json.JSONDecodeError as error:
        raise UsageError(f"{path} is damaged. Move it away and make the profile again.") from error
    except ValueError as error:
        raise UsageError(f"{path} cannot be used: {error}. Move it away and make the profile again.") from error
