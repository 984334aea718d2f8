"""A docent's day: `exhibit today` at the simulated machine, its page in a browser, and the machine's front.

The docent knows only what the page says: a step by its words, an answer by its button.
"""

from __future__ import annotations

import os
import pty
import re
import signal
import subprocess
import sys
import threading
import time
import tomllib
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

import msgspec
from playwright.sync_api import Page

from exhibit.bridge.door_note import DoorNote
from exhibit.commands.simulated_docent import act_at_front, read_acts
from exhibit.desk.passwords import hashed
from exhibit.desk.people import Docent, Engineer, PeopleFile
from exhibit.folder.secret_words import demo_secrets
from exhibit.simulator import truth
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.streams.recording import read_all
from exhibit.web.places import scripts_folder

FOLDER = scripts_folder() / "whimbrel"
SPEED = 10
WITHIN_S = 90.0
Kind = TypeVar("Kind")
PASSWORD = "seven slow tides"
NO_WORD = """
(() => {
    globalThis.oddities = [];
    const look = () => {
        const said = `${document.title} ${document.body?.textContent ?? ""}`;
        const odd = said.match(/\\b(undefined|null|NaN)\\b|\\[object/);
        if (odd) globalThis.oddities.push(odd[0]);
    };
    addEventListener("DOMContentLoaded", () => new MutationObserver(look).observe(document, {
        childList: true, subtree: true, characterData: true,
    }));
})();
"""
"""Notes each word that only a mistake can have put there, at whatever moment it stood on the page."""


class DocentsDay:
    """The processes of the day, what they wrote, and the page in the docent's hands."""

    def __init__(self, place: Path, page: Page) -> None:
        self.page = page
        self.recordings, self.front, self._truth = place / "recordings", place / "front", place / "truth"
        secrets = {f"EXHIBIT_SECRET_{name.upper()}": word for name, word in demo_secrets(WORDS).items()}
        self._environ = {**os.environ, **secrets, "XDG_DATA_HOME": f"{place}"}
        with PeopleFile(place / "exhibit/people.json").change() as people:
            people.docents = [Docent(number=1, initials="AB")]
            cheap = hashed(PASSWORD, (2**10, 8, 1))
            people.engineers = [Engineer(number=1, name="Engineer", password=cheap)]
            people.last = {"docent": 1, "engineer": 1}
        self._exhibit = [sys.executable, "-m", "exhibit"]
        self._machine = subprocess.Popen(
            [*self._exhibit, "simulate", "--speed", f"{SPEED}", "--control", f"{self.front}"]
            + ["--truth", f"{self._truth}"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._machine.stdout is not None
        line = self._machine.stdout.readline().strip().removeprefix("line: ")
        self._terminal, theirs = pty.openpty()
        self._process = subprocess.Popen(
            [*self._exhibit, "today", f"{FOLDER}", "--line", line, "--rate", f"{SPEED}", "--port", "0"]
            + ["--desk-port", "0", "--recordings", f"{self.recordings}"],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env=self._environ,
            start_new_session=True,
        )
        os.close(theirs)
        self.said = ""
        threading.Thread(target=self._listen, daemon=True).start()
        self.by = "docent 1"
        self.pressed: list[tuple[str, str]] = []
        """The buttons by their words, and who pressed them, as the recording has it."""
        words = tomllib.loads((FOLDER / "captions/en.toml").read_text())["hands_on"]
        acts = [pair for script in read_acts(FOLDER).values() for pair in script.items()]
        self._acts = [(words[step].split("{")[0], done) for step, done in acts if step in words]

    def _listen(self) -> None:
        with suppress(OSError):
            while True:
                self.said += os.read(self._terminal, 4096).decode(errors="replace")

    # -- what can be found out

    def until(self, true: Callable[[], object], within_s: float = WITHIN_S) -> None:
        """Waits for that."""
        give_up_s = time.monotonic() + within_s
        while not true():
            assert self._process.poll() is None, self.said[-2000:]
            assert time.monotonic() < give_up_s, f"{self.block()}\n{self.said[-2000:]}"
            self.page.wait_for_timeout(50)

    def block(self) -> dict[str, str]:
        """The words of the large block, by their place."""
        places = ["kind", "caution", "says", "detail", "picture", "answers", "answer-said", "lines"]
        told: dict[str, str] = self.page.evaluate(
            """(places) => ({
                what: document.getElementById("block")?.dataset.what ?? "",
                ...Object.fromEntries(places.map((id) => [id, document.getElementById(id)?.innerText ?? ""])),
            })""",
            places,
        )
        return told

    def says(self, words: str) -> bool:
        """Whether the block says that, anywhere."""
        return any(words in text for text in self.block().values())

    def facts(self, kind: type[Kind]) -> list[Kind]:
        """The facts of this kind, of all recordings."""
        files = sorted(self.recordings.glob("*.exhibit"))
        entries = [entry for file in files for entry in read_all(file).entries]
        return [entry.fact for entry in entries if isinstance(entry.fact, kind)]

    def log(self) -> list[truth.AnyRecord]:
        """The simulator's own log."""
        return [truth.from_line(line) for line in self._truth.read_bytes().splitlines()]

    def summary(self) -> str:
        """What `exhibit summary` says of the day: its words."""
        command = [*self._exhibit, "summary", f"{self.recordings}", "--language", "en"]
        told = subprocess.run(command, capture_output=True, text=True, check=True, env=self._environ).stdout
        return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", re.sub(r"(?s)<style.*?</style>", "", told)))

    # -- what the docent does

    def signs_in(self) -> None:
        """Opens the page, pairs the tablet, and taps the initials."""
        self.page.add_init_script(NO_WORD)
        self.until(lambda: "The docent's page: " in self.said)
        found = re.search(r"The docent's page: (\S+)", self.said)
        assert found is not None
        self.page.goto(found[1])
        command = [*self._exhibit, "desk", "pair"]
        told = subprocess.run(command, capture_output=True, text=True, check=True, env=self._environ).stdout
        code = re.search(r"\d{4} \d{4}", told)
        assert code is not None
        self.page.fill("#code", code[0])
        self.page.click("#pair button")
        self._taps_initials()

    def _taps_initials(self) -> None:
        self.page.get_by_role("button", name="AB", exact=True).click()
        self.page.wait_for_selector("#sign-out:not([hidden])")

    def engineer_signs_in(self) -> None:
        """The docent goes, and an engineer comes."""
        self.page.click("#sign-out")
        self.page.click("#engineers summary")
        self.page.fill("#name", "Engineer")
        self.page.fill("#password", PASSWORD)
        self.page.click("#engineer button")
        self.page.wait_for_selector("#sign-out:not([hidden])")
        self.by = "engineer 1"

    def docent_signs_in(self) -> None:
        """The engineer goes, and the docent comes back."""
        self.page.click("#sign-out")
        self._taps_initials()
        self.by = "docent 1"

    def presses(self, label: str, within: str = "#block") -> None:
        """Presses the button with these words, as soon as it can be pressed."""
        button = self.page.locator(f"{within} button", has_text=label).first
        button.click()
        self.pressed.append((label, self.by))

    def is_done(self) -> None:
        """Presses "Done", and waits until the page has moved on from that."""
        before = self.block()
        self.presses("Done")
        self.until(lambda: (self.block()["what"], self.block()["says"]) != (before["what"], before["says"]))

    def is_sure(self, label: str) -> None:
        """Presses the button with these words, and once more where the page asks about it."""
        self.page.locator("#block button", has_text=label).first.click()
        self.until(lambda: self.says("Please confirm"))
        self.presses(label)

    def at_front(self, act: str) -> str:
        """Does something at the machine's front."""
        return act_at_front(self.front, act)

    def does(self) -> str:
        """Does at the front what the block asks for. Returns its words."""
        block = self.block()
        assert block["what"] == "asked", block
        (acts,) = [acts for words, acts in self._acts if block["says"].startswith(words)]
        for act in acts:
            if "{start}" in act:
                start = re.search(r"\d{8}", block["picture"])
                assert start is not None
                act = act.replace("{start}", start[0])
            answer = self.at_front(act)
            assert answer.startswith("done:") or " is in the " in answer, answer  # a pack may be in already
        return block["says"]

    def asked(self, words: str) -> None:
        """Waits until the step with these words is asked for."""
        self.until(lambda: self.block()["what"] == "asked" and self.says(words))

    def does_until(self, true: Callable[[], object]) -> None:
        """Does each step that is asked for and says so, until that is true."""
        done = [""]

        def look() -> bool:
            block = self.block()  # before it is asked whether that is so, lest the last step is done too
            if true():
                return True
            if block["what"] == "asked" and block["says"] != done[0]:
                done[0] = self.does()
                self.is_done()
            elif block["what"] == "late" and "LOWER READY" in block["lines"] and self.says("lower ready"):
                self.presses("Leave it out")  # the drive was ready before the docent had said "Done"
            return False

        self.until(look)

    def kill_bridge(self) -> None:
        """kill -9."""
        note = self.recordings / "door-whimbrel.json"
        os.kill(msgspec.json.decode(note.read_bytes(), type=DoorNote).pid, signal.SIGKILL)

    def ends(self) -> None:
        """The processes end."""
        for process in (self._process, self._machine):
            if process.poll() is None:
                process.send_signal(signal.SIGINT)
                process.wait(WITHIN_S)
        assert self._machine.stdout is not None
        self._machine.stdout.close()
        os.close(self._terminal)
