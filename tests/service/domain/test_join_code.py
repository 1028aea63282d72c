"""Join codes: said aloud, typed with cold fingers, and not to be guessed."""

from __future__ import annotations

import pytest

from service.domain.join_code import HIGHEST, LOWEST, THINGS, WOODS, join_code, typed_code


def test_a_code_is_two_words_and_a_number() -> None:
    wood, thing, number = join_code("a secret").split("-")
    assert wood in WOODS
    assert thing in THINGS
    assert LOWEST <= int(number) <= HIGHEST


def test_there_are_three_million_codes_and_every_word_is_another() -> None:
    assert len(set(WOODS)) == len(set(THINGS)) == 64
    assert 64 * 64 * (HIGHEST - LOWEST + 1) > 3_600_000


def test_codes_of_different_secrets_differ_and_all_words_come_up() -> None:
    codes = [join_code(str(number)) for number in range(4000)]
    assert len(set(codes)) > 3990  # two alike among 4000 of 3.7 million: about two pairs are expected
    assert {code.split("-")[0] for code in codes} == set(WOODS)
    assert {code.split("-")[1] for code in codes} == set(THINGS)


@pytest.mark.parametrize(
    "typed",
    ["walnut-mallet-407", "Walnut Mallet 407", "  WALNUT, mallet: 407. ", "walnut_mallet407", "walnut—mallet 407"],
)
def test_a_code_is_understood_however_it_is_typed(typed: str) -> None:
    assert typed_code(typed) == "walnut-mallet-407"


@pytest.mark.parametrize("typed", ["", "walnut", "407", "walnut mallet", "walnut mallet 4070", "\x00", "x" * 10_000])
def test_what_cannot_be_a_code_is_none(typed: str) -> None:
    assert typed_code(typed) == ""


def test_every_code_is_read_back_as_itself_and_all_numbers_of_three_digits_come_up() -> None:
    codes = [join_code(str(number)) for number in range(20_000)]
    assert all(typed_code(code) == code for code in codes)
    assert {int(code.rsplit("-", 1)[1]) for code in codes} == set(range(100, 1000))
