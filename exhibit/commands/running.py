"""A run: starts the bridge and the web server as processes of their own, and looks after both."""

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

from exhibit.commands.options import REFUSED
from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.decisions.machine.script import HOME
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.folder.secret_words import IN_ENVIRONMENT
from exhibit.streams.recording import RecordingFollower, follow_from

START_WITHIN_S = 60.0
LOOK_EVERY_S = 0.1
REFUSED_ENDS_WITHIN_S = 5.0
WEBSITE_ENDS_WITHIN_S = 5.0
BRIDGE_ENDS_WITHIN_S = 300.0
"""Long, because its tidy-up must not be cut short."""
WEBSITE_AGAIN_AFTER_S = 1.0
PAGES_LOG = "pages.log"
"""What the web server complains of during the last run, such as a fault in a page's question."""
STOP_SIGNALS = (signal.SIGINT, signal.SIGTERM)
NOTHING_TYPED = Sentence("Stopped before anything was typed at the machine.")
STOPPING_AT_ONCE = Sentence("Stopping.")
STOPPING = Sentence("Stopping: the script first stops what it started on the machine.")
STOPPING_AFTER_FAILURE = Sentence(
    "Stopping. The scripts have failed, so nothing more is typed: look at the machine, where jobs may still "
    "be running."
)
STOPPING_WITHOUT_LINE = Sentence(
    "Stopping. The machine is not connected, so nothing can be stopped there: look at the machine, where "
    "jobs may still be running."
)
STILL_STOPPING = Sentence("Still stopping what was started on the machine. The run ends by itself.")
STILL_ENDING = Sentence("Still ending. The run ends by itself.")
ENDED = Sentence("The run has ended, and its recording is closed.")
MACHINE_STAYS = Sentence("The machine stays as it is.")


class Child:
    """A process of the run. It ends in good order once the process that started it is gone.

    It notices that by the end of its standard input. It has a session of its own, so that closing the
    terminal, or pressing a key there, affects only the process that started the run.

    `may_know_secrets`: whether it is given the secrets in the environment. `keeps_alive`: lifelines of other
    children, which live for as long as this one does, even if the process that started them is gone. `log`:
    an open file that takes what it complains of, so that none of that comes into the terminal.
    """

    def __init__(
        self,
        arguments: Sequence[str],
        *,
        may_know_secrets: bool = False,
        keeps_alive: Sequence[int] = (),
        log: IO[bytes] | None = None,
    ) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", *arguments, "--with-starter"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=log,
            text=True,
            start_new_session=True,
            pass_fds=keeps_alive,
            env={k: v for k, v in os.environ.items() if may_know_secrets or not k.startswith(IN_ENVIRONMENT)},
        )

    @property
    def lifeline(self) -> int:
        """File descriptor that feeds its standard input. It lives while some process has this open."""
        assert self._process.stdin is not None
        return self._process.stdin.fileno()

    def first_line(self, meanwhile: Callable[[], None] = lambda: None) -> str:
        """The line that the process prints when it is ready; empty if it ends first, or takes too long.

        `meanwhile` is called repeatedly during the wait.
        """
        out = self._process.stdout
        assert out is not None
        return _read_line(out, START_WITHIN_S, meanwhile)

    def status(self) -> int | None:
        """The exit status; None while it runs."""
        return self._process.poll()

    def status_when_ended(self) -> int | None:
        """Waits a little for it to end by itself. The exit status; None if it still runs."""
        try:
            return self._process.wait(REFUSED_ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            return None

    def has_explained(self) -> bool:
        """Whether it has ended by itself and said why, in three sentences. Nothing need be added then."""
        return self.status_when_ended() == REFUSED

    def ask_to_end(self) -> None:
        """Asks it to end in good order."""
        self._process.terminate()

    def end(self, within_s: float) -> None:
        """Asks it to end in good order; kills it if it hasn't ended within this time."""
        self._process.terminate()
        try:
            self._process.wait(within_s)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


class Run:
    """A bridge and a web server, given by the arguments of their commands.

    `recordings`: the folder in which the web server's complaints go to a file, PAGES_LOG. Without one, or if
    it can't be written, they go to a file that is deleted at the end.
    """

    nothing_done = NOTHING_TYPED

    def __init__(
        self,
        bridge: Sequence[str],
        website: Sequence[str],
        recordings: Path | None = None,
        say: Say = ENGLISH,
    ) -> None:
        self._say = say
        self._bridge_arguments = list(bridge)
        self._website_arguments = list(website)
        self._folder = tempfile.TemporaryDirectory(prefix="exhibit-")
        self.door = Path(self._folder.name) / "door"
        """The socket at which the bridge takes requests."""
        self._log_folders = [recordings] if recordings is not None else []
        self._log_folders.append(Path(self._folder.name))
        self.recording: Path | None = None
        self.address = ""
        """The web server's, once it is known."""
        self._interrupted = False
        self._asked_to_stop = False
        self._line_lost = False
        self._failed = False
        self._script_runs = False

    def execute(
        self,
        on_ready: Callable[[str, Path], None],
        on_fact: Callable[[kinds.Entry], None],
        simulator: Child | None = None,
        on_look: Callable[[], None] = lambda: None,
    ) -> int:
        """Starts both, waits until the bridge ends, ends the web server. Returns the bridge's exit status.

        `on_ready` is called with the web server's address and the recording's path; `on_fact` then with
        every fact of the recording, and `on_look` again and again. `simulator`: if it ends, so does the run.
        Ctrl-C, or SIGTERM as a service manager sends it, asks the bridge to end in good order, and the run
        waits for that. A web server that ends is started again at the same address.

        Raises SetUpFault if one of them doesn't start, or the bridge or the simulator is killed.
        """
        handlers_before = {number: signal.signal(number, self._interrupt) for number in STOP_SIGNALS}
        bridge: Child | None = None
        follower: RecordingFollower | None = None
        self._log = _pages_log(self._log_folders)
        website = Child(self._website_arguments, log=self._log)
        try:
            self.address = website.first_line()
            if self._interrupted:
                print(self._say(self.nothing_done), flush=True)
                return 0
            if not self.address:
                explained = website.has_explained()
                print(self._complaints(), end="", file=sys.stderr, flush=True)
                if explained:
                    return REFUSED
                raise SetUpFault(
                    self._say("The web server did not start, so nothing was typed at the machine."),
                    self._say("Visitors would have seen nothing."),
                    self._say("Read its message above, correct the cause and start again."),
                )
            arguments = [*self._bridge_arguments, "--requests", str(self.door)]
            # A simulator that ended before the bridge would cut its tidy-up short.
            keeps_alive = () if simulator is None else (simulator.lifeline,)
            bridge = started = Child(arguments, may_know_secrets=True, keeps_alive=keeps_alive)
            path = bridge.first_line(lambda: self._stop_if_interrupted(started))
            if not path:
                return self._status_without_recording(bridge)
            self.recording = Path(path)
            on_ready(self.address, self.recording)
            follower = follow_from(self.recording)
            while True:
                # The status first: what the bridge recorded before it ended is then read below.
                status = bridge.status()
                while entries := follower.read_new():
                    for entry in entries:
                        self._note_state(entry.fact)
                        on_fact(entry)
                on_look()
                if status is not None:
                    status = self._checked(status)
                    ended = self._ended(simulator is not None) if self._asked_to_stop else self._say(ENDED)
                    print(ended, flush=True)
                    return status
                if simulator is not None and simulator.status() is not None:
                    raise _simulator_ended()
                if website.status() is not None:
                    website = self._start_website_again()
                self._stop_if_interrupted(bridge)
                self._meanwhile()
                time.sleep(LOOK_EVERY_S)
        finally:
            if follower is not None:
                follower.close()
            if bridge is not None and bridge.status() is None:
                bridge.end(BRIDGE_ENDS_WITHIN_S)
            website.end(WEBSITE_ENDS_WITHIN_S)
            _close_log(self._log)
            self._folder.cleanup()
            for number, handler in handlers_before.items():
                signal.signal(number, handler)

    def _note_state(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Notes what decides whether anything can still be stopped at the machine."""
        if isinstance(fact, kinds.LineLost | kinds.LineOpened):
            self._line_lost = isinstance(fact, kinds.LineLost)
        elif isinstance(fact, kinds.SessionFailed | kinds.SessionCleared):
            self._failed = isinstance(fact, kinds.SessionFailed)
        elif isinstance(fact, kinds.ScriptStarted | kinds.ScriptEnded):
            # A way home has no tidy-up.
            self._script_runs = isinstance(fact, kinds.ScriptStarted) and fact.script != HOME

    def _interrupt(self, number: int, frame: FrameType | None) -> None:
        # Nothing is raised: whatever is being done at this moment, the tidy-up must run undisturbed.
        self._interrupted = True

    def _stop_if_interrupted(self, bridge: Child) -> None:
        if not self._interrupted:
            return
        self._interrupted = False
        if self._asked_to_stop and self.recording is not None:
            print(self._say(self._still_stopping()), flush=True)
        else:
            print(self._say(self._stopping()), flush=True)
        if not self._asked_to_stop:
            self._asked_to_stop = True
            bridge.ask_to_end()

    def _stopping(self) -> Sentence:
        if self.recording is None:
            return STOPPING_AT_ONCE
        if self._line_lost:
            return STOPPING_WITHOUT_LINE
        if self._failed:
            return STOPPING_AFTER_FAILURE
        return STOPPING if self._script_runs else STOPPING_AT_ONCE

    def _still_stopping(self) -> Sentence:
        stops = self._script_runs and not (self._line_lost or self._failed)
        return STILL_STOPPING if stops else STILL_ENDING

    def _ended(self, simulated: bool) -> str:
        return self._say(ENDED) if simulated else f"{self._say(ENDED)} {self._say(MACHINE_STAYS)}"

    def _meanwhile(self) -> None:
        """Called again and again while the bridge runs."""

    def _checked(self, status: int) -> int:
        """The bridge's exit status. Raises SetUpFault if a signal ended it, as kill -9 does."""
        if status < 0:
            raise self._ended_from_outside()
        return status

    def _ended_from_outside(self) -> SetUpFault:
        return SetUpFault(
            self._say("The bridge was ended from outside, in the middle of its work."),
            self._say(
                "Nothing was stopped at the machine: jobs may still be running, "
                "and a command may be half typed."
            ),
            self._say("Look at the machine. When it is safe, start again."),
        )

    def _status_without_recording(self, bridge: Child) -> int:
        """The exit status where the bridge began no recording, and so typed nothing either."""
        status = bridge.status_when_ended()
        if status is None:
            raise SetUpFault(
                self._say(
                    "The bridge did not begin a recording within {seconds} s.", seconds=f"{START_WITHIN_S:g}"
                ),
                self._say("So it was ended. Nothing was typed at the machine."),
                self._say(
                    "Check whether this computer or its disc is busy with something else, and start again."
                ),
            )
        if status < 0 and self._asked_to_stop:
            print(self._say(self.nothing_done), flush=True)
            return 0
        return self._checked(status) or REFUSED

    def _start_website_again(self) -> Child:
        time.sleep(WEBSITE_AGAIN_AFTER_S)
        arguments = list(self._website_arguments)
        arguments[arguments.index("--port") + 1] = f"{urlsplit(self.address).port}"
        print(self._say("The visitors' page had ended and is started again."), flush=True)
        return Child(arguments, log=self._log)

    def _complaints(self) -> str:
        """What the web server said that didn't start."""
        self._log.seek(0)
        return self._log.read().decode(errors="replace")


def _pages_log(folders: Sequence[Path]) -> IO[bytes]:
    """The web server's log, empty, in the first of these folders in which it can be written."""
    for folder in folders[:-1]:
        try:
            folder.mkdir(parents=True, exist_ok=True)
            return (folder / PAGES_LOG).open("w+b", buffering=0)
        except OSError:
            continue
    return (folders[-1] / PAGES_LOG).open("w+b", buffering=0)


def _close_log(log: IO[bytes]) -> None:
    """Closes the log, and removes it if nothing was complained of."""
    empty = not os.fstat(log.fileno()).st_size
    log.close()
    if empty:
        Path(log.name).unlink(missing_ok=True)


def _simulator_ended() -> SetUpFault:
    return SetUpFault(
        "The simulated machine has ended.",
        "So there is nothing left to show.",
        "Start the demonstration again.",
    )


def _read_line(out: IO[str], within_s: float, meanwhile: Callable[[], None]) -> str:
    give_up_s = time.monotonic() + within_s
    with selectors.DefaultSelector() as selector:
        selector.register(out, selectors.EVENT_READ)
        while not selector.select(LOOK_EVERY_S):
            meanwhile()
            if time.monotonic() >= give_up_s:
                return ""
    return out.readline().strip()


def end_with_starter() -> None:
    """Makes this process end in good order once its standard input does: whoever started it is gone."""

    def wait() -> None:
        while os.read(0, 4096):
            pass
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=wait, name="starter", daemon=True).start()
