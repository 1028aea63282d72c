"""Photos as files: by content, whole, and nothing else can be reached by a name."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from service.domain.mistakes import NotFoundError
from service.storage.photo_files import PhotoFiles


def test_the_same_bytes_are_one_file_by_the_name_of_their_hash(tmp_path: Path) -> None:
    files = PhotoFiles(tmp_path)
    name = files.put(b"photo", "JPEG").name
    assert files.put(b"photo", "JPEG").name == name == hashlib.sha256(b"photo").hexdigest() + ".jpg"
    assert files.read(name) == b"photo"
    assert [path.name for path in tmp_path.glob("*/*")] == [name]


@pytest.mark.parametrize("name", ["../secret.jpg", "/etc/passwd", "", "a" * 64, "A" * 64 + ".jpg", "a" * 64 + ".svg"])
def test_no_name_leads_out_of_the_folder(tmp_path: Path, name: str) -> None:
    (tmp_path / "secret.jpg").write_bytes(b"secret")
    files = PhotoFiles(tmp_path / "photos")
    for attempt in (files.read, files.path_of, lambda bad: files.remove([bad])):
        with pytest.raises(NotFoundError):
            attempt(name)


def test_a_file_that_was_cut_off_is_never_a_photo_and_is_swept(tmp_path: Path) -> None:
    files = PhotoFiles(tmp_path)
    name = files.put(b"photo", "PNG").name
    unfinished = tmp_path / name[:2] / ".part-x"
    unfinished.write_bytes(b"pho")
    assert list(files.names(older_than_s=3600.0)) == []
    assert unfinished.exists()
    assert list(files.names(older_than_s=-1.0)) == [name]
    assert not unfinished.exists()


def test_removing_twice_is_no_mistake(tmp_path: Path) -> None:
    files = PhotoFiles(tmp_path)
    name = files.put(b"photo", "HEIF").name
    files.remove([name, name])
    with pytest.raises(NotFoundError):
        files.path_of(name)
