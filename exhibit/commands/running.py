"""A run: starts the bridge as a process of its own, finds or starts the page, and looks after both."""

from __future__ import annotations

import json
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType

from exhibit.commands.child import LOOK_EVERY_S, START_WITHIN_S, Child
from exhibit.commands.options import REFUSED
from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.commands.visitors_page import VisitorsPage
from exhibit.decisions.machine.script import HOME
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.output.terminal import put
from exhibit.streams.recording import RecordingFollower, follow_from

BRIDGE_ENDS_WITHIN_S = 300.0
"""Long, because its tidy-up must not be cut short."""
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


class Run:
    """A bridge, given by the arguments of its command, and the visitors' page of what it records."""

    nothing_done = NOTHING_TYPED

    def __init__(self, bridge: Sequence[str], page: VisitorsPage, say: Say = ENGLISH) -> None:
        self._say = say
        self._bridge_arguments = list(bridge)
        self._page = page
        self._folder = own_folder()
        self.door = Path(self._folder.name) / "door"
        """The socket at which the bridge takes requests."""
        self.recording: Path | None = None
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
        """Sees that there is a page, starts the bridge and waits until it ends. Returns its exit status.

        `on_ready` is called with the page's address and the recording's path; `on_fact` then with
        every fact of the recording, and `on_look` again and again. `simulator`: if it ends, so does the run.
        Ctrl-C, or SIGTERM as a service manager sends it, asks the bridge to end in good order, and the run
        waits for that. A page that ends is started again at the same address.

        Raises SetUpFault if one of them doesn't start, or the bridge or the simulator is killed.
        """
        handlers_before = {number: signal.signal(number, self._interrupt) for number in STOP_SIGNALS}
        bridge: Child | None = None
        follower: RecordingFollower | None = None
        try:
            address = self._page.start(lambda: self._interrupted)
            if self._interrupted:
                put(self._say(self.nothing_done))
                return 0
            if not address:
                explained = self._page.has_explained()
                put(*self._page.complaints().splitlines(), to=sys.stderr)
                if explained:
                    return REFUSED
                raise SetUpFault(
                    self._say("The web server did not start, so nothing was typed at the machine."),
                    self._say("Visitors would have seen nothing."),
                    self._say("Read its message above, correct the cause and start again."),
                )
            bridge = self._bridge(simulator)
            if (recording := self._recording_of(bridge)) is None:
                return self._status_without_recording(bridge)
            self.recording = recording
            on_ready(address, self.recording)
            if about := self._page.about():
                put(about)
            follower = follow_from(self.recording)
            while True:
                # The status first: what the bridge recorded before it ended is then read below.
                status = bridge.status()
                while entries := follower.read_new():
                    for entry in entries:
                        self._note_state(entry.fact)
                        on_fact(entry)
                on_look()
                if status is not None and self._begins_again(status):
                    bridge = self._bridge(simulator)
                    if (recording := self._recording_of(bridge)) is None:
                        return self._status_without_recording(bridge)
                    follower.close()
                    self.recording, follower = recording, follow_from(recording)
                    self._failed = self._line_lost = self._script_runs = False
                elif status is not None:
                    status = self._checked(status)
                    ended = self._ended(simulator is not None) if self._asked_to_stop else self._say(ENDED)
                    put(*ended.split("\n"))
                    return status
                if simulator is not None and simulator.status() is not None:
                    raise _simulator_ended()
                self._page.look()
                self._stop_if_interrupted(bridge)
                self._meanwhile()
                time.sleep(LOOK_EVERY_S)
        finally:
            if follower is not None:
                follower.close()
            if bridge is not None and bridge.status() is None:
                bridge.end(BRIDGE_ENDS_WITHIN_S)
            if about := self._page.end(ran=self.recording is not None):
                put(about)
            self._folder.cleanup()
            for number, handler in handlers_before.items():
                signal.signal(number, handler)

    def _bridge(self, simulator: Child | None) -> Child:
        arguments = [*self._bridge_arguments, "--requests", str(self.door)]
        # A simulator that ended before the bridge would cut its tidy-up short.
        keeps_alive = () if simulator is None else (simulator.lifeline,)
        return Child(arguments, may_know_secrets=True, keeps_alive=keeps_alive)

    def _recording_of(self, bridge: Child) -> Path | None:
        """The recording that the bridge has begun; None if it began none."""
        path = bridge.first_line(lambda: self._stop_if_interrupted(bridge))
        return Path(json.loads(path)) if path else None

    def _begins_again(self, status: int) -> bool:
        """Whether to start another bridge, because this one ended with this exit status."""
        return False

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
            put(self._say(self._still_stopping()))
        else:
            put(self._say(self._stopping()))
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
            put(self._say(self.nothing_done))
            return 0
        return self._checked(status) or REFUSED


def own_folder() -> tempfile.TemporaryDirectory[str]:
    """A folder of this run alone, removed at its end. Raises SetUpFault if there can't be one."""
    try:
        return tempfile.TemporaryDirectory(prefix="exhibit-")
    except OSError as error:
        raise SetUpFault(
            f"There is no folder for temporary files that can be written: {error.strerror or error}.",
            "The processes of a run find each other by a file there, so nothing was started.",
            "Free some space on this computer's disc, then start again.",
        ) from error


def _simulator_ended() -> SetUpFault:
    return SetUpFault(
        "The simulated machine has ended.",
        "So there is nothing left to show.",
        "Start the demonstration again.",
    )
