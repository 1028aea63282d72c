"""A face's answer: words, JSON and drawing, of faces made up and measured."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from calibration.outcome import refuse
from calibration.quantity import Quantity, Source
from tests.face_scenes import FaceScene, face_photo
from tests.vision.answer.test_result import validate
from tests.vision.face.test_measure_face import measured
from vision.answer import sketch
from vision.answer.palette import LOOKS
from vision.answer.view import PICTURE_WIDTH_PX
from vision.face.overlay import draw_face, look_of_stop
from vision.face.report import FaceKerf, FaceMeasurement, StopVerdict
from vision.face.result import FaceReport, face_result_dict
from vision.face.words import (
    baseline_sentence,
    face_sentence,
    kerf_sentences,
    ratio_text,
    slope_spread_sentence,
    stop_words,
)

VERDICTS: tuple[StopVerdict, ...] = ("at the baseline", "past the baseline", "stops short", "too close to call")


def face() -> FaceMeasurement:
    """The measured plain face: cuts at, past, short of the baseline."""
    return measured(FaceScene())


def with_verdicts(*kerfs: tuple[float, StopVerdict]) -> FaceMeasurement:
    """The face with other stops."""
    made = [
        replace(kerf, past_baseline=Quantity(past, {Source("test"): 0.05}), verdict=verdict)
        for kerf, (past, verdict) in zip(face().kerfs, kerfs, strict=False)
    ]
    return replace(face(), kerfs=tuple(made))


def test_the_verdict_names_the_worst_cut() -> None:
    assert face_sentence(face()).startswith("Past the baseline: 2 cuts, worst the left cut of tail 3, by 1.")
    one = with_verdicts((0.5, "past the baseline"), (0.0, "at the baseline"))
    assert face_sentence(one) == "Past the baseline: the left cut of tail 1, by 0.50 mm."
    assert face_sentence(one, "inch").endswith("by 0.020 in.")


def test_without_a_cut_past_the_baseline_the_open_ones_are_counted() -> None:
    open_one = with_verdicts((0.3, "too close to call"), (0.0, "at the baseline"))
    assert face_sentence(open_one) == "No cut is surely past the baseline; one is too close to call."
    assert face_sentence(with_verdicts((0.0, "at the baseline"))) == "No cut is past the baseline."


def test_every_cut_off_the_baseline_has_its_sentence() -> None:
    made = with_verdicts(
        (0.6, "past the baseline"), (-0.7, "stops short"), (0.27, "too close to call"), (0.01, "too close to call")
    )
    past, short, close, unseen = kerf_sentences(made)
    assert past == "The left cut of tail 1 runs 0.60 mm past the baseline: that shows in the finished joint."
    assert short.startswith("The right cut of tail 1 stops 0.70 mm short of the baseline")
    assert (
        close
        == "The left cut of tail 2 stops about 0.27 mm past the baseline: too close to the limit of 0.30 mm to call."
    )
    assert "does not show well enough" in unseen
    assert kerf_sentences(with_verdicts((0.0, "at the baseline"))) == []


@pytest.mark.parametrize(
    ("slope", "text"), [(1 / 6, "1:6.0"), (0.125, "1:8.0"), (-0.1, "-1:10.0"), (0.002, "square"), (-0.002, "square")]
)
def test_a_slope_reads_as_one_in_so_many(slope: float, text: str) -> None:
    assert ratio_text(slope) == text


def test_the_baseline_says_how_square_and_straight_it_is() -> None:
    baseline = face().baseline
    assert "off parallel to the end's edge by 0.1" in baseline_sentence(baseline)
    parallel = replace(baseline, out_of_square=Quantity(0.01, {Source("test"): 0.02}, "deg"))
    assert "parallel to the end's edge as far as this photo shows" in baseline_sentence(parallel)
    assert "straight within" in baseline_sentence(parallel)


def test_the_slopes_are_summed_up() -> None:
    assert slope_spread_sentence(face().kerfs).startswith("Slopes run from 7.")


@pytest.mark.parametrize(
    ("past", "verdict", "words"),
    [
        (0.5, "past the baseline", "past 0.50 mm"),
        (-0.5, "stops short", "short 0.50 mm"),
        (0.1, "at the baseline", "at line"),
        (-0.3, "too close to call", "? -0.30 mm"),
    ],
)
def test_the_picture_says_it_in_a_few_words(past: float, verdict: StopVerdict, words: str) -> None:
    assert stop_words(with_verdicts((past, verdict)).kerfs[0]) == words


def test_the_json_keeps_the_schema_and_tells_the_numbers() -> None:
    value = FaceReport("photo.jpg", face()).to_dict()
    validate(value)
    validate({"file": "photo.jpg"} | value)
    assert (value["schema"], value["ok"], value["view"]) == (1, True, "show")
    kerf: FaceKerf = face().kerfs[2]
    assert value["kerfs"][2]["past_baseline_mm"] == pytest.approx(kerf.past_baseline.value, abs=5e-5)
    assert value["kerfs"][2]["verdict"] == "stops short"
    assert json.loads(json.dumps(value)) == value


def test_a_refusal_is_told_as_for_an_end() -> None:
    assert face_result_dict(refuse("no_face").refusal)["refusal"]["reason"] == "no_face"


def test_the_drawing_shows_each_verdicts_colour_and_leaves_the_photo_alone() -> None:
    photo = face_photo(FaceScene())
    before = photo.rgb.copy()
    picture = draw_face(photo, face())
    assert picture.shape[1:] == (PICTURE_WIDTH_PX, 3)
    assert (photo.rgb == before).all()
    seen = {kerf.verdict for kerf in face().kerfs}
    for verdict in VERDICTS:
        colour = np.array(look_of_stop(verdict).colour, np.uint8)
        if verdict != "too close to call":  # its grey may be a colour of the card
            assert bool((picture == colour).all(axis=2).sum() > 50) == (verdict in seen)


def test_the_drawings_words_name_every_cut_from_the_pictures_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """On the show face, the card at the top, the first tail is at the right."""
    caught: list[sketch.Text] = []
    monkeypatch.setattr(sketch, "write", lambda canvas, texts: caught.extend(texts))
    draw_face(face_photo(FaceScene()), face(), units="inch")
    names = {text.words: text.at[0] for text in caught if text.words.startswith("tail ")}
    assert sorted(names, key=names.__getitem__) == [
        f"tail {tail} {side}" for tail in (3, 2, 1) for side in ("right", "left")
    ]
    assert any(text.words.endswith(" in") for text in caught if text.words.startswith("past"))


def test_a_stop_looks_like_one_of_the_known_verdicts() -> None:
    for verdict in VERDICTS:
        look = look_of_stop(verdict)
        assert look.word == verdict
        assert look.colour in {each.colour for each in LOOKS.values()}
    assert len({look_of_stop(verdict).shape for verdict in VERDICTS}) == len(VERDICTS)
