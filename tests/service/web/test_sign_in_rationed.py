"""Whoever tries one name after the other is shut out by address; a class that is clumsy together is not."""

from __future__ import annotations

from datetime import timedelta

from starlette.testclient import TestClient

from service.web.throttle import MOST_FROM_AN_ADDRESS, MOST_KEPT, Throttle
from tests.service.house import BEGIN
from tests.service.web.site import HERE, PHONE
from tests.service.web.test_class import WORDS, School, link_on, post, school

__all__ = ["school"]


def browser_at(school: School, address: tuple[str, int]) -> TestClient:
    """A browser anywhere."""
    return TestClient(school.app, base_url="http://localhost:8017", client=address, follow_redirects=False)  # type: ignore[arg-type]


def fail(browser: TestClient, login: str, **headers: str) -> int:
    """The answer to a wrong password."""
    return browser.post("/sign-in", data={"login": login, "password": "guess"}, headers=headers).status_code


def guess_until_shut(browser: TestClient) -> None:
    """As many names as an address may try, each once."""
    assert {fail(browser, f"name-{number}") for number in range(MOST_FROM_AN_ADDRESS)} == {403}


def test_failures_count_to_the_last_moment_of_their_time_each_for_itself() -> None:
    throttle, minute = Throttle(3, timedelta(minutes=5)), timedelta(minutes=1)
    for number in range(3):
        assert not throttle.is_shut("cay", BEGIN + number * minute)
        throttle.note_failure("cay", BEGIN + number * minute)
    assert throttle.is_shut("cay", BEGIN + 2 * minute)
    assert not throttle.is_shut("dee", BEGIN + 2 * minute)
    assert throttle.is_shut("cay", BEGIN + 5 * minute)
    opens = BEGIN + 5 * minute + timedelta(microseconds=1)
    assert not throttle.is_shut("cay", opens)
    throttle.note_failure("cay", opens)  # the third within five minutes, the first being over
    assert throttle.is_shut("cay", BEGIN + 6 * minute)


def test_the_memory_of_failures_is_bounded_and_the_first_of_them_is_forgotten_first() -> None:
    throttle = Throttle(1)
    for number in range(MOST_KEPT + 1):
        throttle.note_failure(str(number), BEGIN)
    shut = [throttle.is_shut(str(number), BEGIN) for number in (0, 1, MOST_KEPT)]
    assert shut == [False, True, True]


def test_one_name_after_the_other_shuts_the_address_for_everybody_there_for_an_hour(school: School) -> None:
    school.member("student", "cay")
    browser = school.browser()
    guess_until_shut(browser)
    shut = post(browser, "/sign-in", login="cay", password=WORDS)
    assert (shut.status_code, shut.headers["retry-after"]) == (429, "3600")
    assert "came from this network. Wait an hour" in shut.text
    assert post(browser_at(school, PHONE), "/sign-in", login="cay", password=WORDS).status_code == 303
    school.house.later(hours=1, seconds=1)
    assert post(browser, "/sign-in", login="cay", password=WORDS).status_code == 303


def test_no_header_that_claims_another_address_opens_it(school: School) -> None:
    browser = school.browser()
    guess_until_shut(browser)
    for number, header in enumerate(("x-forwarded-for", "x-real-ip", "forwarded", "x-client-ip")):
        assert fail(browser, "cay", **{header: f"10.0.0.{number}"}) == 429


def test_thirty_students_who_all_fail_until_their_names_are_shut_do_not_shut_the_address(school: School) -> None:
    school.member("student", "cay")
    browser = school.browser()
    for number in range(30):
        assert [fail(browser, f"student-{number}") for _ in range(6)] == [403] * 5 + [429]
    assert post(browser, "/sign-in", login="cay", password=WORDS).status_code == 303


def test_who_is_signed_in_stays_so_and_a_link_from_the_owner_opens_even_then(school: School) -> None:
    owner, cay = school.member("owner", "olive"), school.member("student", "cay")
    guess_until_shut(school.browser())
    assert cay.get("/").status_code == 200
    people = owner.get("/people").text
    recover = next(part for part in people.split('"') if part.endswith("/recover"))
    link = link_on(post(owner, recover))
    assert post(browser_at(school, HERE), link, password=f"{WORDS} again").status_code == 303
