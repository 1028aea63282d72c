"""The stage, from the runs of the surface and the dark marks: waste that hardly looks like wood is no open socket."""

from __future__ import annotations

import pytest

from calibration.outcome import CannotMeasure
from vision.end.find_walls import Cut
from vision.end.stage import check_told_stage, stage_of

KERF_MM = 0.9


def cuts(*middles: float, width: float = KERF_MM) -> list[Cut]:
    return [Cut(middle - width / 2.0, middle + width / 2.0, 0.0, 0.05) for middle in middles]


HATCHED = [(-49.5, -45.6), (-44.1, -25.8), (-24.3, -9.3), (-4.5, 10.5), (15.6, 30.3), (35.4, 55.2)]
KERFS = cuts(-44.9, -28.5, -25.0, -8.6, -5.2, 11.2, 14.8, 31.1, 34.6, 50.9)
"""Runs of a surface whose waste between the kerfs is hatched so darkly that three pieces of it do not count as wood."""


def test_waste_between_two_kerfs_is_no_socket() -> None:
    assert stage_of(HATCHED, KERFS) == "sawn"


def test_told_as_cleared_its_kerfs_contradict() -> None:
    with pytest.raises(CannotMeasure) as refused:
        check_told_stage("cleared", HATCHED, KERFS)
    assert refused.value.refusal.reason == "stage_contradicted"
    assert "10 saw cuts" in refused.value.refusal.message


def test_lines_on_both_sides_of_one_socket_do_not_fill_the_others() -> None:
    # Three tails; what is left of the drawn lines beside the second socket is as wide and dark as kerfs are.
    runs = [(-55.8, -26.1), (-21.9, 7.8), (12.0, 41.7)]
    assert stage_of(runs, cuts(8.4, 11.4)) == "cleared"


@pytest.mark.parametrize("marks", [cuts(-25.4, width=0.4) + cuts(-22.6), cuts(-24.0), cuts(-24.8, -23.2)])
def test_marks_unlike_each_other_or_far_from_the_ends_leave_a_socket_open(marks: list[Cut]) -> None:
    assert stage_of([(-55.8, -26.1), (-21.9, 7.8)], marks) == "cleared"


def test_lines_on_both_sides_of_the_only_socket_are_no_kerfs() -> None:
    assert stage_of([(-21.9, 7.8), (12.0, 41.7)], cuts(8.4, 11.4)) == "cleared"
