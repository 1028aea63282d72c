"""`tailproof camera` and `--camera`: profiles made from rendered photos, kept, listed, chosen, refused, forgotten."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from calibration.camera.profile import CameraProfile
from calibration.camera.record import VERSION, profile_record
from calibration.camera.setting import CameraSetting
from calibration.outcome import CannotMeasure
from calibration.prints.known import Known
from service.cli import main
from service.errors import UsageError
from service.kept.camera_store import CameraStore
from service.kept.print_store import PrintStore
from service.measuring.camera_choice import Cameras, cameras_named
from service.measuring.checking import CheckSettings, check_photo
from service.measuring.reading import load_photo
from tests.scenes import Scene, render
from tests.vision.photos import encoded, exif_bytes, measurement
from vision.end.report import Measurement
from vision.photo.photo import Lens, Photo

Capture = pytest.CaptureFixture[str]

SIZE_PX, FOCAL_PX = (1600, 1200), 2404.0
"""A 52 mm equivalent by the film's diagonal: 52 / 43.27 of 2000 px."""
MAKE, MODEL, FOCAL_MM = "Maker", "Phone 9", 6.8
VIEWS = (
    ((0.0, 0.0), 0.0, (90.0, 45.0)),
    ((22.0, 0.0), 0.0, (30.0, 40.0)),
    ((-22.0, 4.0), 90.0, (60.0, 20.0)),
    ((3.0, 24.0), 0.0, (90.0, 0.0)),
    ((0.0, -24.0), 8.0, (35.0, 0.0)),
    ((15.0, 15.0), 45.0, (60.0, 20.0)),
    ((-16.0, -15.0), -30.0, (50.0, 40.0)),
)
"""Tilt, roll and the card's point in the middle of the picture."""


def jpeg(rgb: np.ndarray, *, focal_mm: float = FOCAL_MM) -> bytes:
    return encoded(rgb, "JPEG", exif=exif_bytes({0x010F: MAKE, 0x0110: MODEL}, {0x920A: focal_mm, 0xA405: 52}))


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Seven photos of the card, from different sides."""
    folder = tmp_path_factory.mktemp("card")
    for number, (tilt, roll, aim) in enumerate(VIEWS):
        scene = Scene(
            board=False,
            size_px=SIZE_PX,
            px_per_mm=8.5,
            focal_px=FOCAL_PX,
            k1=0.02,
            seed=number,
            blur_px=0.8,
            tilt_deg=tilt,
            roll_deg=roll,
            aim_mm=aim,
            tells_focal=False,
        )
        (folder / f"{number}.jpg").write_bytes(jpeg(render(scene).photo.rgb))
    return sorted(folder.iterdir())


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty data folder that the program uses."""
    monkeypatch.setenv("TAILPROOF_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


def run(*arguments: str | Path) -> int:
    return main([str(argument) for argument in arguments])


def kept(name: str, setting: CameraSetting, made: str = "2025-11-25") -> CameraProfile:
    covariance = np.diag([0.002, 0.001, 0.005, 4.0, 4.0]) ** 2
    return CameraProfile(name, setting, np.array([8.0, 0.0, 0.0, 0.0, 0.0]), covariance, made=made)


PHOTO = Photo(np.zeros((30, 40, 3), np.uint8), Lens(MAKE, MODEL, focal_mm=FOCAL_MM, film_mm=52.0), "x.jpg")


def test_a_profile_is_made_listed_used_and_forgotten(photos: list[Path], data: Path, capsys: Capture) -> None:
    assert run("camera", *photos, "--name", "mine", "--print", "card") == 0
    out = capsys.readouterr().out
    assert out.startswith(("Good: 7 of 7 photos", "Usable: 7 of 7 photos"))
    assert "What it brings" in out
    profile = CameraStore(data).get("mine")
    assert profile is not None
    # The scene's lens, within four standard uncertainties; focus and stabiliser do not move in a renderer.
    error = np.abs(profile.lens - [np.log(FOCAL_PX), 0.02, 0.0, 0.0, 0.0])
    assert np.all(error < 4.0 * np.sqrt(np.diag(profile.covariance)))
    record = PrintStore(data).get("card")
    assert record is not None
    assert abs(record.shape.y_scale / record.shape.x_scale - 1.0) < 2e-3  # a painted card is true
    assert cameras_named(None, CameraStore(data)).of(load_photo(photos[0])) is not None
    assert run("camera", "--list") == 0
    assert "Maker Phone 9, 6.8 mm lens, 1600 x 1200 pixels" in capsys.readouterr().out
    assert run("camera", "--forget", "mine") == 0
    assert CameraStore(data).list() == ()


def test_json_holds_what_the_words_say(photos: list[Path], data: Path, capsys: Capture) -> None:
    assert run("camera", *photos[:6], photos[0], "--name", "mine", "--json") == 0
    made = json.loads(capsys.readouterr().out)
    assert (made["schema"], made["ok"], made["photos"], made["used"]) == (1, True, 7, 6)
    assert [each["photo"] for each in made["dropped"]] == [photos[0].name]
    focal = made["fit"]["focal_px"]
    assert abs(focal["value"] - FOCAL_PX) < 2.0 * focal["u95"]  # four standard uncertainties, as above
    assert made["fit"]["card_aspect"]["value"] == pytest.approx(1.0, abs=2e-3)  # a painted card is true
    kept_as = CameraStore(data).get("mine")
    assert kept_as is not None
    assert made["profile"] == profile_record(kept_as)


def test_json_of_photos_that_make_no_profile_says_why(photos: list[Path], data: Path, capsys: Capture) -> None:
    assert run("camera", *[photos[0]] * 6, "--json") == 3
    made = json.loads(capsys.readouterr().out)
    assert (made["ok"], made["verdict"], made["fit"], made["profile"]) == (False, "not usable", None, None)
    assert len(made["dropped"]) == 5
    assert made["missing"]


def test_photos_that_do_not_serve_are_named_with_the_reason(
    photos: list[Path], data: Path, tmp_path: Path, capsys: Capture
) -> None:
    odd = [tmp_path / name for name in ("text.jpg", "blank.jpg", "wide.jpg", "again.jpg")]
    odd[0].write_text("no photo")
    odd[1].write_bytes(jpeg(np.full((SIZE_PX[1], SIZE_PX[0], 3), 128, np.uint8)))
    odd[2].write_bytes(jpeg(load_photo(photos[2]).rgb, focal_mm=2.2))
    odd[3].write_bytes(photos[3].read_bytes())
    assert run("camera", *photos, *odd) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "7 of 11 photos" in said
    assert "text.jpg: The file is not a photo" in said
    assert "blank.jpg: No card was found" in said
    assert (
        "wide.jpg: The photo was taken with the 2.2 mm lens, the largest group of them was taken with the 6.8 mm lens."
        in said
    )
    assert "again.jpg: the same view again as 3.jpg." in said
    assert CameraStore(data).get("Phone 9 6.8 mm 1600 px") is not None


def test_one_view_over_and_over_is_not_usable_and_not_kept(photos: list[Path], data: Path, capsys: Capture) -> None:
    assert run("camera", *[photos[0]] * 6) == 3
    out = capsys.readouterr().out
    assert out.startswith("Not usable: 0 of 6 photos")
    assert "Too few photos could be used" in out
    assert CameraStore(data).list() == ()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["camera", "a.jpg"], "give 6 to 20 photos of the card from different sides; got 1"),
        (["camera", *["a.jpg"] * 6, "--name", "none"], "'none' means no profile"),
        (["camera", *["a.jpg"] * 6, "--name", "x" * 61], "--name must have 1 to 60 letters"),
        (["camera", *["a.jpg"] * 6, "--print", "none"], "'none' means no print"),
        (["camera", "--forget", "lost"], "no camera profile is kept as 'lost'"),
        (["check", "a.jpg", "--camera", "lost"], "no camera profile is kept as 'lost'. Kept: none."),
    ],
)
def test_a_request_that_cannot_be_met_is_told(arguments: list[str], words: str, data: Path, capsys: Capture) -> None:
    assert run(*arguments) == 2
    assert words in capsys.readouterr().err
    assert not data.exists()


def test_an_empty_folder_lists_nothing(data: Path, capsys: Capture) -> None:
    assert run("camera", "--list") == 0
    assert capsys.readouterr().out.startswith("No camera profile is kept in")


def test_the_newest_profile_that_fits_is_chosen() -> None:
    old, new = kept("old", PHOTO.setting), kept("new", PHOTO.setting, "2026-01-01")
    other = kept("other", replace(PHOTO.setting, model="Phone 8"), "2026-02-02")
    chosen = Cameras(kept=(old, new, other)).of(PHOTO)
    assert chosen is not None
    assert chosen.name == "new"


def test_a_photo_that_tells_nothing_gets_a_profile_only_when_asked_for() -> None:
    silent = Photo(PHOTO.rgb)
    profile = kept("mine", PHOTO.setting)
    assert Cameras(kept=(profile,)).of(silent) is None
    assert Cameras(wanted=profile).of(silent) is profile


def test_a_profile_asked_for_that_does_not_fit_refuses_the_photo() -> None:
    zoomed = Photo(PHOTO.rgb, replace(PHOTO.lens, zoom=2.0))
    with pytest.raises(CannotMeasure, match=r"does not hold for this photo\. The photo was zoomed 2 times") as caught:
        Cameras(wanted=kept("mine", PHOTO.setting)).of(zoomed)
    assert caught.value.refusal.reason == "other_camera"


def test_the_check_measures_with_the_profile_that_fits(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Known] = []

    def measure(photo: Photo, *, stage: object, card_side: str, known: Known, told: object) -> Measurement:
        seen.append(known)
        return measurement()

    monkeypatch.setattr("service.measuring.checking.measure_end", measure)
    profile = kept("mine", PHOTO.setting)
    check_photo(PHOTO, CheckSettings(cameras=Cameras(kept=(profile,))))
    check_photo(PHOTO, CheckSettings())
    assert [known.lens for known in seen] == [profile, None]


def test_none_and_a_name_are_heard(tmp_path: Path) -> None:
    store = CameraStore(tmp_path)
    store.put(kept("mine", PHOTO.setting))
    assert cameras_named("none", store) == Cameras()
    assert cameras_named(None, store).kept[0].name == "mine"
    wanted = cameras_named("mine", store).wanted
    assert wanted is not None


def test_a_name_with_a_slash_stays_in_the_folder(tmp_path: Path) -> None:
    store = CameraStore(tmp_path)
    path = store.put(kept("../mine/2x", PHOTO.setting))
    assert path.parent == tmp_path / "cameras"
    assert [profile.name for profile in store.list()] == ["../mine/2x"]


def test_a_damaged_or_newer_file_is_told_and_never_written_over(tmp_path: Path) -> None:
    store = CameraStore(tmp_path)
    path = store.put(kept("mine", PHOTO.setting))
    newer = json.dumps(json.loads(path.read_text()) | {"version": VERSION + 1})
    for text, words in (("{", "is damaged"), (newer, "a newer tailproof wrote"), ("[]", "it is not a camera profile")):
        path.write_text(text)
        with pytest.raises(UsageError, match=words):
            store.put(kept("mine", PHOTO.setting))
        assert path.read_text() == text
