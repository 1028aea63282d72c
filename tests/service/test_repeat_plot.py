"""The picture of a repeatability study: read back from its file, not judged by eye alone."""

from __future__ import annotations

import io
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from service.answers import repeat_plot
from service.answers.repeat_plot import PERSON_LOOKS, check_plot, draw_study, look_of_person
from service.errors import UsageError
from service.measuring.repeat_result import RepeatResult, study_values
from service.measuring.repeat_values import Value
from tests.vision.shades import lightness
from vision.joint.seating import Limits

pytest.importorskip("matplotlib", reason="the plot is an optional extra")


@pytest.fixture(scope="module")
def result() -> RepeatResult:
    rng = np.random.default_rng(1)
    values = [
        Value("ash", person, f"{person}{shot}", "taper", f"tails {part} and {part + 1}", "mm", float(value), 0.05, 0.04)
        for person in ("Ada", "Bert", "Cleo")
        for shot in range(3)
        for part, value in enumerate(np.array([-0.1, 0.2, 0.05, 0.3]) + rng.normal(0.0, 0.01, 4), start=1)
    ]
    return study_values(values, Limits(), "hardwood")


def test_a_png_is_a_phones_page_and_taller_than_wide(result: RepeatResult) -> None:
    image = Image.open(io.BytesIO(draw_study(result, Path("study.png"))))
    assert image.width == 1080
    assert 0.6 * image.width < image.height < 2 * image.width


def test_every_photographers_colour_can_be_seen_in_the_picture(result: RepeatResult) -> None:
    pixels = np.asarray(Image.open(io.BytesIO(draw_study(result, Path("study.png")))).convert("RGB"), int)
    for look in PERSON_LOOKS[:3]:
        near = np.abs(pixels - look.colour).max(axis=2) < 12
        # 24 markers of some 90 pixels, less their outlines and what others cover.
        assert near.sum() > 24 * 20
    absent = np.abs(pixels - PERSON_LOOKS[5].colour).max(axis=2) < 12
    assert absent.sum() < 200  # rust: no more than chance among the mixed edges


def test_an_svg_names_people_parts_and_quantity(result: RepeatResult) -> None:
    svg = draw_study(result, Path("study.svg")).decode("utf-8")
    for words in ("Ada", "Cleo", "ash: tails 2 and 3", "Taper of a socket", "claimed"):
        assert f"<!-- {words}" in svg or words in svg


def test_a_pdf_is_one(result: RepeatResult) -> None:
    assert draw_study(result, Path("study.PDF")).startswith(b"%PDF-")


def test_the_picture_may_be_drawn_anew_but_a_photo_is_kept(result: RepeatResult, tmp_path: Path) -> None:
    ours, photo = tmp_path / "study.png", tmp_path / "photo.png"
    ours.write_bytes(draw_study(result, ours))
    Image.new("RGB", (40, 30)).save(photo)
    check_plot(ours)
    with pytest.raises(UsageError, match="is a photo"):
        check_plot(photo)


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"\.png, \.svg, \.pdf"):
        check_plot(tmp_path / "study.gif")


def test_without_matplotlib_it_says_how_to_get_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(repeat_plot, "find_spec", lambda name: None)
    with pytest.raises(UsageError, match="pip install matplotlib"):
        check_plot(tmp_path / "study.png")


def test_photographers_stay_apart_on_a_grey_print() -> None:
    shades = [lightness(look.colour) for look in PERSON_LOOKS]
    for (i, one), (j, other) in combinations(enumerate(shades), 2):
        # 7 of L* are three times what the eye tells apart side by side; the marker tells the rest.
        assert abs(one - other) > 7.0, (i, j)


def test_every_photographer_has_a_marker_of_their_own_until_they_are_too_many() -> None:
    assert len({look.marker for look in PERSON_LOOKS}) == len(PERSON_LOOKS)
    assert look_of_person(len(PERSON_LOOKS) + 1) == PERSON_LOOKS[1]
