"""A service to be asked, and its pages taken apart."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import Any

import numpy as np
from httpx2 import Response
from starlette.testclient import TestClient

from service.jobs.measuring import Bench, measure
from service.use_cases.answer_job import finish_job, take_job
from tests.service.house import House
from tests.vision.photos import encoded, picture

HERE, PHONE = ("127.0.0.1", 50000), ("192.168.1.77", 50000)
ADDRESS = "http://192.168.1.5:8017/"


@dataclass(frozen=True)
class Site:
    """The client, and the house behind it."""

    client: TestClient
    house: House

    def send(self, photo: bytes, **fields: str) -> Response:
        """A photo through the form of the first page."""
        return self.client.post("/photos", data=fields, files={"photos": ("IMG_1.jpg", photo, "image/jpeg")})

    def board(self, name: str = "good", number: int = 0, **fields: str) -> str:
        """The id of a new board of that name with one photo, answered."""
        reply = self.send(photo(number), name=name, **fields)
        assert reply.status_code == 303, reply.text
        self.work()
        return str(reply.headers["location"].rsplit("/", 1)[1])

    def work(self) -> None:
        """Do all jobs that wait."""
        while (task := take_job("w", 60.0, self.house.ports)) is not None:
            bench = Bench(self.house.ports.photos, self.house.data)
            assert finish_job(task, measure(task, bench), self.house.ports)

    def check_of(self, board: str) -> str:
        """The id of a board's first photo."""
        return str(self.client.get(f"/api/v1/boards/{board}").json()["checks"][0]["id"])


@dataclass(frozen=True)
class Lan:
    """The computer that the service runs on, and a phone on its network."""

    here: Site
    phone: TestClient

    def offer(self) -> str:
        """The path of a fresh pairing link, as the page shows it."""
        reply = self.here.client.post("/devices/offer")
        link = re.search(rf"{re.escape(ADDRESS)}(pair/[\w-]+)", reply.text)
        assert link is not None, reply.text
        return f"/{link.group(1)}"

    def pair(self) -> None:
        """Pair the phone."""
        assert self.phone.post(self.offer()).status_code == 303


def photo(number: int = 0) -> bytes:
    """A photo unlike that of any other number."""
    pixels = picture().copy()
    pixels[:8, :8] = np.uint8(number % 256)
    return encoded(pixels, "JPEG")


@dataclass
class Page:
    """The elements of a page in their order, each as its tag and attributes, and all its text."""

    elements: list[tuple[str, dict[str, str]]]
    text: str

    def all(self, tag: str, **wanted: str) -> list[dict[str, str]]:
        """Attributes of every such element."""
        return [given for name, given in self.elements if name == tag and wanted.items() <= given.items()]


class _Parser(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, Any]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_data(self, data: str) -> None:
        self.words += data.split()


def page(reply: Response) -> Page:
    """An HTML answer, taken apart."""
    assert reply.headers["content-type"].startswith("text/html"), reply.text
    parser = _Parser()
    parser.feed(reply.text)
    return Page(parser.elements, " ".join(parser.words))
