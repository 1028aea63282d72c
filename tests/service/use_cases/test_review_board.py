"""Boards are judged: by whom, in what order, and what becomes of it when a photo, a board or an account goes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.domain.assignment import Assignment
from service.domain.board import Board, Standing
from service.domain.check import Answer, Pictures, Told
from service.domain.classroom import Membership
from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.person import Person
from service.domain.review import Decision, Mark, Review
from service.domain.review_queue import MOST_COUNTED
from service.domain.saved_remark import MOST_SAVED
from service.use_cases.hand_in import hand_in
from service.use_cases.keep_class import join_class, new_class, show_all_boards
from service.use_cases.keep_log import check_again, delete_board, delete_check, look_at_board
from service.use_cases.review_board import (
    Judgement,
    look_at_review,
    look_to_review,
    new_reviews,
    note_seen,
    review_board,
    reviews_of,
)
from service.use_cases.review_queue import Narrowed, beside_in_queue, count_to_review, look_at_queue, next_to_review
from service.use_cases.saved_remarks import remove_remark, save_remark, saved_remarks
from service.use_cases.set_work import set_assignment
from service.use_cases.sign_in import remove_person
from service.use_cases.solo import ensure_solo
from tests.service.house import House, measured, refused
from tests.service.use_cases.school import JUNO, KIT, MOSS, OLIVE, WREN, bench, people, work

MARK = Mark(0.3, 0.6, "The saw left the line here.")


@pytest.fixture
def school(house: House) -> House:
    """Wren's bench with Juno and Kit, who hand in to `box`."""
    people(house)
    classroom = bench(house, JUNO, KIT)
    work(house, classroom, "box")
    return house


def box(house: House) -> Assignment:
    with house.ports.reading() as uow:
        classroom = uow.classes.of_person("wren")[0][0]
        return uow.assignments.of_class(classroom.id)[-1]


def drawn(house: House, advice: str, content: bytes) -> Answer:
    """An answer with its pictures in the store."""
    names = [house.ports.photos.put(kind + content, "JPEG").name for kind in (b"overlay", b"screen", b"thumb")]
    return replace(measured(advice), pictures=Pictures(*names))


def board(house: House, person: Person, name: str, advice: str = "start over", assignment: str | None = None) -> Board:
    """A board of that advice, `refused` for none, handed in to the box unless said otherwise; a minute passes."""
    to = box(house).id if assignment is None else assignment
    check = house.send(name.encode(), person.id, name=name, assignment=to)
    house.answer(refused() if advice == "refused" else drawn(house, advice, name.encode()))
    house.later(minutes=1)
    return now(house, check.board)


def now(house: House, board_id: str) -> Board:
    with house.ports.reading() as uow:
        return uow.boards.get(board_id)


def on(house: House, board: Board, *marks: Mark, decision: Decision = "pare") -> Judgement:
    """That decision, with marks on the drawing of the board's first photo."""
    with house.ports.reading() as uow:
        check = uow.checks.of_boards([board.id])[0]
    assert check.answer is not None
    return Judgement(decision, "Slower.", marks, check.id, check.answer.pictures.overlay)


def names(house: House, asking: Person, **narrowed: object) -> list[str]:
    return [each.board.name for each in look_at_queue(asking, Narrowed(**narrowed), house.ports).boards]  # type: ignore[arg-type]


def judge(house: House, asking: Person, board: Board, decision: Decision = "pare") -> Review:
    review = review_board(asking, board.id, Judgement(decision), house.ports)
    house.later(minutes=1)
    return review


def test_the_queue_has_the_doubtful_first_then_the_failing_and_in_each_who_waits_longest(school: House) -> None:
    advice: list[Standing] = ["transfer", "start over", "refused", "pare", "start over", "photograph again"]
    for number, standing in enumerate(advice):
        board(school, (JUNO, KIT)[number % 2], f"{number} {standing}", standing)
    expected = ["2 refused", "5 photograph again", "1 start over", "4 start over", "3 pare", "0 transfer"]
    assert names(school, WREN) == expected
    assert count_to_review(WREN, school.ports) == 6


def test_only_instructors_have_a_queue_and_each_their_own(school: House) -> None:
    first = board(school, JUNO, "one")
    assert names(school, MOSS) == []
    assert count_to_review(MOSS, school.ports) == 0
    for student in (JUNO, KIT):
        assert count_to_review(student, school.ports) is None
        with pytest.raises(NotFoundError):
            look_at_queue(student, Narrowed(), school.ports)
    for other in (MOSS, JUNO, KIT, OLIVE):
        with pytest.raises(NotFoundError):
            look_to_review(other, first.id, school.ports)
        with pytest.raises(NotFoundError):
            review_board(other, first.id, Judgement("pare"), school.ports)


def test_a_decision_stands_beside_the_tools_advice_and_takes_the_board_off_the_queue(school: House) -> None:
    first = board(school, JUNO, "one")
    review = review_board(WREN, first.id, on(school, first, MARK), school.ports)
    after = now(school, first.id)
    assert (after.standing, after.decision, after.reviewed_at) == ("start over", "pare", school.clock[0])
    assert (review.advice, review.decision, review.marks, review.name) == ("start over", "pare", (MARK,), WREN.name)
    assert names(school, WREN) == []
    assert names(school, WREN, show="reviewed") == ["one"]
    assert look_at_board("juno", first.id, school.ports).reviews == [review]


def test_two_instructors_review_one_board_and_neither_overwrites_the_other(school: House) -> None:
    with school.ports.unit_of_work() as uow:
        classroom = uow.classes.of_person("wren")[0][0]
        uow.classes.put_member(Membership(classroom.id, "moss", "instructor", school.clock[0]))
        uow.commit()
    first = board(school, JUNO, "one")
    wrens = judge(school, WREN, first)
    moss = judge(school, MOSS, first, "transfer")
    again = judge(school, WREN, first, "start over")
    assert reviews_of(JUNO, first.id, school.ports) == [again, moss, wrens]
    assert now(school, first.id).decision == "start over"


def test_a_board_comes_back_when_the_student_sends_another_photo(school: House) -> None:
    first = board(school, JUNO, "one", "photograph again")
    judge(school, WREN, first, "photograph again")
    assert names(school, WREN) == []
    school.send(b"one more", "juno", board=first.id)
    school.answer(measured("transfer"))
    assert names(school, WREN) == ["one"]
    assert now(school, first.id).decision == "photograph again"


def test_a_board_comes_back_when_it_is_handed_in_again(school: House) -> None:
    first = board(school, JUNO, "one")
    judge(school, WREN, first)
    hand_in(JUNO, first.id, "", school.ports)
    assert names(school, WREN, show="reviewed") == []
    hand_in(JUNO, first.id, box(school).id, school.ports)
    assert names(school, WREN) == []
    school.answer(measured("start over"))  # by the assignment's limits
    assert names(school, WREN) == ["one"]


def test_filters_narrow_by_class_assignment_and_student(school: House) -> None:
    board(school, JUNO, "one")
    board(school, KIT, "two")
    classroom = box(school).classroom
    other = work(school, bench(school, JUNO), "second class")
    board(school, JUNO, "three", assignment=other.id)
    assert names(school, WREN) == ["one", "two", "three"]
    assert names(school, WREN, classroom=classroom) == ["one", "two"]
    assert names(school, WREN, assignment=other.id) == ["three"]
    assert names(school, WREN, student="kit") == ["two"]
    assert names(school, WREN, classroom=classroom, student="juno") == ["one"]
    assert names(school, WREN, classroom="nobodys") == []
    queue = look_at_queue(WREN, Narrowed(classroom=classroom), school.ports)
    assert [each.title for each in queue.assignments] == ["box"]
    assert [each.id for each in queue.students] == ["juno", "kit"]


def test_boards_that_were_not_handed_in_are_asked_for_and_come_from_who_shows_them(school: House) -> None:
    for person in (JUNO, KIT):
        board(school, person, f"{person.id} at home", assignment="")
    board(school, JUNO, "handed")
    assert names(school, WREN, shown=True) == []
    show_all_boards(JUNO, box(school).classroom, True, school.ports)
    assert names(school, WREN) == ["handed"]
    assert names(school, WREN, shown=True) == ["juno at home"]
    assert look_at_queue(WREN, Narrowed(), school.ports).shows_all
    shed = new_class(MOSS, "Shed", school.ports)
    join_class(JUNO, shed.join_code, school.ports)
    wanted = Assignment("", shed.id, "tray", school.clock[0])
    board(school, JUNO, "for the shed", assignment=set_assignment(MOSS, wanted, school.ports).id)
    assert (names(school, MOSS), names(school, WREN)) == (["for the shed"], ["handed"])
    assert names(school, WREN, shown=True) == ["juno at home", "for the shed"]


def test_a_board_comes_with_its_person_and_the_newest_photo_of_its_end_that_was_measured(school: House) -> None:
    first = board(school, JUNO, "one")
    newer = school.send(b"newer", JUNO.id, board=first.id)
    school.answer(measured())
    school.later(minutes=1)
    school.send(b"refused", JUNO.id, board=first.id)
    school.answer(refused())
    (queued,) = look_at_queue(WREN, Narrowed(), school.ports).boards
    assert queued.owner == JUNO
    assert queued.check is not None
    assert queued.check.id == newer.id


def test_one_goes_through_the_queue_in_its_order_and_back(school: House) -> None:
    boards = [board(school, JUNO, name) for name in ("one", "two", "three")]
    one, two, three = (each.id for each in boards)
    assert beside_in_queue(WREN, two, Narrowed(), school.ports) == (one, three)
    assert beside_in_queue(WREN, one, Narrowed(), school.ports) == ("", two)
    judge(school, WREN, boards[1])
    assert beside_in_queue(WREN, two, Narrowed(), school.ports) == (one, three)
    assert next_to_review(WREN, two, Narrowed(), school.ports) == three
    judge(school, WREN, boards[2])
    assert next_to_review(WREN, three, Narrowed(), school.ports) == one
    judge(school, WREN, boards[0])
    assert next_to_review(WREN, one, Narrowed(), school.ports) == ""
    assert names(school, WREN, show="reviewed") == ["one", "three", "two"]
    assert beside_in_queue(WREN, three, Narrowed(show="reviewed"), school.ports) == (one, two)


def test_a_long_queue_comes_in_portions_and_is_counted_up_to_a_number_that_says_enough(school: House) -> None:
    first = board(school, JUNO, "0")
    with school.ports.unit_of_work() as uow:
        for number in range(1, MOST_COUNTED + 20):
            uow.boards.add(replace(first, id=f"x-{number:03d}", name=str(number)))  # after the first one's `id-0004`
        uow.commit()
    queue = look_at_queue(WREN, Narrowed(page=2), school.ports)
    assert (queue.page.total, queue.page.pages) == (119, 10)
    assert [each.board.name for each in queue.boards] == [str(number) for number in range(12, 24)]
    assert count_to_review(WREN, school.ports) == MOST_COUNTED + 1


def test_marks_lie_on_a_picture_that_the_photo_has_now(school: House) -> None:
    first = board(school, JUNO, "one")
    second = board(school, KIT, "two")
    for wrong in (
        replace(on(school, first, MARK), picture="other.jpg"),
        replace(on(school, first, MARK), check=on(school, second).check),
        replace(on(school, first, MARK), check="", picture=""),
    ):
        with pytest.raises(MistakeError, match="Look at the board once more"):
            review_board(WREN, first.id, wrong, school.ports)
    assert reviews_of(WREN, first.id, school.ports) == []
    bare = school.send(b"without a drawing", JUNO.id, assignment=box(school).id)
    school.answer(measured())
    with pytest.raises(MistakeError, match="Look at the board once more"):
        review_board(WREN, bare.board, Judgement("pare", "", (MARK,), bare.id), school.ports)


def marked_and_drawn_anew(school: House) -> tuple[Board, Judgement]:
    """A board whose marked picture no answer has any more, for its photo was measured again, and what was judged."""
    first = board(school, JUNO, "one")
    said = on(school, first, MARK)
    review_board(WREN, first.id, said, school.ports)
    check_again("juno", said.check, Told("cleared"), school.ports)
    school.answer(drawn(school, "start over", b"anew"))
    return first, said


def test_the_marked_picture_is_kept_when_the_photo_is_measured_again_and_goes_with_the_board(school: House) -> None:
    first, said = marked_and_drawn_anew(school)
    assert said.picture in school.stored()
    assert look_at_board("juno", first.id, school.ports).reviews[0].picture == said.picture
    delete_board("juno", first.id, school.ports)
    assert school.stored() == set()
    with school.ports.reading() as uow:
        assert not uow.reviews.has_any_by("wren")


def test_a_deleted_account_takes_marked_pictures_along_that_no_answer_has_any_more(school: House) -> None:
    marked_and_drawn_anew(school)
    remove_person("juno", school.ports)
    assert school.stored() == set()


def test_a_deleted_photo_leaves_the_words_and_takes_the_picture(school: House) -> None:
    first = board(school, JUNO, "one")
    said = on(school, first, MARK)
    review_board(WREN, first.id, said, school.ports)
    delete_check("juno", said.check, school.ports)
    (left,) = reviews_of(JUNO, first.id, school.ports)
    assert (left.check, left.picture, left.marks, left.decision) == ("", "", (MARK,), "pare")
    assert school.stored() == set()


def test_what_an_instructor_decided_who_leaves_stays_without_name_and_id(school: House) -> None:
    first, second = board(school, JUNO, "one"), board(school, KIT, "two")
    reviews = [review_board(WREN, each.id, on(school, each, MARK), school.ports) for each in (first, second)]
    before = now(school, second.id)
    save_remark(WREN, "Slower.", school.ports)
    remove_person("juno", school.ports)
    remove_person("wren", school.ports, heir="moss")
    assert now(school, second.id) == before
    assert before.decision == "pare"
    assert reviews_of(KIT, second.id, school.ports) == [replace(reviews[1], reviewer="", name="")]
    assert reviews[1].picture in school.stored()
    assert reviews[0].picture not in school.stored()
    with school.ports.reading() as uow:
        assert not uow.reviews.has_any_by("wren")
        assert uow.saved_remarks.of_person("wren") == []
        assert uow.reviews.of_board(first.id) == []


def test_a_board_that_somebody_reviewed_who_left_still_comes_back_when_it_changes(school: House) -> None:
    first = board(school, KIT, "one")
    judge(school, WREN, first)
    remove_person("wren", school.ports, heir="moss")
    assert names(school, MOSS) == []
    school.later(hours=1)
    school.send(b"another", "kit", name="", board=first.id)
    school.answer(drawn(school, "start over", b"anew"))
    assert names(school, MOSS) == ["one"]


def test_the_student_says_that_they_saw_it_and_nobody_else_can(school: House) -> None:
    first = board(school, JUNO, "one")
    review = judge(school, WREN, first)
    for other in (WREN, KIT):
        with pytest.raises(NotFoundError):
            note_seen(other, review.id, school.ports)
    seen = note_seen(JUNO, review.id, school.ports)
    assert seen.seen_at == school.clock[0]
    school.later(hours=1)
    assert note_seen(JUNO, review.id, school.ports) == seen
    assert reviews_of(WREN, first.id, school.ports) == [seen]
    with pytest.raises(NotFoundError):
        look_at_review(KIT, review.id, school.ports)
    with pytest.raises(NotFoundError):
        look_at_review(WREN, "\x00", school.ports)


def test_a_teacher_alone_at_home_reviews_their_own_boards_and_is_not_asked_to(house: House) -> None:
    solo = ensure_solo(house.ports)
    first, second = (board(house, solo, name, assignment="") for name in ("one", "two"))
    assert count_to_review(solo, house.ports) is None
    assert names(house, solo) == ["one", "two"]
    judge(house, solo, first)
    assert count_to_review(solo, house.ports) == 1
    assert next_to_review(solo, first.id, Narrowed(), house.ports) == second.id


def test_remarks_to_say_again_are_ones_own_kept_once_and_in_order(school: House) -> None:
    kept = [save_remark(WREN, text, school.ports) for text in ("watch the far face.", "Slower.", " SLOWER. ")]
    assert [remark.text for remark in saved_remarks(WREN, school.ports)] == ["Slower.", "watch the far face."]
    assert kept[2] == kept[1]
    assert saved_remarks(MOSS, school.ports) == []
    with pytest.raises(NotFoundError):
        remove_remark(MOSS, kept[0].id, school.ports)
    remove_remark(WREN, kept[0].id, school.ports)
    assert [remark.text for remark in saved_remarks(WREN, school.ports)] == ["Slower."]


def test_only_so_many_remarks_are_kept(school: House) -> None:
    for number in range(MOST_SAVED):
        save_remark(WREN, f"remark {number}", school.ports)
    with pytest.raises(MistakeError, match="Remove some first"):
        save_remark(WREN, "one more", school.ports)


def test_new_are_the_newest_reviews_by_others_that_were_not_seen_the_latest_first(school: House) -> None:
    first, second, brought = (board(school, JUNO, name) for name in ("first", "second", "third"))
    assert new_reviews(JUNO, school.ports) == {}
    earlier = review_board(WREN, second.id, on(school, second), school.ports)
    school.later(minutes=1)
    review_board(WREN, first.id, on(school, first), school.ports)
    imported = Review("old", brought.id, "", "Somebody", school.clock[0], "pare", "start over", imported=True)
    with school.ports.unit_of_work() as uow:
        uow.reviews.add(imported)
        uow.commit()
    assert list(new_reviews(JUNO, school.ports)) == [first.id, second.id]
    assert new_reviews(KIT, school.ports) == new_reviews(WREN, school.ports) == {}
    note_seen(JUNO, earlier.id, school.ports)
    assert list(new_reviews(JUNO, school.ports)) == [first.id]
    school.later(minutes=1)
    review_board(WREN, second.id, on(school, second), school.ports)
    assert list(new_reviews(JUNO, school.ports)) == [second.id, first.id]
    remove_person(WREN.id, school.ports, heir=MOSS.id)
    assert list(new_reviews(JUNO, school.ports)) == [second.id, first.id]


def test_ones_own_review_is_no_news(house: House) -> None:
    solo = ensure_solo(house.ports)
    own = board(house, solo, "own", assignment="")
    review_board(solo, own.id, on(house, own), house.ports)
    assert new_reviews(solo, house.ports) == {}
