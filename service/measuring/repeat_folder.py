"""The folder of a repeatability study: FOLDER/BOARD/PERSON/photos, or FOLDER/BOARD/photos when one person took all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from service.errors import UsageError

PHOTO_KINDS = {".jpg", ".jpeg", ".heic", ".heif", ".png", ".webp", ".tif", ".tiff"}
ONE_PERSON = "the photographer"
"""What the person is called who took all photos of a study without folders for persons."""

_LAYOUT = (
    "A study is a folder with one folder for each board, and in it one for each person with that person's photos:"
    " FOLDER/BOARD/PERSON/photo.jpg. When one person took all of them: FOLDER/BOARD/photo.jpg."
)


@dataclass(frozen=True)
class Shot:
    """One photo of the study: of which board, by whom."""

    board: str
    person: str
    path: Path


def find_shots(folder: Path) -> list[Shot]:
    """Every photo of the study, by board, person and name. Raises UsageError when the folder is not laid out so."""
    if not folder.is_dir():
        raise UsageError(f"there is no folder {folder}.")
    if _photos(folder):
        raise UsageError(f"there are photos in {folder} itself, not in the folder of a board. {_LAYOUT}")
    shots = [shot for board in _folders(folder) for shot in _shots_of(board)]
    if not shots:
        raise UsageError(f"there is no photo in {folder}. {_LAYOUT}")
    _check_persons(shots)
    return shots


def _shots_of(board: Path) -> Iterator[Shot]:
    loose, persons = _photos(board), [person for person in _folders(board) if any(_photos(person, deep=True))]
    if loose and persons:
        raise UsageError(f"{board} holds photos beside the folders of persons: whose are they? {_LAYOUT}")
    yield from (Shot(board.name, ONE_PERSON, path) for path in loose)
    for person in persons:
        deeper = set(_photos(person, deep=True)) - set(_photos(person))
        if deeper:
            raise UsageError(f"{min(deeper)} lies one folder too deep. {_LAYOUT}")
        yield from (Shot(board.name, person.name, path) for path in _photos(person))


def _check_persons(shots: list[Shot]) -> None:
    """Boards with folders for persons and boards without cannot be told who took what."""
    nameless = {shot.board for shot in shots if shot.person == ONE_PERSON}
    named = {shot.board for shot in shots} - nameless
    if nameless and named:
        raise UsageError(
            f"board {min(nameless)} has no folders for persons, board {min(named)} has: give every board the same."
            f" {_LAYOUT}"
        )


def _folders(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if path.is_dir() and not path.name.startswith("."))


def _photos(folder: Path, *, deep: bool = False) -> list[Path]:
    found = folder.rglob("*") if deep else folder.iterdir()
    return sorted(path for path in found if path.suffix.lower() in PHOTO_KINDS and not path.name.startswith("."))
