"""The pages, as a student meets them: photograph, wait, read, note how it fitted, find again, delete."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from urllib.parse import quote

import pytest

from service.domain.fit import OUTCOMES
from service.texts import text, texts
from service.web.looks import FOLDER
from tests.service.web.site import Site, page, photo

TEMPLATES = sorted((FOLDER / "templates").glob("*.html"))


def one(images: list[dict[str, str]], part: str) -> str:
    """The address of the first image that has that part in it."""
    return next(given["src"] for given in images if part in given["src"])


def test_the_first_page_asks_for_a_photo_and_nothing_else(site: Site) -> None:
    found = page(site.client.get("/"))
    required = [
        given["name"] for tag in ("input", "select", "textarea") for given in found.all(tag) if "required" in given
    ]
    assert required == ["photos"]
    assert found.all("input", type="file")[0]["accept"].startswith("image/*")


def test_a_photo_leads_to_its_board_which_says_that_it_is_being_measured(site: Site) -> None:
    reply = site.send(photo(), name="good")
    assert reply.status_code == 303
    found = page(site.client.get(reply.headers["location"]))
    assert "The answer comes by itself" in found.text
    assert found.all("meta", **{"http-equiv": "refresh"})  # for browsers without scripts


def test_a_wood_that_the_program_does_not_know_is_said_at_the_answer(site: Site) -> None:
    said = "unobtainium is no wood that this program knows: the hardwood limit and the weakest wood count."
    assert said in page(site.client.get(f"/boards/{site.board(number=1, species='unobtainium')}")).text
    assert "no wood that this program knows" not in page(site.client.get(f"/boards/{site.board(number=2)}")).text
    assert "no wood that" not in page(site.client.get(f"/boards/{site.board(number=3, species='cherry')}")).text


def test_woods_and_saws_are_offered_where_a_board_is_changed_as_where_it_is_sent(site: Site) -> None:
    board = site.board(species="cherry", saw="Fine rip")
    found = page(site.client.get(f"/boards/{board}"))
    assert found.all("option", value="white oak")
    assert found.all("option", value="Fine rip")


@pytest.mark.parametrize(("advice", "ways"), [("photograph again", 2), ("start over", 1)])
def test_what_another_photo_may_settle_offers_to_add_one_beside_the_answer(site: Site, advice: str, ways: int) -> None:
    board = site.board()
    with site.house.ports.unit_of_work() as uow:
        check = uow.checks.get(site.check_of(board))
        assert check.answer is not None
        result = check.answer.result | {"advice": advice}
        uow.checks.put(replace(check, answer=replace(check.answer, result=result)))
        uow.commit()
    shown = page(site.client.get(f"/boards/{board}"))
    assert len(shown.all("a", href=f"/?board={board}")) == ways  # the other one stands among the photos


def test_beside_a_file_that_is_no_photo_none_of_a_form_is_sent(site: Site) -> None:
    good, bad = ("photos", ("1.jpg", photo(), "image/jpeg")), ("photos", ("notes.jpg", b"no photo", "image/jpeg"))
    reply = site.client.post("/photos", data={"name": "good"}, files=[good, bad])
    assert reply.status_code == 422
    assert "notes.jpg: " in page(reply).text
    assert "No photo was sent" in page(reply).text
    assert site.client.get("/api/v1/boards").json()["boards"] == []


def test_several_photos_of_one_form_make_one_board(site: Site) -> None:
    files = [("photos", (f"{number}.jpg", photo(number), "image/jpeg")) for number in range(3)]
    reply = site.client.post("/photos", data={"name": "good"}, files=files)
    board = site.client.get("/api/v1" + reply.headers["location"]).json()
    assert len(board["checks"]) == 3


def test_the_answer_shows_the_picture_first_then_the_verdict_then_the_numbers(site: Site) -> None:
    reply = site.client.get(f"/boards/{site.board()}")
    found = page(reply)
    order = [reply.text.index(part) for part in ('class="overlay"', 'class="sentence"', "All numbers", "Where the unc")]
    assert order == sorted(order)
    assert "Start over: pin between tails 1 and 2 too tight; pin between tails 2 and 3 loose." in found.text
    assert "Saws and chisels cut hands" in found.text
    alt = found.all("img")[0]["alt"]
    assert "Start over" in alt


def test_a_refusal_says_what_to_do_and_offers_the_kept_photo_for_another_try(site: Site) -> None:
    board = site.board("cardless")
    found = page(site.client.get(f"/boards/{board}"))
    assert "No card was found in the photo." in found.text
    assert "Lay the printed card beside the end" in found.text
    check = site.check_of(board)
    assert found.all("form", action=f"/checks/{check}/again")
    site.client.put(f"/api/v1/boards/{board}", json={"name": "good now", "details": {}})
    assert site.client.post(f"/checks/{check}/again", data={"stage": "cleared"}).status_code == 303
    site.work()
    answer = site.client.get(f"/api/v1/checks/{check}").json()
    assert (answer["state"], answer["result"]["stage"]) == ("measured", "cleared")


def test_a_new_photo_that_could_not_be_measured_is_told_above_the_answer_that_stands(site: Site) -> None:
    board = site.board()
    site.client.put(f"/api/v1/boards/{board}", json={"name": "cardless", "details": {}})
    site.send(photo(1), board=board)
    site.work()
    reply = site.client.get(f"/boards/{board}")
    told, second = page(reply), site.client.get(f"/api/v1/boards/{board}").json()["checks"][1]["id"]
    assert "Photo 2 could not be measured: No card was found in the photo." in told.text
    assert reply.text.index("could not be measured") < reply.text.index('class="overlay"')
    assert len(told.all("a", href=f"/checks/{second}")) == 3  # in that sentence, at a glance, and among the photos
    assert "could not be measured" not in page(site.client.get(f"/checks/{second}")).text


def test_photos_of_a_board_are_led_to_from_its_top_once_there_are_several(site: Site) -> None:
    board = site.board()
    assert 'class="glance"' not in site.client.get(f"/boards/{board}").text
    site.send(photo(1), board=board)
    site.work()
    reply = site.client.get(f"/boards/{board}")
    assert reply.text.index('class="glance"') < reply.text.index('class="overlay"')
    assert "1 · end" in page(reply).text


def test_numbers_and_pins_follow_the_units_chosen(site: Site) -> None:
    board = site.board()
    assert " mm wide" in page(site.client.get(f"/boards/{board}")).text
    site.client.post("/settings", data={"units": "inch"})
    assert " in wide" in page(site.client.get(f"/boards/{board}")).text


def test_what_was_said_of_one_board_is_offered_for_the_next(site: Site) -> None:
    site.board(species="cherry", saw="Fine rip", thickness="19", notes="only of this one")
    found = page(site.client.get("/"))
    offered = {given["name"]: given.get("value", "") for given in found.all("input")}
    assert (offered["species"], offered["saw"], offered["thickness"]) == ("cherry", "Fine rip", "")
    assert "Wood, saw and more : cherry, Fine rip" in found.text  # said also while the fields are folded away
    assert "only of this one" not in found.text


@pytest.mark.parametrize(("typed", "mm"), [("3/4", 19.05), ("1 1/4", 31.75), ("0.75", 19.05), ("19mm", 19.0)])
def test_thickness_is_typed_in_inches_as_people_write_them(site: Site, typed: str, mm: float) -> None:
    site.client.post("/settings", data={"units": "inch"})
    board = site.board(thickness=typed)
    kept = site.client.get(f"/api/v1/boards/{board}").json()["details"]["thickness_mm"]
    assert kept == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize("typed", ["thick", "0", "900", "1/0"])
def test_a_thickness_that_cannot_be_is_said_on_a_page_and_nothing_is_stored(site: Site, typed: str) -> None:
    site.client.post("/settings", data={"units": "inch"})
    reply = site.send(photo(), thickness=typed)
    assert reply.status_code == 422
    assert "thickness" in page(reply).text
    assert site.house.stored() == set()


def test_a_form_without_a_photo_says_so(site: Site) -> None:
    reply = site.client.post("/photos", files={"photos": ("", b"", "application/octet-stream")})
    assert reply.status_code == 422


def test_a_file_that_is_empty_is_told_from_none(site: Site) -> None:
    reply = site.send(b"")
    assert reply.status_code == 422
    assert text("check.empty_file") in page(reply).text


def test_a_file_that_is_no_photo_is_refused_with_what_to_do(site: Site) -> None:
    reply = site.send(b"%PDF-1.7")
    assert reply.status_code == 422
    assert "Send the photo as the phone saved it" in page(reply).text


def test_how_each_socket_fitted_is_kept_and_shown_again(site: Site) -> None:
    board = site.board()
    said = {"socket-0": "seated", "socket-1": "split", "socket-2": "", "socket-3": "nonsense"}
    assert site.client.post(f"/boards/{board}/fits", data=said).status_code == 303
    found = page(site.client.get(f"/boards/{board}"))
    chosen = {(given["name"], given["value"]) for given in found.all("input", type="radio") if "checked" in given}
    assert chosen == {("socket-0", "seated"), ("socket-1", "split"), ("socket-2", ""), ("socket-3", "")}
    offered = {given["value"] for given in found.all("input", name="socket-0")}
    assert offered == {"", *OUTCOMES}


def test_fields_of_no_socket_say_nothing_of_the_fit(site: Site) -> None:
    board = site.board()
    said = {"socket-²": "seated", "socket-60": "seated", "socket-x": "seated", "socket-1": "split"}
    assert site.client.post(f"/boards/{board}/fits", data=said).status_code == 303
    fits = site.client.get(f"/api/v1/boards/{board}").json()["fits"]
    assert [(fit["socket"], fit["outcome"]) for fit in fits] == [(1, "split")]


def test_the_log_is_searched_and_narrowed_and_shown_as_gallery_or_list(site: Site) -> None:
    made = site.board("good box", 1, species="oak"), site.board("cardless tray", 2, species="pine")
    gallery = page(site.client.get("/boards"))
    assert len([given for given in gallery.all("a") if given.get("class") == "tile"]) == 2
    narrowed = page(site.client.get("/boards", params={"species": "oak", "show": "list"}))
    assert "good box" in narrowed.text
    assert "cardless tray" not in narrowed.text
    assert "One board" in page(site.client.get("/boards", params={"standing": "refused"})).text
    assert "No board fits" in page(site.client.get("/boards", params={"text": "nothing like it"})).text
    for board in made:
        site.client.post(f"/boards/{board}/delete")
    empty = page(site.client.get("/boards", params={"show": "list"}))
    assert "Print the card first" in empty.text
    assert not empty.all("table")


@pytest.mark.parametrize(
    "query",
    ["page=0", "page=-3", "page=x", "page=99999999999999999999", "since=never", "standing=x", "text=%00", "saw=%00%01"],
)
def test_an_address_with_nonsense_in_it_still_shows_the_log(site: Site, query: str) -> None:
    assert site.client.get(f"/boards?{query}").status_code == 200


@pytest.mark.parametrize("address", ["/boards/%00", "/checks/a%00b", "/boards/%F0%9F%AA%B5"])
def test_an_id_that_cannot_be_is_not_there(site: Site, address: str) -> None:
    assert site.client.get(address).status_code == 404


def test_a_deleted_board_is_gone_from_page_log_and_disk(site: Site) -> None:
    board = site.board()
    picture = page(site.client.get(f"/boards/{board}")).all("img")[0]["src"]
    assert site.client.post(f"/boards/{board}/delete").headers["location"] == "/boards"
    assert site.client.get(f"/boards/{board}").status_code == 404
    assert site.client.get(picture).status_code == 404
    assert site.house.stored() == set()


def test_what_people_write_is_shown_as_text_and_never_as_markup(site: Site) -> None:
    evil = '"><script>alert(1)</script>'
    board = site.board(f"good {evil}", notes=evil, saw=evil)
    for address in (f"/boards/{board}", "/boards", "/boards?show=list", "/", f"/boards?text={quote(evil)}"):
        shown = site.client.get(address)
        assert "<script>alert" not in shown.text
        assert evil in page(shown).text, address


def test_pictures_are_served_as_pictures_and_nothing_else(site: Site) -> None:
    board = site.board()
    found = page(site.client.get(f"/boards/{board}"))
    addresses = {given["src"] for given in found.all("img")} | {
        a["href"] for a in found.all("a") if "/original/" in a["href"]
    }
    assert len(addresses) >= 4
    for address in addresses:
        reply = site.client.get(address)
        assert reply.status_code == 200
        assert reply.headers["content-type"] == "image/jpeg"
        assert reply.headers["content-security-policy"] == "default-src 'none'; sandbox"
        assert reply.headers["content-disposition"].startswith("inline; filename=")
        assert "immutable" in reply.headers["cache-control"]


def test_a_page_older_than_its_pictures_is_led_to_those_that_took_their_place(site: Site) -> None:
    board = site.board()
    check = site.check_of(board)
    now = {f"/boards/{board}/thumbnail": page(site.client.get("/boards")).all("img")[0]["src"]}
    shown = page(site.client.get(f"/boards/{board}")).all("img")
    now |= {f"/pictures/{check}/{which}": one(shown, f"/{which}/") for which in ("overlay", "screen")}
    for folder, address in now.items():
        reply = site.client.get(f"{folder}/before.jpg")
        assert (reply.status_code, reply.headers["location"]) == (307, address)
        assert reply.headers["cache-control"] == "no-store"
        assert site.client.get(address).status_code == 200
    for missing in (f"/pictures/{check}/original/before.jpg", "/boards/never/thumbnail/before.jpg"):
        assert site.client.get(missing).status_code == 404


def test_moments_are_written_so_that_a_browser_can_tell_them_in_its_own_time(site: Site) -> None:
    shown = page(site.client.get(f"/boards/{site.board()}"))
    moments = [datetime.fromisoformat(given["datetime"]) for given in shown.all("time")]
    assert {moment.utcoffset() for moment in moments} == {timedelta(0)}
    assert f"Measured {moments[0].day} {moments[0]:%b %Y, %H:%M} UTC in" in " ".join(shown.text.split())


def test_help_says_how_to_photograph_a_face_and_what_the_words_mean(site: Site) -> None:
    found = page(site.client.get("/help"))
    assert found.all("section", id="face")
    assert "Lay the card flat on the face, below the baseline" in found.text
    words = {"show_face", "transfer_face", "kerf", "socket", "lean", "taper", "squeeze"}
    assert all(f"{text(f'glossary.{word}')} {text(f'glossary.{word}_text')}" in found.text for word in words)
    assert page(site.client.get("/")).all("a", href="/help")[1:]  # beside what is to be photographed, too


def test_the_card_is_there_to_print(site: Site) -> None:
    links = [given["href"] for given in page(site.client.get("/help")).all("a") if given["href"].endswith(".pdf")]
    assert len(links) == 4
    for link in links:
        assert site.client.get(link).content.startswith(b"%PDF")


def test_a_phone_can_put_the_site_on_its_home_screen(site: Site) -> None:
    manifest = site.client.get("/app.webmanifest").json()
    assert manifest["display"] == "standalone"
    for icon in manifest["icons"]:
        assert site.client.get(icon["src"]).status_code == 200


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_pages_say_only_what_the_catalogue_of_texts_says(template: Path) -> None:
    """Between tags and expressions no letters are left: every word can be translated in one place."""
    source = template.read_text(encoding="utf-8")
    bare = re.sub(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", " ", source, flags=re.DOTALL)
    bare = re.sub(r"<[^>]*>|(?<!\S)/\w+", " ", bare)  # what is left of a macro that makes an address
    assert re.findall(r"[A-Za-z]{2,}", bare) == []


def test_every_text_of_the_catalogue_is_said_somewhere() -> None:
    places = [*TEMPLATES, *Path(FOLDER).parent.rglob("*.py"), Path(FOLDER).parent / "texts.py"]
    source = "\n".join(path.read_text(encoding="utf-8") for path in places)
    computed = {
        "outcome",
        "standing",
        "work_on",
        "progress_word",
        "site",
    }  # keys are words of the domain or names of pages
    keys = [(section, key) for section, found in texts().items() if section not in computed for key in found]
    by_part = re.findall(r'"(\w+_)" ~|~ "(_\w+)"', source)
    parts = tuple(part for pair in by_part for part in pair if part)
    chosen = {section for pair in re.findall(r't\.(\w+)\[|f"(\w+)\.{', source) for section in pair}
    unused = [
        f"{section}.{key}"
        for section, key in keys
        if not re.search(rf"""(\bt\.|["']){section}\.{key}\b""", source)
        and not (section in chosen and (f'"{key}"' in source or key.startswith(parts) or key.endswith(parts)))
    ]
    assert not unused, ", ".join(unused)


def test_other_notes_do_not_round_a_thickness_that_is_shown_in_inches(site: Site) -> None:
    board = site.board(thickness="19.05")
    before = site.client.get(f"/api/v1/boards/{board}").json()
    site.client.post("/settings", data={"units": "inch"})
    site.client.post(f"/boards/{board}", data={"thickness": "0.75", "notes": "the long side"})
    after = site.client.get(f"/api/v1/boards/{board}").json()
    assert after["details"] == before["details"] | {"notes": "the long side"}
    odd = site.board("good odd one", 1, thickness="19mm")
    site.client.post(f"/boards/{odd}", data={"thickness": "0.748", "notes": "the long side"})
    assert site.client.get(f"/api/v1/boards/{odd}").json()["details"]["thickness_mm"] == 19.0
