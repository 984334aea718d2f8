"""A run: the bridge and the website as two processes, and the one that started them looking after both."""

from __future__ import annotations

import os
import selectors
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType
from typing import IO
from urllib.parse import urlsplit

from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.folder.secret_words import IN_ENVIRONMENT
from exhibit.streams.recording import RecordingFollower, follow_from

START_WITHIN_S = 60.0
LOOK_EVERY_S = 0.1
ENDS_WITHIN_S = 5.0
STOPPED_BY = (signal.SIGINT, signal.SIGTERM)
SAID_WHY = 2
"""The exit status of a command that can't be done and has said why."""
WEBSITE_ENDS_WITHIN_S = 5.0
BRIDGE_ENDS_WITHIN_S = 300.0
"""Its tidy-up may take a while, and must not be cut short."""
WEBSITE_AGAIN_AFTER_S = 1.0
NOTHING_BEGUN = "Stopped before anything was begun at the machine."
STOPPING_AT_ONCE = "Stopping."
STOPPING = "Stopping: whatever was begun at the machine is put away first."
STOPPING_AFTER_FAILURE = "Stopping. The scripts had failed, so nothing more is typed: look at the machine."
STOPPING_WITHOUT_LINE = (
    "Stopping. The line to the machine is away, so what was begun there can't be put away: "
    "look at the machine."
)
HAS_ENDED = "It has ended, and its recording is closed."
STILL_STOPPING = "It is still putting away what was begun. It ends by itself."


class Child:
    """A process of the run. It ends in good order when whoever started it is gone: its standard input ends.

    It has a session of its own, so that a terminal that is closed, or a key pressed in it, reaches
    only the process that started the run. Only who types the secrets is given them. `holds`: lifelines of
    others, which go on for as long as this one lives, even if whoever started them is gone.
    """

    def __init__(
        self, arguments: Sequence[str], *, may_know_secrets: bool = False, holds: Sequence[int] = ()
    ) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", *arguments, "--with-starter"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            start_new_session=True,
            pass_fds=holds,
            env={k: v for k, v in os.environ.items() if may_know_secrets or not k.startswith(IN_ENVIRONMENT)},
        )

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid

    @property
    def lifeline(self) -> int:
        """The other end of its standard input, as a file's number: it goes on while somebody holds this."""
        assert self._process.stdin is not None
        return self._process.stdin.fileno()

    def first_line(self, meanwhile: Callable[[], None] = lambda: None) -> str:
        """The line that the process prints when it is ready; empty when it ended instead, or isn't yet.

        `meanwhile` is called again and again while it is waited for.
        """
        out = self._process.stdout
        assert out is not None
        return _line_within(out, START_WITHIN_S, meanwhile)

    def status(self) -> int | None:
        """The exit status, None while it runs."""
        return self._process.poll()

    def status_when_ended(self) -> int | None:
        """The exit status of one that has nothing more to say, and so ends by itself; None if it doesn't."""
        try:
            return self._process.wait(ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            return None

    def has_said_why(self) -> bool:
        """Whether it has ended by itself and said why, in three sentences: then nothing need be added."""
        return self.status_when_ended() == SAID_WHY

    def ask_to_end(self) -> None:
        """Asks it to end in good order."""
        self._process.terminate()

    def end(self, within_s: float) -> None:
        """Asks it to end, and makes it."""
        self._process.terminate()
        try:
            self._process.wait(within_s)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


class Run:
    """A bridge and a website, by the arguments of their commands."""

    def __init__(self, bridge: Sequence[str], website: Sequence[str]) -> None:
        self._bridge_arguments = list(bridge)
        self._website_arguments = list(website)
        self._folder = tempfile.TemporaryDirectory(prefix="exhibit-")
        self.door = Path(self._folder.name) / "door"
        self.recording: Path | None = None
        self.address = ""
        self._interrupted = False
        self._asked_to_stop = False
        self._line_is_away = self._has_failed = False

    def go(
        self,
        ready: Callable[[str, Path], None],
        look: Callable[[kinds.Entry], None],
        machine: Child | None = None,
    ) -> int:
        """Starts both, waits until the bridge ends, ends the website; gives the bridge's exit status.

        `ready` is called with the website's address and the recording's path, `look` then with
        every fact as it stands in the recording. `machine` is the simulator, where there is one:
        without it the run ends. Ctrl-C, or SIGTERM as from a service manager, asks the bridge to end in
        good order, which is waited for.
        A website that ends is started again at the same address.
        """
        before = {number: signal.signal(number, self._interrupt) for number in STOPPED_BY}
        bridge: Child | None = None
        follower: RecordingFollower | None = None
        website = Child(self._website_arguments)
        try:
            self.address = website.first_line()
            if self._interrupted:
                print(NOTHING_BEGUN, flush=True)
                return 0
            if not self.address:
                if website.has_said_why():
                    return SAID_WHY
                raise SetUpFault(
                    "The website did not start, so nothing was begun at the machine.",
                    "Visitors would have seen nothing.",
                    "Read what it says above, mend that and start again.",
                )
            arguments = [*self._bridge_arguments, "--requests", str(self.door)]
            # A simulator that ended before the bridge would cut its tidy-up short.
            holds = () if machine is None else (machine.lifeline,)
            bridge = Child(arguments, may_know_secrets=True, holds=holds)
            begun = bridge
            first = bridge.first_line(lambda: self._stop_if_interrupted(begun))
            if not first:
                return self._not_begun(bridge)
            self.recording = Path(first)
            ready(self.address, self.recording)
            follower = follow_from(self.recording)
            while True:
                status = bridge.status()
                while entries := follower.read_new():
                    for entry in entries:
                        self._follow(entry.fact)
                        look(entry)
                if status is not None:
                    status = _ended(status)
                    if self._asked_to_stop:
                        left = "" if machine is not None else " The machine is left as it is."
                        print(f"{HAS_ENDED}{left}", flush=True)
                    return status
                if machine is not None and machine.status() is not None:
                    raise _machine_gone()
                if website.status() is not None:
                    website = self._website_again()
                self._stop_if_interrupted(bridge)
                time.sleep(LOOK_EVERY_S)
        finally:
            if follower is not None:
                follower.close()
            if bridge is not None and bridge.status() is None:
                bridge.end(BRIDGE_ENDS_WITHIN_S)
            website.end(WEBSITE_ENDS_WITHIN_S)
            self._folder.cleanup()
            for number, handler in before.items():
                signal.signal(number, handler)

    def _follow(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Remembers what decides whether anything can still be put away."""
        if isinstance(fact, kinds.LineLost | kinds.LineOpened):
            self._line_is_away = isinstance(fact, kinds.LineLost)
        elif isinstance(fact, kinds.SessionFailed | kinds.SessionCleared):
            self._has_failed = isinstance(fact, kinds.SessionFailed)

    def _interrupt(self, number: int, frame: FrameType | None) -> None:
        # Nothing is raised: wherever this comes, what was begun at the machine is put away in peace.
        self._interrupted = True

    def _stop_if_interrupted(self, bridge: Child) -> None:
        if not self._interrupted:
            return
        self._interrupted = False
        if self.recording is None:
            print(STOPPING_AT_ONCE, flush=True)
        else:
            failed = STOPPING_AFTER_FAILURE if self._has_failed else STOPPING
            first = STOPPING_WITHOUT_LINE if self._line_is_away else failed
            print(STILL_STOPPING if self._asked_to_stop else first, flush=True)
        if not self._asked_to_stop:
            self._asked_to_stop = True
            bridge.ask_to_end()

    def _not_begun(self, bridge: Child) -> int:
        """The exit status where no recording was begun, so that nothing was typed either."""
        status = bridge.status_when_ended()
        if status is None:
            raise SetUpFault(
                f"The bridge has begun nothing within {START_WITHIN_S:g} s.",
                "So it was ended. Nothing was typed at the machine.",
                "See whether this computer or its disc is busy with something else, and start again.",
            )
        if status < 0 and self._asked_to_stop:
            print(NOTHING_BEGUN, flush=True)
            return 0
        return _ended(status) or SAID_WHY

    def _website_again(self) -> Child:
        time.sleep(WEBSITE_AGAIN_AFTER_S)
        arguments = list(self._website_arguments)
        arguments[arguments.index("--port") + 1] = f"{urlsplit(self.address).port}"
        print("The visitors' page had ended and is started again.", flush=True)
        return Child(arguments)


def _ended(status: int) -> int:
    """The bridge's exit status; a signal that ended it, as kill -9 would, is told in words."""
    if status < 0:
        raise SetUpFault(
            "The bridge was ended from outside, in the middle of its work.",
            "Nothing was put away at the machine: jobs may be going, half a command may stand there.",
            "Look at the machine. When it is safe, start again.",
        )
    return status


def _machine_gone() -> SetUpFault:
    return SetUpFault(
        "The simulated machine has ended.",
        "So there is nothing left to show.",
        "Start the demonstration again.",
    )


def _line_within(out: IO[str], within_s: float, meanwhile: Callable[[], None]) -> str:
    give_up_s = time.monotonic() + within_s
    with selectors.DefaultSelector() as selector:
        selector.register(out, selectors.EVENT_READ)
        while not selector.select(LOOK_EVERY_S):
            meanwhile()
            if time.monotonic() >= give_up_s:
                return ""
    return out.readline().strip()


def end_with_starter() -> None:
    """Tells this process to end, in good order, once whoever started it is gone (standard input ends)."""

    def wait() -> None:
        while os.read(0, 4096):
            pass
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=wait, name="starter", daemon=True).start()
