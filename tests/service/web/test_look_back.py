"""The pages that look back, their API, and what they print: the same numbers everywhere."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from typing import Any

import pypdfium2
import pytest

from service.domain.board import Details
from service.practice.series import METRICS
from service.use_cases.solo import SOLO
from service.web.looks import FOLDER, wall_notes
from service.web.practice_forms import Month
from service.web.routes_practice import file_words
from tests.service.house import BEGIN
from tests.service.use_cases.school import measured_end
from tests.service.web.site import Page, Site, page, photo

ROOT = FOLDER.parents[1]
LEANS = (1.0, 0.9, 1.1, 1.0, 0.8, 1.2, 0.95, 1.05, 1.0, 0.9, 1.1, 6.0)
"""Steady work, and one board at its end that is unlike the others."""


@pytest.fixture
def filled(site: Site) -> Site:
    """A dozen boards, a day apart, of two woods."""
    for number, lean in enumerate(LEANS):
        details = Details("oak" if number % 2 else "pine", None, "the old saw")
        site.house.send(photo(number), SOLO, name=f"Board {number}", details=details)
        site.house.answer(measured_end(lean))
        site.house.later(days=1)
    return site


def points(found: Page) -> list[dict[str, str]]:
    """The rows that the charts are drawn from."""
    return [given for given in found.all("tr") if "data-value" in given]


def test_the_page_says_what_to_work_on_next_with_its_evidence(filled: Site) -> None:
    found = page(filled.client.get("/trends?until=2026-03-12"))
    assert "From 11 measured boards, 2 Mar 2026 to 12 Mar 2026." in found.text
    after = found.text.partition("What to work on next")[2]
    assert "Walls in the middle third lean" in after.partition("What this rests on")[0]
    assert "over 10 boards" in after


@pytest.mark.parametrize("metric", METRICS)
def test_the_charts_are_drawn_from_the_table_and_the_table_is_what_the_api_says(filled: Site, metric: str) -> None:
    found = page(filled.client.get(f"/trends?metric={metric}"))
    chart = filled.client.get("/api/v1/trends").json()["charts"][metric]
    assert [float(row["data-value"]) for row in points(found)] == chart["points"]["value"]
    assert [float(row["data-u"]) for row in points(found)] == chart["points"]["u95"]
    assert [float(row["data-average"]) for row in points(found)] == chart["ewma"]["value"]
    (table,) = found.all("table", id="points")
    limits = {name: float(table[f"data-{name}"]) for name in ("centre", "upper", "lower")}
    assert limits == {name: chart["limits"][name] for name in limits}
    assert float(table["data-median"]) == chart["run"]["median"]
    assert len(found.all("div", **{"class": "chart"})) == 3


def test_a_board_unlike_the_others_is_marked_and_said_in_plain_words_with_a_link(filled: Site) -> None:
    found = page(filled.client.get("/trends"))
    assert "13 Mar 2026: Above the control limit: this board is unlike the others. Board 11" in found.text
    assert "data-ends" in points(found)[-1]
    assert "data-ends" not in points(found)[3]


def test_a_signal_that_comes_again_is_told_once_with_its_days_and_each_time_folded_below(site: Site) -> None:
    for number, lean in enumerate((6.0, 1.0, 6.0, *[1.0] * 20)):
        site.house.send(photo(number), SOLO, name=f"Board {number}")
        site.house.answer(measured_end(lean))
        site.house.later(days=1)
    found = page(site.client.get("/trends"))
    limit = "Above the control limit: this board is unlike the others."
    after = found.text.partition(f"2 Mar 2026 to 4 Mar 2026, 2 times; the last: {limit} Board 2")[2]
    assert after.startswith(" Each time 4 Mar 2026: Board 2 2 Mar 2026: Board 0")
    assert "Above the control limit" not in after.partition("The same as numbers")[0]
    signals = site.client.get("/api/v1/trends").json()["charts"]["abs_lean"]["signals"]
    assert sum(each["rule"] == "beyond_limits" for each in signals) == 2


def test_lengths_are_charted_in_the_persons_units(filled: Site) -> None:
    in_mm = [float(row["data-value"]) for row in points(page(filled.client.get("/trends?metric=out_of_square")))]
    filled.client.post("/settings", data={"units": "inch"})
    found = page(filled.client.get("/trends?metric=out_of_square"))
    assert [float(row["data-value"]) * 25.4 for row in points(found)] == pytest.approx(in_mm, rel=1e-12)
    assert "(in)" in found.text


def test_trends_are_narrowed_and_nonsense_in_the_address_narrows_nothing(filled: Site) -> None:
    assert len(points(page(filled.client.get("/trends?species=oak")))) == 6
    assert len(points(page(filled.client.get("/trends?since=2026-03-05&until=2026-03-06")))) == 2
    for query in ("metric=x", "boards=-1", "boards=x", "since=never", "species=%00", "until=9999-12-31"):
        assert len(points(page(filled.client.get(f"/trends?{query}")))) == 12, query
    assert "none fits the filter" in page(filled.client.get("/trends?saw=none")).text


def test_few_boards_have_a_run_chart_and_are_told_that_limits_need_more(site: Site) -> None:
    assert "Check a board first" in page(site.client.get("/trends")).text
    site.house.send(photo(0), SOLO)
    site.house.answer(measured_end())
    found = page(site.client.get("/trends"))
    assert "Limits need three boards at least." in found.text
    assert len(found.all("div", **{"class": "chart"})) == 1
    assert page(site.client.get("/trends?metric=days_between")).all("table", id="points")


def test_names_of_boards_woods_and_saws_are_text_on_these_pages_too(site: Site) -> None:
    evil = '"><script>alert(1)</script>'
    for number in range(3):
        details = Details(f"{number % 2}{evil}", None, evil)
        check = site.house.send(photo(number), SOLO, name=evil, details=details)
        site.house.answer(measured_end())
        fits = [{"socket": 0, "outcome": "seated"}]
        assert site.client.put(f"/api/v1/boards/{check.board}/fits", json=fits).status_code == 200
    for address in ("/trends", "/outcomes", "/boards?show=calendar", f"/trends?species={evil}"):
        assert "<script>alert" not in site.client.get(address).text, address


@pytest.fixture
def driven(filled: Site) -> list[str]:
    """The ids of the boards, all driven: as foretold of one pin, not of another."""
    boards = [board["id"] for board in filled.client.get("/api/v1/boards").json()["boards"]]
    for board in boards:
        fits = [{"socket": socket, "outcome": outcome} for socket, outcome in enumerate(("split", "seated", "loose"))]
        assert filled.client.put(f"/api/v1/boards/{board}/fits", json=fits).status_code == 200
    return boards


def test_outcomes_have_a_table_for_every_event_a_score_and_limits_beside_the_policy(
    filled: Site, driven: list[str]
) -> None:
    found = page(filled.client.get("/outcomes"))
    told = filled.client.get("/api/v1/outcomes").json()
    assert f"Brier score {told['overall']['brier']:.3f}" in found.text
    assert (told["boards"], told["overall"]["count"]) == (12, 36)
    for event, name in (("seats", "seats"), ("loose", "loose"), ("splitting", "splitting")):
        assert f"Predicted: {name}" in found.text
        assert sum(row["count"] for row in told["overall"]["events"][event]["rows"]) == 36
    assert sorted(told["by_wood"]) == ["oak", "pine"]
    assert "They change no verdict and no advice." in found.text
    assert [limit["policy_mm"] for limit in told["limits"]] == [0.10, 0.08]
    assert told["students"] == []


def test_means_say_of_how_many_boards_they_are(filled: Site) -> None:
    assert "Mean of 12 boards." in page(filled.client.get("/trends")).text


def test_own_limits_change_neither_verdict_nor_advice(filled: Site, driven: list[str]) -> None:
    filled.client.get("/outcomes")
    for board in driven:
        whole = filled.client.get(f"/api/v1/boards/{board}").json()
        sockets = whole["checks"][0]["result"]["sockets"]
        assert {socket["gap_limit_mm"] for socket in sockets} == {0.10}
        assert whole["standing"] == "start over"


def test_how_it_fitted_takes_a_note_and_a_photo_that_is_kept_and_not_measured(site: Site) -> None:
    board = site.board()
    fields = {"socket-0": "seated", "note": "Light taps."}
    files = {"photo": ("fit.jpg", photo(7), "image/jpeg")}
    reply = site.client.post(f"/boards/{board}/fits", data=fields, files=files)
    assert reply.headers["location"] == f"/boards/{board}#fit"
    site.work()
    whole = site.client.get(f"/api/v1/boards/{board}").json()
    assert (whole["fit_note"], whole["fits"]) == ("Light taps.", [{"socket": 0, "outcome": "seated"}])
    kept = whole["checks"][-1]
    assert (kept["view"], kept["state"], kept["result"]) == ("fit", "kept", None)
    found = page(site.client.get(f"/boards/{board}"))
    assert any(kept["id"] in image["src"] and image["alt"] == "The driven joint" for image in found.all("img"))
    assert found.all("textarea", name="note")
    assert "The driven joint, kept for the record." in page(site.client.get(f"/checks/{kept['id']}")).text
    site.client.post(f"/boards/{board}/delete")
    assert site.house.stored() == set()


def test_a_form_without_a_photo_or_a_note_says_nothing_of_them(site: Site) -> None:
    board = site.board()
    assert site.client.put(f"/api/v1/boards/{board}/fit-note", json={"note": "Light taps."}).status_code == 200
    empty = {"photo": ("", b"", "application/octet-stream")}
    site.client.post(f"/boards/{board}/fits", data={"socket-0": "loose"}, files=empty)
    whole = site.client.get(f"/api/v1/boards/{board}").json()
    assert (whole["fit_note"], len(whole["checks"])) == ("Light taps.", 1)


def test_the_calendar_shows_every_board_on_its_day_with_a_sign_and_a_way_there(filled: Site) -> None:
    found = page(filled.client.get("/boards?show=calendar&month=2026-03"))
    assert "12 boards begun in this month" in found.text
    days = {given["href"]: given["aria-label"] for given in found.all("a", **{"class": "day"})}
    assert len(days) == 12
    assert days["/boards?since=2026-03-02&until=2026-03-02"] == "One board, 2 Mar 2026"
    assert "Board 0" in page(filled.client.get("/boards?since=2026-03-02&until=2026-03-02")).text
    (today,) = found.all("td", **{"aria-current": "date"})
    assert today["class"] == "today"
    assert "6 boards begun" in page(filled.client.get("/boards?show=calendar&month=2026-03&species=oak")).text
    assert "No board begun" in page(filled.client.get("/boards?show=calendar&month=2026-02")).text


@pytest.mark.parametrize("month", ["never", "0000-01", "9999-12", "0001-01", "2026-13", "2026-3", "%00"])
def test_a_month_that_cannot_be_shown_is_this_one_or_the_first(filled: Site, month: str) -> None:
    assert filled.client.get(f"/boards?show=calendar&month={month}").status_code == 200


def test_months_follow_one_another() -> None:
    month = Month.of("2025-12", BEGIN.date())
    assert (month.after.key, month.before.key) == ("2026-01", "2025-11")
    assert Month.of("2026-01", BEGIN.date()).before.key == "2025-12"
    assert Month.of("0001-01", BEGIN.date()).before == Month(1, 1)
    assert Month.of("x", date(2026, 3, 2)) == Month(2026, 3)


def words_of(data: bytes) -> list[str]:
    """The text of every page of a PDF."""
    return [found.get_textpage().get_text_range() for found in pypdfium2.PdfDocument(data)]


def test_a_note_on_walls_is_said_once_with_the_walls_that_it_is_for() -> None:
    walls = [
        {"name": name, "flags": flags} for name, flags in (("a", ["Rough."]), ("b", []), ("c", ["Dark.", "Rough."]))
    ]
    assert wall_notes(walls) == [("Rough.", ["a", "c"]), ("Dark.", ["c"])]


def test_a_printed_board_is_a_file_with_its_day_and_its_name(site: Site) -> None:
    reply = site.client.get(f"/boards/{site.board('good Zoë: try 2')}/report.pdf")
    name = f"tailproof-board-{BEGIN.date().isoformat()}-good-zoe-try-2.pdf"
    assert reply.headers["content-disposition"] == f'inline; filename="{name}"'
    assert (file_words("x" * 80), file_words("箱")) == ("x" * 60, "")


def test_a_board_is_printed_on_one_page_from_a_button(site: Site) -> None:
    board = site.board("good box", notes="Slower.")
    assert page(site.client.get(f"/boards/{board}")).all("a", href=f"/boards/{board}/report.pdf")
    for address in (f"/boards/{board}/report.pdf", f"/api/v1/boards/{board}/report.pdf"):
        reply = site.client.get(address)
        assert reply.headers["content-type"] == "application/pdf"
        (words,) = words_of(reply.content)
        assert "good box" in words
        assert "Start over" in words
        assert "Slower." in words


def test_paper_follows_the_units_unless_it_is_asked_for(site: Site) -> None:
    board = site.board()
    assert width_mm(site, f"/boards/{board}/report.pdf") == pytest.approx(210.0, abs=0.1)  # ISO 216
    site.client.post("/settings", data={"units": "inch"})
    assert width_mm(site, f"/boards/{board}/report.pdf") == pytest.approx(215.9, abs=0.1)  # ANSI/ASME Y14.1
    assert width_mm(site, f"/boards/{board}/report.pdf?paper=a4") == pytest.approx(210.0, abs=0.1)


def width_mm(site: Site, address: str) -> float:
    return float(pypdfium2.PdfDocument(site.client.get(address).content)[0].get_width()) / 72.0 * 25.4


def test_a_period_is_printed_with_the_filters_of_the_page(filled: Site) -> None:
    links = page(filled.client.get("/trends?species=oak")).all("a")
    link = next(given["href"] for given in links if ".pdf" in given["href"])
    assert link == "/practice.pdf?species=oak"
    words = "\n".join(words_of(filled.client.get(link).content))
    assert "6 boards" in words
    assert "pine" not in words
    everything = filled.client.get("/api/v1/practice.pdf?since=2026-03-02&until=2026-03-31")
    assert "2 Mar 2026 to 31 Mar 2026" in words_of(everything.content)[0]


def test_a_period_without_boards_is_printed_as_one(site: Site) -> None:
    (words,) = words_of(site.client.get("/practice.pdf").content)
    assert "0 boards" in words
    assert "Too few boards to say what to work on" in words


def test_the_charts_library_is_named_with_its_version_and_comes_with_its_licence() -> None:
    vendor = FOLDER / "static" / "vendor"
    found = re.search(r"uPlot \(v([\d.]+)\)", (vendor / "uPlot.iife.min.js").read_text(encoding="utf-8")[:200])
    assert found is not None
    assert f"uPlot {found.group(1)} (MIT)" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert "The MIT License" in (vendor / "uPlot.LICENSE").read_text(encoding="utf-8")


def test_the_charts_library_evaluates_nothing_and_writes_no_markup() -> None:
    """The content policy would stop it: inline styles are set through style objects alone, which it allows."""
    source = (FOLDER / "static" / "vendor" / "uPlot.iife.min.js").read_text(encoding="utf-8")
    for forbidden in ("eval(", "Function(", "innerHTML", 'setAttribute("style"', "document.write", "fetch(", "XMLHttp"):
        assert forbidden not in source


def test_an_export_holds_the_fit_and_brings_it_back(site: Site) -> None:
    board = site.board()
    site.client.post(
        f"/boards/{board}/fits",
        data={"socket-0": "seated", "note": "Light taps."},
        files={"photo": ("fit.jpg", photo(7), "image/jpeg")},
    )
    site.work()
    rows = site.client.get("/export.csv").text.splitlines()
    names, pin = rows[0].split(","), next(row.split(",") for row in rows if ",pin,1," in row)
    told = dict(zip(names, pin, strict=True))
    assert (told["fitted"], told["fit_note"], told["gap_limit_mm"]) == ("seated", "Light taps.", "0.1")
    export = site.client.get("/export.json")
    before: dict[str, Any] = json.loads(export.text)["boards"][0]
    site.client.post(f"/boards/{board}/delete")
    assert site.client.post("/import", files={"file": ("e.json", export.content)}).status_code == 303
    again = json.loads(site.client.get("/export.json").text)["boards"][0]
    assert again == before
    assert again["fit_note"] == "Light taps."
    assert [check["view"] for check in again["checks"]] == ["end", "fit"]


def test_a_day_that_no_calendar_has_is_no_fault(filled: Site) -> None:
    for query in ("since=0001-01-01&until=9999-12-31", f"until={BEGIN.date() - timedelta(days=1)}"):
        assert filled.client.get(f"/api/v1/trends?{query}").status_code == 200
        assert filled.client.get(f"/api/v1/outcomes?{query}").status_code == 200
