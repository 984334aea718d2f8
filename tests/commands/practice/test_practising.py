"""A whole practice by the docent's page's own interface, at speed; and what is said of it at the end."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from exhibit.commands.practice.practising import OWN_ADDRESS
from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from exhibit.web.places import scripts_folder
from tests.desk.desks import Tablet

pytestmark = pytest.mark.waits

FOLDER = scripts_folder() / "whimbrel"
SPEED = "10"
WITHIN_S = 150.0


class Practice:
    """`exhibit practice`, with a browser at its page."""

    def __init__(self, place: Path, *options: str) -> None:
        self.place = place
        self.process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", "practice", f"{FOLDER}"]
            + ["--speed", SPEED, "--port", "0", *options],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env={**os.environ, "XDG_DATA_HOME": f"{place}"},
        )
        self.said = ""
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()
        self._wait(lambda: "#code=" in self.said)
        port, code = re.findall(rf"http://{re.escape(OWN_ADDRESS)}:(\d+)/today#code=(\d{{8}})", self.said)[0]
        self.tablet = PracticeTablet(int(port))
        self.items: dict[str, Any] = {}
        self.badge: dict[str, Any] = {}
        self._has: dict[str, Any] = {}
        self.tablet.open()
        assert '"practice":true' in self.tablet.get("/today/who")[1].replace(" ", "")
        assert self.tablet.post("/today/pair", {"code": code})[0] == 200
        assert self.tablet.post("/today/sign-in", {"initials": "practice"})[0] == 200

    def _listen(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.said += line

    def _wait(self, true: Callable[[], object]) -> None:
        give_up_s = time.monotonic() + WITHIN_S
        while not true():
            assert time.monotonic() < give_up_s, self.said[-3000:]
            assert self.process.poll() is None, self.said[-3000:]
            time.sleep(0.1)

    def look(self) -> None:
        """The page asks for what is new."""
        status, answer = self.tablet.news(**self._has)
        assert status == 200, answer
        self.badge = answer["badge"]
        picture = answer.get("picture") or {}
        self.items |= picture.get("items", {})
        self._has = {"stream": answer["stream"], "after": picture.get("seq", 0), "news": answer["news"]}

    def until(
        self, true: Callable[[], object], answer: Callable[[dict[str, Any]], str | None] = lambda _: "confirm"
    ) -> None:
        """Waits for that, and meanwhile answers what is asked; `answer` chooses what."""
        give_up_s = time.monotonic() + WITHIN_S
        while not true():
            assert time.monotonic() < give_up_s, (self.items.get("doing"), self.said[-3000:])
            self.look()
            assert self.badge["practice"]
            doing = self.items.get("doing")
            assert true() or not doing or doing["kind"] != "failure", self.said[-3000:]
            if doing and doing["kind"] in ("hands on", "date") and (chosen := answer(doing)):
                self.tablet.asks(chosen, step=doing["step"])
            time.sleep(0.1)

    @property
    def phase(self) -> str:
        return (self.items.get("today") or {}).get("phase", "")

    def facts(self, kind: type) -> list[Any]:
        files = sorted((self.place / "exhibit" / "practice").rglob("*.exhibit"))
        return [one.fact for file in files for one in read_all(file).entries if isinstance(one.fact, kind)]

    def end(self) -> int:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        status = self.process.wait(WITHIN_S)
        self._listener.join(WITHIN_S)
        if self.process.stdout is not None:
            self.process.stdout.close()
        return status


class PracticeTablet(Tablet):
    """A browser at the address that is the practice's own."""

    address = OWN_ADDRESS


@pytest.fixture
def practice(tmp_path):
    begun: list[Practice] = []

    def begin(*options: str) -> Practice:
        begun.append(Practice(tmp_path, *options))
        return begun[-1]

    yield begin
    for one in begun:
        one.end()


def english(practice: Practice) -> list[str]:
    return [line["en"] for line in practice.items["practice"] or []]


def test_a_day_is_practised_from_the_opening_to_the_closing_and_said_kindly(practice, tmp_path):
    day = practice()
    day.tablet.asks("open")
    day.until(lambda: day.phase == "rounds")
    day.tablet.asks("close")
    day.until(lambda: day.phase == "over" and day.items["practice"])

    said = english(day)
    assert said[0] == "Thank you for practising. Steps by hand that you did: 12 of 12."
    assert said[-1].startswith("Next, try a practice with a START that is pressed too early.")
    assert day.end() == 0
    assert all(line in day.said for line in said)
    opened = day.facts(kinds.RecordingOpened)
    assert [(one.practice, one.machine_is) for one in opened] == [(True, "simulated")]
    assert day.facts(kinds.SessionFailed) == []
    assert all(fact.line.startswith("/dev/pts/") for fact in day.facts(kinds.LineOpened))
    assert not (tmp_path / "exhibit" / "recordings").exists()


def test_a_pack_that_can_be_written_on_is_noticed(practice):
    day = practice("--mistake", "pack")
    day.tablet.asks("open")
    day.until(lambda: day.items.get("troubles"))
    assert day.tablet.asks("seen", about=day.items["troubles"][0]["raised"])[1]["accepted"]
    day.end()
    planted = (
        "The practice did this, not you: it set a pack’s switch wrong, so that the pack could be written on."
    )
    assert planted in day.said
    assert "you chose “I have seen it”. That was the right way." in day.said
