"""What a visitor sees each second, while everything behind the page is stopped, killed and started again.

python -m tests.trials.never_dark [FILE]     writes the table, of about two minutes each; exit 1 if it is dark

The page is a real browser's, served by a real `exhibit page`; beneath it real demonstrations come and go.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import msgspec
from playwright.sync_api import Page, sync_playwright

from exhibit.commands.simulated_docent import act_at_front
from exhibit.commands.visitors_page import WAS_THERE, page_there
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording import read_all
from tests.pages.browser import start as start_browser
from tests.pages.web_processes import free_port

MACHINE = "whimbrel"
SPEED, SPEED_AT_LENGTH = 20, 10
"""How fast the machine runs where the pauses are short, and where they are long. At twenty times the real
speed a computer that is busy for 0.3 s makes a round fail."""
WITHIN_S = 120
BACK_AFTER_S = 2.0
"""As RestartSec in docs/always-on.md has it."""
LIVE = "simulated machine"
ORDINARY = frozenset({LIVE, "resting", "asleep", "not started", "not started today", "recorded"})
"""What a visitor may read on a day on which nothing goes wrong."""
PASSING = frozenset({"opening", "reading the record", "reconnecting"})
"""What a visitor may read for a moment, whatever happens."""
LOOK = """() => {
    const text = (id) => document.getElementById(id)?.innerText.trim() ?? "";
    const root = document.documentElement, probe = document.createElement("p");
    const badge = document.getElementById("badge");
    probe.style.color = "var(--trouble)";
    root.append(probe);
    const red = getComputedStyle(badge).color === getComputedStyle(probe).color;
    probe.remove();
    return {
        badge: badge.dataset.badge, words: text("badge-name"), since: text("badge-since"), red,
        mode: root.dataset.mode ?? "", scene: root.dataset.scene ?? "",
        caption: text("caption"), notice: text("notice"),
    };
}"""


class Seen(msgspec.Struct, frozen=True):
    """What a visitor sees at a moment."""

    badge: str
    words: str
    since: str
    red: bool
    mode: str
    scene: str
    caption: str
    notice: str
    at_s: float = 0.0
    happens: str = ""
    """What was just done behind the page."""


class Service:
    """`exhibit page`, brought back when it ends, as docs/always-on.md has a museum's computer do."""

    def __init__(self, recordings: Path, *, brings_back: bool = True) -> None:
        self.port = free_port()
        self.address = f"http://127.0.0.1:{self.port}/"
        self._recordings = recordings
        self._brings_back = brings_back
        self._over = threading.Event()
        self._process = self._start()
        self._keeper = threading.Thread(target=self._keep)
        self._keeper.start()

    def _start(self) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", "exhibit", "page", "--recordings", f"{self._recordings}"]
        place = ["--machine", MACHINE, "--port", f"{self.port}"]
        return subprocess.Popen([*command, *place], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL)

    def _keep(self) -> None:
        while not self._over.wait(0.05):
            if self._process.poll() is not None and self._brings_back:
                if self._over.wait(BACK_AFTER_S):
                    return
                self._process = self._start()

    def kill(self) -> None:
        """kill -9."""
        self._process.kill()

    def end(self) -> None:
        """Ends it for good."""
        self._over.set()
        self._keeper.join()
        self._process.kill()
        self._process.wait(WITHIN_S)


class Demonstration:
    """`exhibit demo`, whose page is the one that is there."""

    def __init__(self, recordings: Path, speed: int, *arguments: str) -> None:
        self._before = set(recordings.glob("*.exhibit"))
        self._recordings = recordings
        command = [sys.executable, "-m", "exhibit", "demo", "--no-browser", "--speed", f"{speed}"]
        self._said = (recordings / "said.txt").open("ab")
        self.process = subprocess.Popen(
            [*command, "--recordings", f"{recordings}", *arguments],
            stdin=subprocess.DEVNULL,
            stdout=self._said,
            stderr=self._said,
            start_new_session=True,
        )

    def until(self, kind: type[kinds.Fact], **like: object) -> None:
        """Waits for such a fact."""

        def is_there() -> bool:
            for path in set(self._recordings.glob("*.exhibit")) - self._before:
                with suppress(RecordingFault):
                    for entry in read_all(path).entries:
                        fact = entry.fact
                        if isinstance(fact, kind) and all(getattr(fact, k) == v for k, v in like.items()):
                            return True
            return False

        until(is_there)

    def child(self, command: str) -> int:
        """The number of its process that carries out this command."""
        return next(pid for pid in _children(self.process.pid) if command in _arguments(pid))

    def act(self, act: str) -> None:
        """Does something at the front of its simulated machine."""
        arguments = _arguments(self.child("simulate"))
        act_at_front(Path(arguments[arguments.index("--control") + 1]), act)

    def stop(self) -> None:
        """Ctrl-C."""
        self.process.send_signal(signal.SIGINT)

    def kill(self) -> None:
        """kill -9 of it and all its processes, as when the computer is cut off."""
        for pid in (*_children(self.process.pid), self.process.pid):
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)

    def end(self) -> None:
        """Ends it, whatever state it is in."""
        if self.process.poll() is None:
            self.kill()
        self.process.wait(WITHIN_S)
        self._said.close()


class World:
    """A museum's computer: recordings, the page's service, the demonstrations, and a visitor who looks."""

    def __init__(self, folder: Path, page: Page, *, second_s: float, brings_back: bool = True) -> None:
        """`second_s`: how long a pause of one second is; the trial's own length when it is 1."""
        self.recordings = folder
        self.service = Service(folder, brings_back=brings_back)
        self.page = page
        self.rows: list[Seen] = []
        self.complaints: list[str] = []
        self._second_s = second_s
        self._speed = SPEED_AT_LENGTH if second_s >= 1 else SPEED
        self._demonstrations: list[Demonstration] = []
        self._begun_s = time.monotonic()
        self._happens = ""
        page.on("pageerror", lambda error: self.complaints.append(f"{error}"))
        until(lambda: page_there(folder, MACHINE))
        there = page_there(folder, MACHINE)
        self._first_page = there.pid if there else 0

    @property
    def demo(self) -> Demonstration:
        """The newest demonstration."""
        return self._demonstrations[-1]

    def open(self) -> None:
        """The visitor's screen is switched on."""
        self.page.goto(self.service.address)
        self._begun_s = time.monotonic()
        self.look()

    def starts(self, *arguments: str) -> Demonstration:
        """Somebody starts the demonstration."""
        self.happens("exhibit demo is started")
        self._demonstrations.append(Demonstration(self.recordings, self._speed, *arguments))
        return self.demo

    def happens(self, what: str) -> None:
        """Notes in the table what is done now."""
        self._happens = what

    def look(self) -> Seen:
        """The visitor looks."""
        seen = msgspec.convert(self.page.evaluate(LOOK), Seen)
        at_s = round(time.monotonic() - self._begun_s, 1)
        seen = msgspec.structs.replace(seen, at_s=at_s, happens=self._happens)
        self._happens = ""
        self.rows.append(seen)
        return seen

    def looks_until(self, true: Callable[[Seen], bool]) -> None:
        """The visitor looks once a second until this is so."""
        give_up_s = time.monotonic() + WITHIN_S
        while not true(self.look()):
            assert time.monotonic() < give_up_s, f"it never became so: {self.rows[-1]}"
            self.page.wait_for_timeout(1000)

    def looks_for(self, seconds: float) -> None:
        """The visitor looks once a second for so long."""
        until_s = time.monotonic() + seconds * self._second_s
        while time.monotonic() < until_s:
            self.look()
            self.page.wait_for_timeout(1000)

    def until_live(self) -> None:
        """The visitor looks until the machine is shown live."""
        self.looks_until(lambda seen: seen.badge == LIVE and seen.mode == "live")

    def serves_anew(self) -> bool:
        """Whether another process than at the start serves the page."""
        there = page_there(self.recordings, MACHINE)
        return there is not None and there.pid != self._first_page

    def end(self) -> None:
        """Everything is over."""
        for demonstration in self._demonstrations:
            demonstration.end()
        there = page_there(self.recordings, MACHINE)
        self.service.end()
        if there is not None:  # one that a run has put in the place of the service's
            with suppress(ProcessLookupError):
                os.kill(there.pid, signal.SIGKILL)


def lunch(world: World) -> None:
    """The docent stops for lunch, and starts again."""
    world.starts()
    world.open()
    world.until_live()
    world.happens("Ctrl-C")
    world.demo.stop()
    world.looks_until(lambda seen: seen.badge != LIVE)
    world.looks_for(60)
    world.starts()
    world.until_live()
    world.looks_for(40)


def one_round(world: World) -> None:
    """A whole day with one round, and its evening."""
    world.open()
    world.looks_for(5)
    world.starts("--rounds", "1")
    world.until_live()
    world.looks_until(lambda seen: seen.badge != LIVE)
    world.looks_for(75)


def power_cut(world: World) -> None:
    """The machine loses its power in a round; somebody looks, and starts again."""
    _machine_goes(world, "fault power")


def key_off(world: World) -> None:
    """Somebody turns the machine's key off in a round."""
    _machine_goes(world, "key off")


def _machine_goes(world: World, act: str) -> None:
    world.starts()
    world.open()
    world.until_live()
    world.demo.until(kinds.ScriptStarted, script="round")
    world.happens(f"at the machine: {act}")
    world.demo.act(act)
    world.looks_until(lambda seen: seen.badge != LIVE)
    world.looks_for(50)
    world.happens("Ctrl-C")
    world.demo.stop()
    world.looks_for(10)
    world.demo.process.wait(WITHIN_S)
    world.starts()
    world.until_live()
    world.looks_for(30)


def bridge_killed(world: World) -> None:
    """kill -9 of the bridge; somebody starts again."""
    world.starts()
    world.open()
    world.until_live()
    world.happens("kill -9 of the bridge")
    os.kill(world.demo.child("bridge"), signal.SIGKILL)
    world.looks_until(lambda seen: seen.badge != LIVE)
    world.looks_for(60)
    world.starts()
    world.until_live()
    world.looks_for(40)


def page_killed(world: World) -> None:
    """kill -9 of the page's process; the service brings it back."""
    world.starts()
    world.open()
    world.until_live()
    world.happens("kill -9 of the page")
    world.service.kill()
    # It may be back before a visitor who looks once a second has seen that it was gone.
    world.looks_until(lambda seen: world.serves_anew() or seen.badge != LIVE)
    world.until_live()
    world.looks_for(100)


def page_killed_for_good(world: World) -> None:
    """kill -9 of the page's process, and no service brings it back; the run does."""
    page_killed(world)


def both_killed(world: World) -> None:
    """kill -9 of bridge and page; the service brings back the page, somebody the demonstration."""
    world.starts()
    world.open()
    world.until_live()
    world.happens("kill -9 of bridge and page")
    os.kill(world.demo.child("bridge"), signal.SIGKILL)
    world.service.kill()
    world.looks_until(lambda seen: seen.badge != LIVE)
    world.looks_for(60)
    world.starts()
    world.until_live()
    world.looks_for(40)


def all_restarted(world: World) -> None:
    """The computer is cut off and started again; the screen stays on."""
    world.starts()
    world.open()
    world.until_live()
    world.happens("all is cut off")
    world.demo.kill()
    world.service.kill()
    world.looks_until(lambda seen: seen.badge != LIVE)
    world.looks_for(50)
    world.starts()
    world.until_live()
    world.looks_for(40)


class Disturbance(msgspec.Struct, frozen=True):
    """What is done behind the page, and what a visitor may read then besides what is ordinary."""

    play: Callable[[World], None]
    badges: frozenset[str] = frozenset()
    may_be_red: frozenset[str] = frozenset()
    """Only where somebody has to look at the machine before it goes on."""
    brings_back: bool = True
    ends_live: bool = True

    @property
    def name(self) -> str:
        """Its name, as people write it."""
        return self.play.__name__.replace("_", " ")


AWAY = frozenset({"bridge gone", "bridge not answering"})
FAILED = frozenset({"silent", "failed"})
DISTURBANCES = [
    Disturbance(lunch),
    Disturbance(one_round, ends_live=False),
    Disturbance(power_cut, FAILED, frozenset({"failed"})),
    Disturbance(key_off, FAILED, frozenset({"failed"})),
    Disturbance(bridge_killed, AWAY),
    Disturbance(page_killed),
    Disturbance(page_killed_for_good, brings_back=False),
    Disturbance(both_killed, AWAY),
    Disturbance(all_restarted, AWAY),
]


@contextmanager
def played(disturbance: Disturbance, folder: Path, page: Page, second_s: float) -> Iterator[World]:
    """The world after this disturbance. `second_s`: how long a second of its pauses is."""
    folder.mkdir(parents=True, exist_ok=True)
    world = World(folder, page, second_s=second_s, brings_back=disturbance.brings_back)
    try:
        disturbance.play(world)
        yield world
    finally:
        world.end()


def wrong(disturbance: Disturbance, world: World) -> list[str]:
    """What a visitor should not have seen."""
    allowed = ORDINARY | PASSING | disturbance.badges
    found = [f"the page complains: {complaint}" for complaint in world.complaints]
    for seen in world.rows:
        at = f"at {seen.at_s} s"
        if seen.badge not in allowed:
            found.append(f"{at}: {seen.badge}")
        if seen.red and seen.badge not in disturbance.may_be_red:
            found.append(f"{at}: {seen.badge} in red")
        if not (seen.words and seen.caption):
            found.append(f"{at}: nothing to read")
        if "undefined" in f"{seen.words} {seen.since} {seen.caption} {seen.notice}":
            found.append(f"{at}: undefined")
    if WAS_THERE not in (world.recordings / "said.txt").read_text("utf-8"):
        found.append("the demonstration didn't find the page")
    last = world.rows[-1]
    if disturbance.ends_live and last.badge != LIVE:
        found.append(f"not live again: {last.badge}")
    return found


def table(disturbance: Disturbance, rows: list[Seen]) -> str:
    """What was seen, second by second; a line that says the same as the one before is left out."""
    said = [f"{disturbance.name}: {disturbance.play.__doc__}", ""]
    said.append(f"{'s':>6}  {'mode':9} {'red':3}  {'badge':42} caption")
    before: tuple[Any, ...] = ()
    for seen in rows:
        if seen.happens:
            said.append(f"{'':6}  -- {seen.happens}")
        now = (seen.mode, seen.red, seen.words, seen.scene, seen.caption, seen.notice)
        if now != before:
            badge = f"{seen.words} {seen.since}".strip()
            scene = f"[{seen.scene}] " if seen.scene else ""
            red = "red" if seen.red else ""
            said.append(f"{seen.at_s:6.1f}  {seen.mode:9} {red:3}  {badge:42} {scene}{seen.caption[:90]}")
            if seen.notice and (not before or before[-1] != seen.notice):
                said.append(f"{'':6}  {'':9} {'':3}  {'':42} notice: {seen.notice}")
        before = now
    return "\n".join([*said, f"{rows[-1].at_s:6.1f}  looked {len(rows)} times", ""])


def main() -> None:
    """Plays every disturbance at its whole length."""
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    tables, all_wrong = [], []
    with sync_playwright() as playwright:
        browser = start_browser(playwright)
        for disturbance in DISTURBANCES:
            page = browser.new_page(viewport={"width": 1280, "height": 800})
            with tempfile.TemporaryDirectory() as name:
                with played(disturbance, Path(name) / "recordings", page, 1.0) as world:
                    found = wrong(disturbance, world)
                tables.append(table(disturbance, world.rows) + "\n".join(f"WRONG {one}" for one in found))
            all_wrong += found
            page.close()
            print(tables[-1], flush=True)
            if out is not None:
                out.write_text("\n".join(tables))
        browser.close()
    sys.exit(bool(all_wrong))


def until(true: Callable[[], Any]) -> None:
    """Waits until this is so."""
    give_up_s = time.monotonic() + WITHIN_S
    while not true():
        assert time.monotonic() < give_up_s, "it never became true"
        time.sleep(0.05)


def _children(pid: int) -> list[int]:
    return [int(n) for n in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def _arguments(pid: int) -> list[str]:
    return Path(f"/proc/{pid}/cmdline").read_bytes().decode().split("\0")


if __name__ == "__main__":
    main()
