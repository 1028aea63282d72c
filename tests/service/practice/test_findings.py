"""One sentence on what to work on next, and the evidence for it."""

from __future__ import annotations

import json
import random
import re
from dataclasses import replace

import numpy as np
import pytest

from service.practice.candidates import candidates_of
from service.practice.columns import columns_of
from service.practice.findings import ORDER, find_faults, what_next
from tests.service.practice.builders import Sawyer, board, boards_of

STEADY = {"walls_deg": 0.05, "boards_deg": 0.05}


def test_a_bias_of_one_side_is_told_with_its_uncertainty_and_evidence() -> None:
    told = what_next(boards_of(Sawyer(0.0, -0.4, **STEADY), 10, np.random.default_rng(1)))
    assert re.match(
        r"Your right walls lean 0\.\d+ ± 0\.\d+ degrees to the left;"
        r" your left walls are square as far as the measurement shows\. ",
        told.sentence,
    )
    assert told.evidence[0].startswith("Left walls, mean lean: ")
    assert told.evidence[1].startswith("Right walls, mean lean: -0.")
    assert told.evidence[1].endswith(" over 10 boards.")


def test_walls_that_lean_one_way_point_to_the_stance() -> None:
    told = what_next(boards_of(Sawyer(0.5, 0.4, **STEADY), 10, np.random.default_rng(2)))
    assert told.sentence.startswith("All your walls lean one way: your left walls lean ")
    assert "stance" in told.sentence


def test_walls_that_lean_apart_make_sockets_loose_or_tight() -> None:
    """A tail's left wall is its socket's right wall: leaning right on the way to the transfer face it makes the socket
    narrow at the show face."""
    tight = boards_of(Sawyer(0.4, -0.4, **STEADY), 10, np.random.default_rng(3))
    loose = boards_of(Sawyer(-0.4, 0.4, **STEADY), 10, np.random.default_rng(3))
    assert all(socket.taper_mm < 0.0 for each in tight for socket in each.sockets)
    assert "come out tight at the show face" in what_next(tight).sentence
    assert "come out loose at the show face" in what_next(loose).sentence


def test_uneven_walls_are_told_beyond_what_the_measurement_scatters() -> None:
    boards = boards_of(Sawyer(walls_deg=0.6, u_deg=0.05), 10, np.random.default_rng(4))
    assert what_next(boards).sentence.startswith("Your walls differ from one to the next by ")
    blurred = boards_of(Sawyer(walls_deg=0.1, u_deg=0.3), 10, np.random.default_rng(4))
    assert "spread" not in [finding.kind for finding in what_next(blurred).findings]


def test_a_fan_along_the_board_is_told_with_the_doubt_about_the_card() -> None:
    told = what_next(boards_of(Sawyer(fan_deg=1.0, **STEADY), 10, np.random.default_rng(5)))
    position = next(finding for finding in told.findings if finding.kind == "position")
    assert "third lean" in position.fact
    assert "a card that is not parallel to the end" in position.what_to_do


def test_the_worse_wood_and_saw_are_named_whichever_comes_first() -> None:
    rng = np.random.default_rng(6)
    for names in (("ash", "oak"), ("oak", "ash")):
        boards = boards_of(Sawyer(0.9, 0.9, **STEADY), 5, rng, species=names[0], saw=names[0])
        boards += boards_of(Sawyer(**STEADY), 5, rng, first=5, species=names[1], saw=names[1])
        facts = {finding.kind: finding.fact for finding in find_faults(columns_of(boards))}
        assert facts["species"].startswith(f"In {names[0]} your walls are ")
        assert facts["saw"].endswith(f"further off square than with {names[1]}.")


def test_being_squarer_with_one_of_three_saws_is_no_fault() -> None:
    rng = np.random.default_rng(7)
    boards = boards_of(Sawyer(**STEADY), 4, rng, saw="a")
    for index, saw in enumerate("bc", start=1):
        boards += boards_of(Sawyer(0.6, -0.6, **STEADY), 4, rng, first=4 * index, saw=saw)
    assert "saw" not in [finding.kind for finding in find_faults(columns_of(boards))]


def test_findings_come_by_weight_and_each_kind_once() -> None:
    told = what_next(boards_of(Sawyer(0.3, -0.6, walls_deg=0.4, fan_deg=0.6), 10, np.random.default_rng(8)))
    sizes = [finding.size_mm for finding in told.findings]
    kinds = [finding.kind for finding in told.findings]
    assert len(kinds) >= 3
    assert sizes == sorted(sizes, reverse=True)
    assert len(set(kinds)) == len(kinds)
    assert set(kinds) <= set(ORDER)


def test_a_fault_is_as_large_as_what_is_sure_of_it_makes_over_the_boards_mean_thickness() -> None:
    rng = np.random.default_rng(12)
    first, *others = boards_of(Sawyer(0.0, -0.4, **STEADY), 10, rng)
    columns = columns_of([replace(first, thickness_mm=24.0), *others])  # the others are 19 mm thick
    (lean,) = (each for each in candidates_of(columns) if each.kind == "right")
    (fault,) = (each for each in find_faults(columns) if each.kind == "right")
    assert fault.size_mm == pytest.approx(19.5 * np.tan(np.radians(lean.estimate.firm_size)))


def test_the_advice_does_not_depend_on_the_order_in_which_boards_come() -> None:
    boards = boards_of(Sawyer(0.3, -0.3), 14, np.random.default_rng(9))
    shuffled = random.Random(9).sample(boards, len(boards))
    assert what_next(shuffled) == what_next(boards)


def test_old_boards_do_not_count_against_someone_who_changed() -> None:
    rng = np.random.default_rng(10)
    boards = boards_of(Sawyer(0.0, -0.8, **STEADY), 10, rng) + boards_of(Sawyer(0.0, 0.0, **STEADY), 10, rng, first=10)
    told = what_next(boards)
    assert "right" not in [finding.kind for finding in told.findings]
    assert any("Lean, mean size: better." in line for line in told.evidence)


def test_square_work_is_told_to_go_on() -> None:
    told = what_next(boards_of(Sawyer(walls_deg=0.01, boards_deg=0.01), 10, np.random.default_rng(11)))
    assert told.findings == ()
    assert told.sentence.startswith("Nothing stands out that the measurement can show")


def test_the_average_is_said_to_be_of_the_latest_boards() -> None:
    told = what_next(boards_of(Sawyer(walls_deg=0.01, boards_deg=0.01), 14, np.random.default_rng(11)))
    assert "over your latest 10 boards your walls are " in told.sentence
    assert told.sentence.endswith("Keep going as you do.")


def test_nobody_who_got_worse_is_told_to_go_on_as_they_do() -> None:
    rng = np.random.default_rng(2)
    steady = Sawyer(walls_deg=0.0, boards_deg=0.0, u_deg=0.02)
    uneven = Sawyer(walls_deg=0.1, boards_deg=0.5, u_deg=0.15)
    told = what_next(boards_of(steady, 12, rng) + boards_of(uneven, 12, rng, first=12))
    assert told.findings == ()
    assert "Lean, mean size: worse." in " ".join(told.evidence)
    assert "Keep going" not in told.sentence


def test_fewer_than_three_boards_say_so() -> None:
    for count in (0, 1, 2):
        told = what_next([board([1.0, 1.0], number=n) for n in range(count)])
        assert told.sentence == f"Too few boards to say what to work on: {count} so far, {3 - count} more will do."


def test_square_walls_are_seldom_accused() -> None:
    """All candidates together at most in 5 % of 300 logs, and four standard deviations of that share: 0.05."""
    alarms = [bool({"left", "right", "position"} & {finding.kind for finding in _faults(seed)}) for seed in range(300)]
    assert np.mean(alarms) < 0.05 + 0.05


def test_every_candidate_knows_how_many_there_are() -> None:
    rng = np.random.default_rng(13)
    boards = boards_of(Sawyer(), 4, rng, saw="a") + boards_of(Sawyer(), 4, rng, first=4, saw="b")
    found = candidates_of(columns_of(boards))
    assert [each.kind for each in found] == ["left", "right", "spread", "position", "position", "position", "saw"]
    assert {each.estimate.comparisons for each in found} == {7}


def test_the_spread_is_that_of_walls_about_their_sides_own_means() -> None:
    """Three walls a side, 0.3 degrees apart: of six walls and two means four degrees of freedom are left."""
    leans = [side + step for step in (-0.3, 0.0, 0.3) for side in (0.5, -0.2)]
    found = candidates_of(columns_of([board(leans, number=n, lean_u95_deg=0.0) for n in range(3)]))
    (spread,) = (each.estimate.value for each in found if each.kind == "spread")
    assert spread == pytest.approx(np.sqrt(4 * 0.3**2 / 4))


def test_advice_is_json() -> None:
    told = what_next(boards_of(Sawyer(0.0, -0.4), 10, np.random.default_rng(12)))
    assert json.loads(json.dumps(told.to_dict(), allow_nan=False))["findings"][0]["evidence"]


def _faults(seed: int) -> list:
    return find_faults(columns_of(boards_of(Sawyer(), 10, np.random.default_rng(2000 + seed))))
