"""A desk in a process of its own, a bridge's door in this one, and tablets that speak to the desk."""

from __future__ import annotations

import http.client
import json
import re
import secrets
import ssl
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

from exhibit.bridge.door_note import door_noted
from exhibit.bridge.request_door import Answer, Reply, Request, RequestDoor
from exhibit.desk.browser import DEVICE, SESSION
from exhibit.desk.passwords import hashed
from exhibit.desk.people import Device, Docent, Engineer, PeopleFile, digest_of
from exhibit.facts import kinds
from exhibit.streams.recording import RecordingWriter
from tests.decisions.heron import MACHINE, opened
from tests.pages.web_processes import WebProcess

PASSWORD = "seven slow tides"
CHEAP = (2**10, 8, 1)
WITHIN_S = 60
DESK = """
from pathlib import Path
from exhibit.desk.serving import DeskOrder, serve_desk
from tests.decisions.heron import MACHINE
here = Path({here!r})
serve_desk(
    DeskOrder(machine=MACHINE, recordings=here / "recordings", people=here / "people.json",
              saved=here / "saved", port=0, **{more}),
    lambda address: print(address, flush=True),
)
"""


class Desk(WebProcess):
    """A desk's process."""

    @property
    def port(self) -> int:
        return int(self.address.removesuffix("/today").rsplit(":", 1)[1])


class Bridge:
    """A bridge as the desk sees it: a door, and the note that says where it is."""

    def __init__(self, here: Path) -> None:
        self.asked: list[Request] = []
        self.answer: Answer | None = Answer(accepted=True)
        self._door: RequestDoor | None = RequestDoor(here / "door", self._take)
        self._noted = ExitStack()
        self._noted.enter_context(door_noted(here / "recordings", MACHINE.name, here / "door"))

    def _take(self, request: Request, reply: Reply) -> None:
        self.asked.append(request)
        if self.answer is not None:
            reply(self.answer)

    def taken(self) -> list[Request]:
        """What it was asked since the last time."""
        asked, self.asked = self.asked, []
        return asked

    def end(self) -> None:
        """It is gone."""
        self._noted.close()
        if self._door is not None:
            self._door.close()
            self._door = None


class World:
    """All that there is: the recording, the bridge, the people and the desk."""

    def __init__(self, here: Path, more: str = "{}") -> None:
        """`more` is what the desk's order says besides, as Python."""
        self.here = here
        (here / "recordings").mkdir()
        self.people = PeopleFile(here / "people.json")
        with self.people.change() as people:
            people.docents = [Docent(number=1, initials="AB"), Docent(number=2, initials="CD")]
            people.engineers = [Engineer(number=1, name="Engineer", password=hashed(PASSWORD, CHEAP))]
            people.last = {"docent": 2, "engineer": 1}
        self.writer = RecordingWriter(here / "recordings", opened(MACHINE))
        self.at_us = 0
        self.happens(kinds.LineOpened(line="x"))
        self.bridge = Bridge(here)
        self.desk = Desk(DESK.format(here=f"{here}", more=more))

    @property
    def port(self) -> int:
        return self.desk.port

    def happens(self, fact: kinds.AnyFact) -> int:
        """Records this fact. Returns its number."""
        self.at_us += 1_000_000
        return self.writer.append(fact, self.at_us).seq

    def tablet(
        self,
        initials: str = "",
        engineer: str = "",
        *,
        paired: bool = True,
        tls: ssl.SSLContext | None = None,
    ) -> Tablet:
        """A device, perhaps paired, on which perhaps somebody has signed in."""
        tablet = Tablet(self.port, tls)
        if paired:
            token = secrets.token_urlsafe(32)
            with self.people.change() as people:
                number = people.next_number("tablet")
                people.devices.append(Device(number=number, digest=digest_of(token), paired="2026-11-25"))
            tablet.cookies[DEVICE] = token
            tablet.number = number
        tablet.open()
        if initials:
            assert tablet.post("/today/sign-in", {"initials": initials})[0] == 200
        if engineer:
            assert tablet.post("/today/sign-in", {"name": engineer, "password": PASSWORD})[0] == 200
        return tablet

    def end(self) -> None:
        self.desk.end()
        self.bridge.end()
        self.writer.abandon()


@contextmanager
def world(here: Path, more: str = "{}") -> Iterator[World]:
    """One that is taken down at the end."""
    made = World(here, more)
    try:
        yield made
    finally:
        made.end()


class Tablet:
    """A browser: it keeps cookies, and shows the token of the page that it was given."""

    number = 0
    address = "127.0.0.1"

    def __init__(self, port: int, tls: ssl.SSLContext | None = None) -> None:
        self.port = port
        self.tls = tls
        self.cookies: dict[str, str] = {}
        self.token = ""
        self.cookie_lines: list[str] = []

    @property
    def origin(self) -> str:
        return f"{'https' if self.tls else 'http'}://{self.address}:{self.port}"

    def open(self) -> str:
        """Opens the page."""
        status, page = self.get("/today")
        assert status == 200
        self.token = re.findall(r'<meta name="token" content="([0-9a-f]{64})">', page)[0]
        return page

    def get(self, path: str) -> tuple[int, str]:
        return self._say("GET", path, None, {})

    def post(
        self, path: str, message: Any = None, headers: dict[str, str | None] | None = None
    ) -> tuple[int, dict[str, Any]]:
        """Status and answer. A header of None isn't sent."""
        body = message if isinstance(message, bytes) else json.dumps(message or {}).encode()
        given: dict[str, str | None] = {
            "Origin": self.origin,
            "Content-Type": "application/json",
            "X-Exhibit-Token": self.token,
            **(headers or {}),
        }
        status, text = self._say("POST", path, body, {k: v for k, v in given.items() if v is not None})
        try:
            answer = json.loads(text)
        except ValueError:
            answer = {"text": text}
        self.token = answer.get("token", self.token)
        return status, answer

    def asks(self, request: str, **more: Any) -> tuple[int, dict[str, Any]]:
        return self.post("/today/request", {"request": request, **more})

    def news(self, **has: Any) -> tuple[int, dict[str, Any]]:
        return self.post("/today/ask", has)

    def copy(self) -> Tablet:
        """What somebody has who has copied its cookies and its page."""
        copied = Tablet(self.port, self.tls)
        copied.cookies, copied.token = dict(self.cookies), self.token
        return copied

    def _say(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> tuple[int, str]:
        if self.cookies:
            headers = {"Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items()), **headers}
        connection = (
            http.client.HTTPSConnection(self.address, self.port, timeout=WITHIN_S, context=self.tls)
            if self.tls
            else http.client.HTTPConnection(self.address, self.port, timeout=WITHIN_S)
        )
        try:
            connection.request(method, path, body, headers)
            came = connection.getresponse()
            for line in came.headers.get_all("Set-Cookie") or []:
                self.cookie_lines.append(line)
                name, _, value = line.partition(";")[0].partition("=")
                assert name in (DEVICE, SESSION)
                self.cookies[name] = value
            return came.status, came.read().decode()
        finally:
            connection.close()
