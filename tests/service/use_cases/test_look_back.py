"""Looking back: trends, predictions against outcomes and what is printed, each for those who may see it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import event

from service.domain.board import Details
from service.domain.log import Wanted
from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.person import Person
from service.domain.wall_line import WallLine
from service.practice.from_log import driven_boards, practice_boards
from service.practice.outcomes import outcomes_of
from service.practice.own_limits import own_limit
from service.practice.series import METRICS
from service.use_cases.answer_job import refresh_board
from service.use_cases.foretold import with_fits_of
from service.use_cases.keep_class import join_class, show_all_boards
from service.use_cases.keep_log import change_board, check_again, delete_board, look_at_board, note_fit, note_fits
from service.use_cases.look_at_outcomes import look_at_outcomes
from service.use_cases.look_at_trends import look_at_trends
from service.use_cases.print_log import board_to_print, period_to_print
from service.use_cases.review_board import Judgement, review_board
from service.use_cases.sign_in import remove_person
from tests.service.house import BEGIN, House, refused
from tests.service.use_cases.school import JUNO, KIT, MOSS, WREN, bench, hand_in_board, measured_end, people, work

ANN = Person("ann", "Ann")


def saw(house: House, number: int, lean: float = 1.0, person: str = "ann", **details: str) -> str:
    """A measured board, one a day; its id."""
    wanted = Details(**details)  # type: ignore[arg-type]
    check = house.send(f"{person} {number}".encode(), person, name=f"Board {number}", details=wanted)
    house.answer(measured_end(lean))
    house.later(days=1)
    return check.board


@pytest.fixture
def log(house: House) -> House:
    """Twelve boards of Ann's: half of oak, the second half a tenth as far off square."""
    for number in range(12):
        saw(house, number, 1.0 if number < 6 else 0.1, species="oak" if number % 2 else "pine", saw="old")
    return house


def test_trends_rest_on_every_measured_board_in_its_order(log: House) -> None:
    log.send(b"a refused one")
    log.answer(refused())
    view = look_at_trends(ANN, Wanted("ann"), 100, log.ports)
    assert view.trends.keys() == METRICS.keys()
    assert [board.name for board in view.log] == [f"Board {number}" for number in range(12)]
    lean = view.trends["abs_lean"].series
    assert lean.values[0] == pytest.approx(10.0 * lean.values[-1], rel=1e-3)  # leans have four decimals
    assert (view.choices.species, view.choices.saws) == (("oak", "pine"), ("old",))


def test_progress_is_told_with_the_evidence_beside_the_sentence(log: House) -> None:
    view = look_at_trends(ANN, Wanted("ann"), 100, log.ports)
    words = {progress.metric.name: progress.verdict for progress in view.progress}
    assert words["abs_lean"] == "better"
    assert any("better" in line for line in view.next.evidence)


def test_trends_are_narrowed_to_the_latest_to_wood_saw_and_days(log: House) -> None:
    def seen(most: int = 100, **filters: object) -> list[str]:
        wanted = Wanted("ann", **filters)  # type: ignore[arg-type]
        return [board.name for board in look_at_trends(ANN, wanted, most, log.ports).log]

    assert seen(2) == ["Board 10", "Board 11"]
    assert seen(species="oak") == [f"Board {number}" for number in range(1, 12, 2)]
    assert seen(saw="new") == []
    day = BEGIN.date() + timedelta(days=4)
    assert seen(since=day, until=day) == ["Board 4"]


def test_without_a_measured_board_the_trends_say_so_and_nothing_breaks(house: House) -> None:
    view = look_at_trends(ANN, Wanted("ann"), 100, house.ports)
    assert (view.log, view.comparisons) == ([], [])
    assert "Too few boards" in view.next.sentence
    assert {progress.verdict for progress in view.progress} == {"too few"}


def test_a_board_measured_anew_or_renamed_is_charted_as_it_is_now(house: House) -> None:
    board = saw(house, 1, 1.0)
    before = look_at_trends(ANN, Wanted("ann"), 9, house.ports).trends["abs_lean"].series.values[0]
    check = look_at_board("ann", board, house.ports).checks[0]
    check_again("ann", check.id, check.told, house.ports)
    house.answer(measured_end(0.5))
    change_board("ann", board, "Renamed", Details("elm"), house.ports)  # another wood: measured once more
    assert look_at_trends(ANN, Wanted("ann"), 9, house.ports).log == []
    house.answer(measured_end(0.5))
    view = look_at_trends(ANN, Wanted("ann"), 9, house.ports)
    assert [(each.name, each.species) for each in view.log] == [("Renamed", "elm")]
    assert view.trends["abs_lean"].series.values[0] == pytest.approx(before / 2.0, rel=1e-6)
    delete_board("ann", board, house.ports)
    assert look_at_trends(ANN, Wanted("ann"), 9, house.ports).log == []


def test_predictions_meet_outcomes_over_all_and_by_wood(log: House) -> None:
    boards = [board.identity for board in look_at_trends(ANN, Wanted("ann"), 100, log.ports).log]
    for board in boards[:10]:
        note_fits("ann", board, {0: "seated", 1: "split", 2: "loose", 3: "not assembled"}, log.ports)
    view = look_at_outcomes(ANN, Wanted("ann"), log.ports)
    assert view.boards == 10
    assert view.card is not None
    assert view.card.count == 30  # what was not assembled tells nothing
    assert {wood: card.count for wood, card in view.by_wood.items()} == {"oak": 15, "pine": 15}
    assert [limit.what for limit in view.limits] == ["gap", "squeeze"]
    oak = look_at_outcomes(ANN, Wanted("ann", species="oak"), log.ports)
    assert oak.boards == 5


def test_driven_sockets_alone_tell_the_same_as_whole_boards(log: House) -> None:
    with log.ports.reading() as uow:
        boards = [board.id for board in uow.boards.all_of("ann")]
    for number, board in enumerate(boards[:8]):
        note_fits("ann", board, {number % 4: "loose", 2: "not assembled", 3: "seated", 59: "split"}, log.ports)
    with log.ports.reading() as uow:
        told = with_fits_of(uow, uow.log_numbers.latest(Wanted("ann"), 100))
    whole, driven = practice_boards(told, "Ann"), driven_boards(told, "Ann")
    assert len(outcomes_of(whole)) == 12
    assert outcomes_of(driven) == outcomes_of(whole)
    assert own_limit(driven, "gap") == own_limit(whole, "gap")


def test_what_the_program_makes_anew_of_a_photo_of_before_the_joint_was_driven_still_counts(house: House) -> None:
    board = saw(house, 1, 0.01)
    note_fits("ann", board, {0: "seated"}, house.ports)
    house.later(minutes=4)
    check = look_at_board("ann", board, house.ports).checks[0]
    check_again("ann", check.id, check.told, house.ports)
    house.answer(measured_end(3.0))
    note_fits("ann", board, {0: "seated"}, house.ports, "No glue.")  # said once more: the day stays the first
    assert look_at_outcomes(ANN, Wanted("ann"), house.ports).boards == 1
    assert len(period_to_print(ANN, Wanted("ann"), house.ports).driven) == 1


def test_what_a_photo_of_after_the_joint_was_driven_says_foretold_nothing(house: House) -> None:
    board = saw(house, 1, 0.01)
    house.later(minutes=-60 * 24 * 7)  # its photo was taken a week after that
    note_fits("ann", board, {0: "seated"}, house.ports)
    after = look_at_outcomes(ANN, Wanted("ann"), house.ports)
    assert (after.boards, after.card, after.limits) == (0, None, [])
    assert period_to_print(ANN, Wanted("ann"), house.ports).driven == []


def test_what_was_foretold_before_a_later_correction_or_photo_still_counts(house: House) -> None:
    board = saw(house, 1, 0.01)
    note_fits("ann", board, {0: "seated"}, house.ports)
    before = look_at_outcomes(ANN, Wanted("ann"), house.ports)
    printed = period_to_print(ANN, Wanted("ann"), house.ports).driven
    house.later(minutes=4)
    line = WallLine((1.0, 2.0), (1.0, 9.0), 4.0)
    with house.ports.unit_of_work() as uow:
        check = uow.checks.of_boards([board])[0].corrected_to((line, line))
        uow.checks.put(check.answered(replace(measured_end(3.0), answered_at=house.clock[0])))
        refresh_board(uow, board)
        uow.commit()
    assert look_at_outcomes(ANN, Wanted("ann"), house.ports) == before
    house.send(b"another", board=board)
    house.answer(measured_end(2.0))
    assert look_at_outcomes(ANN, Wanted("ann"), house.ports) == before
    assert period_to_print(ANN, Wanted("ann"), house.ports).driven == printed


def test_without_an_outcome_there_is_no_score_and_no_limit(log: House) -> None:
    view = look_at_outcomes(ANN, Wanted("ann"), log.ports)
    assert (view.boards, view.card, view.by_wood, view.limits, view.students) == (0, None, {}, [], [])


@pytest.fixture
def school(house: House) -> House:
    people(house)
    return house


def test_an_instructor_sees_how_predictions_came_true_for_the_students_and_what_they_let_see(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    assignment = work(school, classroom)
    handed_in = hand_in_board(school, JUNO, assignment.id, b"juno")
    own = saw(school, 1, person="juno")
    for board in (handed_in.id, own):
        note_fits("juno", board, {0: "seated", 1: "split"}, school.ports)
    assert seen(school, WREN) == {"juno": 2}
    show_all_boards(JUNO, classroom.id, True, school.ports)
    assert seen(school, WREN) == {"juno": 4}
    assert seen(school, MOSS) == seen(school, KIT) == {}


def seen(house: House, person: Person) -> dict[str, int]:
    """By student, how many driven pins that person sees."""
    view = look_at_outcomes(person, Wanted(person.id), house.ports)
    return {student.id: card.count for student, card in view.students}


def test_the_latest_driven_boards_of_many_are_those_of_each_within_what_they_show(school: House) -> None:
    classroom = bench(school, JUNO, KIT)
    assignment = work(school, classroom)
    for number, person in enumerate((JUNO, JUNO, JUNO, KIT, KIT)):
        board = hand_in_board(school, person, assignment.id, f"in {number}".encode()).id
        school.later(days=1)
        for each in (board, saw(school, number, person=person.id)):
            note_fits(person.id, each, {0: "seated"}, school.ports)
    saw(school, 9, person="kit")  # never driven
    with school.ports.reading() as uow:
        of_each = {each: uow.log_numbers.latest(Wanted(each), 3, driven=True) for each in ("juno", "kit")}
        assert uow.log_numbers.latest_driven({"juno": None, "kit": None}, 3) == of_each
        some = uow.log_numbers.latest_driven({"juno": [classroom.id], "kit": None, "moss": None}, 2)
        assert {person: [logged.assignment for logged in log] for person, log in some.items()} == {
            "juno": ["Three tails", "Three tails"],
            "kit": ["Three tails", ""],
        }
        assert uow.log_numbers.latest_driven({"juno": []}, 3) == uow.log_numbers.latest_driven({}, 3) == {}


def test_the_outcomes_of_one_student_more_take_no_query_more(school: House) -> None:
    classroom = bench(school, JUNO)
    assignment = work(school, classroom)
    asked: list[str] = []
    event.listen(school.engine, "before_cursor_execute", lambda *told: asked.append(told[2]))
    counts = []
    for person in (JUNO, KIT):
        join_class(person, classroom.join_code, school.ports)
        board = hand_in_board(school, person, assignment.id, person.id.encode())
        note_fits(person.id, board.id, {0: "seated"}, school.ports)
        asked.clear()
        look_at_outcomes(WREN, Wanted("wren"), school.ports)
        counts.append(len(asked))
    assert seen(school, WREN) == {"juno": 1, "kit": 1}
    assert counts[0] == counts[1]


def test_a_fit_has_a_note_that_stays_until_another_is_said(log: House) -> None:
    board = look_at_trends(ANN, Wanted("ann"), 1, log.ports).log[0].identity
    note_fits("ann", board, {0: "seated"}, log.ports, "  Light taps.\r\nNo glue. ")
    note_fits("ann", board, {0: "loose"}, log.ports)
    view = look_at_board("ann", board, log.ports)
    assert (view.board.fit_note, view.fits[0].outcome) == ("Light taps.\nNo glue.", "loose")
    assert note_fit("ann", board, "", log.ports).fit_note == ""
    with pytest.raises(MistakeError, match="too long"):
        note_fit("ann", board, "x" * 2001, log.ports)
    with pytest.raises(NotFoundError):
        note_fit("ben", board, "mine", log.ports)


def test_a_photo_of_the_fit_changes_nothing_that_was_measured(house: House) -> None:
    board = saw(house, 1)
    before = look_at_trends(ANN, Wanted("ann"), 9, house.ports).log
    house.send(b"driven", name="", board=board, view="fit")
    house.answer(measured_end())
    view = look_at_board("ann", board, house.ports)
    assert (view.checks[-1].state, view.board.standing) == ("kept", view.checks[0].advice)
    assert look_at_trends(ANN, Wanted("ann"), 9, house.ports).log == before


def test_photos_of_fits_go_with_their_board_and_with_the_account(school: House) -> None:
    board = saw(school, 1, person="kit")
    school.send(b"driven", "kit", board=board, view="fit")
    other = saw(school, 2, person="kit")
    school.send(b"driven too", "kit", board=other, view="fit")
    assert len(school.stored()) == 4
    delete_board("kit", board, school.ports)
    assert len(school.stored()) == 2
    remove_person("kit", school.ports)
    assert school.stored() == set()


def test_a_board_is_printed_with_its_fit_and_what_the_instructor_decided(school: House) -> None:
    assignment = work(school, bench(school, JUNO))
    board = hand_in_board(school, JUNO, assignment.id, b"juno")
    note_fits("juno", board.id, {0: "seated"}, school.ports, "Light taps.")
    review_board(WREN, board.id, Judgement("pare", remarks="Only the left one."), school.ports)
    for person in (JUNO, WREN):
        found = board_to_print(person, board.id, school.ports)
        assert found.board.person == "Student Juno Larchmere"
        assert found.board.notes == "How it fitted: Light taps."
        assert found.board.sockets[0].fit == "seated"
        assert (found.said.decision, found.said.remarks) == ("Pare", "Only the left one.")
        assert found.said.by == "Decision of Instructor Wren Alder, 2 Mar 2026"
        assert found.said.beside == "The tool's own advice then: start over"
    with pytest.raises(NotFoundError):
        board_to_print(KIT, board.id, school.ports)


def test_what_is_not_measured_cannot_be_printed_and_a_period_may_be_empty(house: House) -> None:
    check = house.send(b"new")
    with pytest.raises(NotFoundError):
        board_to_print(ANN, check.board, house.ports)
    empty = period_to_print(ANN, Wanted("ann"), house.ports)
    assert (empty.boards, empty.start, empty.end) == ([], BEGIN.date(), BEGIN.date())


def test_a_period_runs_over_the_days_asked_for_or_over_all(log: House) -> None:
    whole = period_to_print(ANN, Wanted("ann"), log.ports)
    assert (len(whole.boards), whole.start, whole.end) == (12, BEGIN.date(), BEGIN.date() + timedelta(days=11))
    start, end = BEGIN.date() + timedelta(days=2), BEGIN.date() + timedelta(days=4)
    part = period_to_print(ANN, Wanted("ann", since=start, until=end), log.ports)
    assert ([board.name for board in part.boards], part.start, part.end) == (
        ["Board 2", "Board 3", "Board 4"],
        start,
        end,
    )
