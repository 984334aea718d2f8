"""A visit: the scripts in scripts/posix, run by the real program on a real host, and their results."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import TypeVar

import pyte

from exhibit.bridge.request_door import Request, ask
from exhibit.decisions.page.console_view import ConsoleView
from exhibit.facts import kinds
from exhibit.streams.recording import Tail, read_all
from exhibit.web.places import scripts_folder
from tests.commands.posix_host import LOOK_EVERY_S, SECRET, Account, Host, Sampler

FOLDER = scripts_folder() / "posix"
VISIT_WITHIN_S = 240.0
RATE = 2.0
"""The scripts run this much faster than in a museum; a prompt then settles within 40 ms."""
AnyKind = TypeVar("AnyKind", bound=kinds.Fact)


def _paused(steps: str, pause: str) -> str:
    """These steps with this pause, in place of the one that is written, or that their words take."""
    steps = re.sub(r'\npause = "[0-9]+ s".*', f'\npause = "{pause}"', steps)
    steps = re.sub(r'(\nscript\.)(caption = ".*")', rf'\1\2\1pause = "{pause}"', steps)
    # The words about the name stand beside the prompt for the password; its step takes as long as they do.
    steps = re.sub(r'(\ntype = "[a-z0-9]+"\n)(?=\n)', rf'\1pause = "{pause}"\n', steps, count=1)
    return re.sub(r'(\ncaption = ".*")(?!(?:\n.+)*?\npause = )', rf'\1\npause = "{pause}"', steps)


def folder_for(account: Account, place: Path, *, pauses: bool = False) -> Path:
    """A copy of the folder of scripts, for this account.

    `pauses`: keep them as long as visitors need to read; otherwise they are short.
    """
    folder = place / "posix"
    shutil.copytree(FOLDER, folder)
    script = folder / "round.toml"
    text = script.read_text()
    steps, tidy_up = text.split("[[tidy_up]]", 1)
    assert steps.count('type = "exhibit"') == 1
    steps = steps.replace('type = "exhibit"', f'type = "{account.name}"')
    if not pauses:
        steps, tidy_up = (_paused(part, pause) for part, pause in ((steps, "1 s"), (tidy_up, "6 s")))
    script.write_text(f"{steps}[[tidy_up]]{tidy_up}")
    return folder


def secrets_in(place: Path) -> Path:
    """A file with the account's password, mode 0600."""
    secrets = place / "secrets.toml"
    secrets.touch(mode=0o600)
    secrets.write_text(f'password = "{SECRET}"\n')
    return secrets


class Visit:
    """One opening, round and closing, or other scripts. They have ended when the object exists."""

    def __init__(
        self,
        place: Path,
        host: Host,
        account: Account,
        on_fact: Callable[[kinds.Fact], None] = lambda _: None,
        scripts: tuple[str, ...] = ("--rounds", "1"),
    ) -> None:
        """`on_fact` is called with each fact as soon as it is in the recording."""
        self.host = host
        self.account = account
        self.door = door = place / "door"
        arguments = [f"{folder_for(account, place)}", "--line", host.device, *scripts]
        arguments += ["--recordings", f"{place / 'recordings'}", "--secrets", f"{secrets_in(place)}"]
        arguments += ["--end-when-failed", "--requests", f"{door}", "--rate", f"{RATE}"]
        sampler = Sampler(account.uid)
        bridge = subprocess.Popen(
            [sys.executable, "-m", "exhibit", "bridge", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        try:
            assert bridge.stdout is not None
            first = bridge.stdout.readline().strip()
            assert first, bridge.communicate()[1]
            self.path = Path(json.loads(first))
            for fact in follow(self.path, lambda: bridge.poll() is not None):
                if isinstance(fact, kinds.HandsOnAsked):
                    assert ask(door, Request(request="confirm", by="a test", step=fact.step)).accepted
                on_fact(fact)
            self.status = bridge.wait()
            self.errors = bridge.communicate()[1]
        finally:
            bridge.kill()
            bridge.wait()
            sampler.stop()
        self.seen = sampler.seen
        self.secret_seen_in = sampler.secret_seen_in
        recording = read_all(self.path)
        self.entries, self.damages = recording.entries, recording.damages

    def facts(self, kind: type[AnyKind]) -> list[AnyKind]:
        """The facts of this kind, in order."""
        return [entry.fact for entry in self.entries if isinstance(entry.fact, kind)]

    def number_given(self, step: str) -> int:
        """The job or process number that this step read from the host."""
        (matched,) = [fact for fact in self.facts(kinds.StepMatched) if fact.step == step]
        return int(matched.fields["number"])

    def received_up_to(self, seq: int) -> bytes:
        """Everything that was received before the fact with this number."""
        pieces = [
            kinds.to_bytes(entry.fact.bytes)
            for entry in self.entries
            if entry.seq < seq and isinstance(entry.fact, kinds.BytesReceived)
        ]
        return b"".join(pieces)

    def consoles(self) -> Iterator[list[str]]:
        """The rows of the console after each received piece."""
        opened = self.entries[0].fact
        assert isinstance(opened, kinds.RecordingOpened)
        console = ConsoleView(opened, 1)
        for entry in self.entries:
            if isinstance(entry.fact, kinds.BytesReceived):
                console.receive(entry.fact.bytes, entry.seq)
                yield [row.rstrip() for row in console.text_rows()]

    def why(self) -> str:
        """What went wrong, for a failed assertion."""
        wrong = (kinds.StepFailed, kinds.StepOverdue, kinds.TypingGarbled, kinds.SessionFailed)
        lines = [f"{entry.fact}" for entry in self.entries if isinstance(entry.fact, wrong)]
        return "\n".join([*lines, self.errors, f"{bytes(self.host.said[-500:])!r}"])


def follow(path: Path, over: Callable[[], bool]) -> Iterator[kinds.Fact]:
    """The facts of a recording as they are written, until `over`."""
    give_up_s = time.monotonic() + VISIT_WITHIN_S
    with closing(Tail(path)) as tail:
        while True:
            ended = over()
            for entry in tail.read_new():
                if isinstance(entry.fact, kinds.Fact):
                    yield entry.fact
            if ended:
                return
            assert time.monotonic() < give_up_s, f"it is still running: {path}"
            time.sleep(LOOK_EVERY_S)


def readings_by_frame(visit: Visit) -> list[tuple[list[str], dict[str, kinds.ReadingTaken]]]:
    """For each frame that was read: the rows of an independent screen at that time, and its readings."""
    frames: dict[int, tuple[list[str], dict[str, kinds.ReadingTaken]]] = {}
    for entry in visit.entries:
        if isinstance(entry.fact, kinds.ReadingTaken):
            if entry.fact.frame not in frames:
                frames[entry.fact.frame] = (_screen_after(visit.received_up_to(entry.seq)), {})
            frames[entry.fact.frame][1][entry.fact.name] = entry.fact
    return list(frames.values())


def _screen_after(received: bytes) -> list[str]:
    screen = pyte.Screen(80, 24)
    pyte.Stream(screen).feed(received.decode("ascii", errors="replace"))
    return list(screen.display)


def values_shown(rows: list[str]) -> dict[str, float]:
    """The values on the process display, read without any pattern of ours."""
    values: dict[str, float] = {}
    if rows[0].startswith("top - "):
        values["load"] = float(rows[0].partition("average:")[2].split(",")[0])
    for row, heading, names in (
        (rows[1], "Tasks:", {"tasks": "total", "running": "running"}),
        (rows[2], "%Cpu(s):", {"busy": "us", "idle": "id"}),
    ):
        if row.startswith(heading):
            counts = dict(reversed(count.split()) for count in row.removeprefix(heading).split(","))
            values.update({name: float(counts[unit]) for name, unit in names.items()})
    return values
