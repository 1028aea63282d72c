"""A photo that was sent as something else than it shows: its page says so, and has it measured as that."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.texts import text
from service.use_cases.solo import ensure_solo
from service.web.app import create_app
from tests.service.house import House
from tests.service.web.site import HERE, Site, page

SAMPLES = Path(__file__).parents[3] / "sample_images"
FACE, END, CUT_MISSING = "pine-sawn-pencil-show.jpg", "pine-sawn-pencil.jpg", "ash-refused-missing-cut.jpg"


@pytest.fixture
def measuring(real_house: House) -> Iterator[Site]:
    """The service in solo mode with the real measuring core."""
    ensure_solo(real_house.ports)
    app = create_app(real_house.ports, real_house.data)
    with TestClient(app, base_url="http://localhost:8017", client=HERE, follow_redirects=False) as client:
        yield Site(client, real_house)


@pytest.mark.parametrize(
    ("photo", "view", "said", "chosen"),
    [
        (FACE, "end", "board.perhaps_face", "show"),
        (END, "transfer", "board.perhaps_end", "end"),
        (CUT_MISSING, "end", "board.perhaps_practice", "end"),
    ],
)
def test_a_photo_sent_as_another_view_is_asked_about_and_measured_as_what_it_shows(
    measuring: Site, photo: str, view: str, said: str, chosen: str
) -> None:
    address = measuring.send((SAMPLES / photo).read_bytes(), view=view).headers["location"]
    measuring.work()
    shown = page(measuring.client.get(address))
    every = ("board.perhaps_face", "board.perhaps_end", "board.perhaps_practice")
    assert [key for key in every if text(key) in shown.text] == [said]
    assert {each["value"] for each in shown.all("option") if "selected" in each} >= {chosen}
    if photo != CUT_MISSING:
        check = measuring.check_of(address.rsplit("/", 1)[1])
        measuring.client.post(f"/checks/{check}/again", data={"view": chosen})
        measuring.work()
        assert measuring.client.get(f"/api/v1/checks/{check}").json()["state"] == "measured"
