"""Which camera profile a photo gets: the one asked for, if it fits, or the one its own data ask for."""

from __future__ import annotations

from typing import NamedTuple

from calibration.camera.profile import CameraProfile
from calibration.outcome import refuse
from service.errors import UsageError
from service.kept.camera_store import NO_CAMERA, CameraStore
from vision.photo.photo import Photo


class Cameras(NamedTuple):
    """The profiles to choose from: `wanted` for every photo, else the one of `kept` that fits each photo."""

    kept: tuple[CameraProfile, ...] = ()
    wanted: CameraProfile | None = None

    def of(self, photo: Photo) -> CameraProfile | None:
        """The profile for a photo, or None. Raises CannotMeasure `other_camera` when the wanted one does not fit it."""
        if self.wanted is not None:
            difference = self.wanted.setting.difference(photo.setting)
            if difference is not None:
                raise refuse("other_camera", difference)
            return self.wanted
        return self._fitting(photo)

    def _fitting(self, photo: Photo) -> CameraProfile | None:
        """The newest profile that fits; none for a photo that does not tell its camera."""
        setting = photo.setting
        fitting = [each for each in self.kept if setting.told and each.setting.difference(setting) is None]
        return max(fitting, key=lambda profile: profile.made, default=None)


NO_CAMERAS = Cameras()
"""No profile for any photo."""


def cameras_named(name: str | None, store: CameraStore) -> Cameras:
    """What `--camera` asks for: None lets each photo choose. Raises UsageError when there is no such profile."""
    if name == NO_CAMERA:
        return NO_CAMERAS
    if name is None:
        return Cameras(kept=store.list())
    wanted = store.get(name)
    if wanted is None:
        names = ", ".join(profile.name for profile in store.list()) or "none"
        raise UsageError(f"no camera profile is kept as {name!r}. Kept: {names}.")
    return Cameras(wanted=wanted)
