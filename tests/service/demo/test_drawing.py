"""Drawn ends are what they claim to be: measured as drawn, the same from the same seed, and marked as drawn."""

from __future__ import annotations

import numpy as np
import pytest

from service.demo.drawing import HEIGHT_PX, WIDTH_PX, WOODS, SawnEnd, draw_end, draw_file
from service.demo.sawing import cut_places_mm
from vision.drill.measure import measure_drill
from vision.end.check import measure_end
from vision.joint.species import find_species
from vision.photo.decode import decode

PLACES = (7.0, 22.0, 36.0, 51.0)
LEANS = (0.5, -0.3, 0.0, 0.8)


def end(species: str = "cherry") -> SawnEnd:
    return SawnEnd(species, 58.0, 17.0, PLACES, LEANS)


@pytest.mark.parametrize("species", ["walnut", "pine"])
def test_a_drawn_end_is_measured_as_it_was_drawn(species: str) -> None:
    """The darkest wood and the lightest. Four walls in two pictures: all inside U is what 95 % each lets expect."""
    found = measure_end(decode(draw_file(end(species), seed=3)))
    assert found.stage == "sawn"
    for wall, drawn_deg in zip(found.walls, LEANS, strict=True):
        assert abs(wall.lean.value - drawn_deg) <= wall.lean.u95
    assert abs(found.width.value - 58.0) <= found.width.u95


def test_drawn_practice_cuts_are_measured_as_they_were_drawn() -> None:
    """Six cuts in one picture: all inside U is what 95 % each lets expect with a chance of three in four."""
    leans = (0.9, 0.4, 0.7, 0.5, 1.0, 0.6)
    drawn = SawnEnd("pine", 72.0, 16.0, cut_places_mm(72.0, 6), leans)
    found = measure_drill(decode(draw_file(drawn, seed=5)))
    assert [cut.number for cut in found.cuts] == [1, 2, 3, 4, 5, 6]
    for cut, drawn_deg in zip(found.cuts, leans, strict=True):
        assert abs(cut.lean.value - drawn_deg) <= cut.lean.u95


def test_a_drawn_picture_tells_its_lens_as_a_phone_does() -> None:
    assert decode(draw_file(end(), seed=3)).lens.focal_px is not None


def test_the_same_seed_draws_the_same_picture_and_another_seed_another() -> None:
    first, again, other = (draw_end(end(), seed) for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)
    assert first.shape == (HEIGHT_PX, WIDTH_PX, 3)


def test_every_picture_says_that_it_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """The words are what differs from the same picture without them: pale letters above the card."""
    labelled = draw_end(end(), seed=1).astype(int)
    monkeypatch.setattr("service.demo.drawing.LABEL", "")
    changed = np.argwhere(np.abs(labelled - draw_end(end(), seed=1)).max(axis=2) > 40)
    assert len(changed) > 1000  # thirty letters of some fifty pixels each
    assert changed[:, 0].max() < HEIGHT_PX // 3


def test_every_drawn_wood_is_one_that_verdicts_know() -> None:
    assert all(find_species(wood) for wood in WOODS)


def test_an_end_with_a_wall_too_many_or_of_unknown_wood_is_refused() -> None:
    with pytest.raises(ValueError, match="two walls for every tail"):
        SawnEnd("oak", 60.0, 16.0, (7.0, 22.0, 36.0), (0.0, 0.0, 0.0))
    with pytest.raises(ValueError, match="species must be one of"):
        SawnEnd("granite", 60.0, 16.0, (7.0, 22.0), (0.0, 0.0))
