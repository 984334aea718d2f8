"""The visitors' page of a run: the one that is already served, or one that the run starts.

A page that serves by itself, as `exhibit page` does, leaves a note in the folder of the recordings that it
shows, and holds a lock on that note for as long as it lives. So a run finds the page of its own recordings,
at whatever port; and neither a note of a page that was killed nor another program at that port deceives it.
"""

from __future__ import annotations

import http.client
import os
import tempfile
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import IO, Final
from urllib.parse import urlsplit

import msgspec

from exhibit.commands.child import Child
from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.facts.errors import SetUpFault
from exhibit.output.terminal import put
from exhibit.streams import recording_lock
from exhibit.web.bounded_log import PAGES_LOG, begin_anew_if_long

SERVED_AT: Final = "The visitors' page: "
"""What the line begins with that a page prints when it can be opened."""
AGAIN_AFTER_S: Final = 1.0
AGAIN_AFTER_AT_MOST_S: Final = 60.0
"""A page that ends again and again is started ever more seldom, until one has lasted as long as this."""
BACK_WITHIN_S: Final = 10.0
"""Whoever keeps a page going all day, such as the service in docs/always-on.md, brings it back sooner."""
LOOK_EVERY_S: Final = 0.5
ANSWERS_WITHIN_S: Final = 5.0
ENDS_WITHIN_S: Final = 5.0
OPEN_TO_ALL: Final = Sentence(
    """Everybody on this network can now read that page. It shows a code that leads phones to it.
The page only shows: from another computer nothing can be typed at the machine, and nothing controlled.
It isn't encrypted, so use it only on a network that you trust, such as the museum's own, and never open it
to the internet."""
)
WAS_THERE: Final = Sentence("This page was there before, and stays when this program ends.")
STAYS: Final = Sentence("This page stays when this program ends.")
STILL_THERE: Final = Sentence("The visitors' page stays: {address}")
TO_END_IT: Final = Sentence("To end it too, run `kill {pid}`.")
ENDED_TOO: Final = Sentence(
    "The visitors' page has ended too. With `exhibit page` it stays all day, whatever is started and stopped."
)
STARTED_AGAIN: Final = Sentence("The visitors' page had ended and is started again.")
DOES_NOT_ANSWER: Final = Sentence(
    "A page shows these recordings at {address}, but it doesn't answer, so this program doesn't use it. "
    "To end that page, run `kill -9 {pid}`."
)
NOT_STARTED: Final = Sentence(
    "The visitors' page can't be started. Visitors may see nothing new, but the run goes on. This "
    "program tries again by itself, at least once a minute. What the page complains of is in the "
    "folder of the recordings."
)
NOW_AT: Final = Sentence("The visitors' page is now at {address}")


class Note(msgspec.Struct, frozen=True, kw_only=True):
    """What a page says of itself. `machine` is empty if it shows whatever machine recorded last.

    `name`: the name by which browsers also reach it; empty if there is none.
    """

    address: str
    host: str
    port: int
    machine: str
    pid: int
    name: str = ""


def note_left(recordings: Path, note: Note) -> AbstractContextManager[None]:
    """Leaves this note in the folder of the recordings, locked, and takes it away at the end.

    Entering it raises OSError if nothing can be written there.
    """
    return recording_lock.note_left(_note_at(recordings, note.port), note)


def page_there(recordings: Path, machine: str) -> Note | None:
    """The page that shows this machine's recordings in this folder now; None if there is none.

    A page of this machine alone comes before one that shows whatever machine recorded last.
    """
    notes = [
        note
        for path in sorted(recordings.glob("page-*.json"))
        if (note := recording_lock.living_note(path, Note)) is not None
    ]
    fitting = [note for note in notes if note.machine in (machine, "")]
    return max(fitting, key=lambda note: bool(note.machine), default=None)


def refuse_a_second(recordings: Path, port: int) -> None:
    """Raises SetUpFault if these recordings are already shown at this port."""
    there = recording_lock.living_note(_note_at(recordings, port), Note)
    if there is not None:
        raise SetUpFault(
            f"A page already shows these recordings at that port: {there.address}",
            "So there is no room for a second one, and perhaps no need.",
            f"Use that one. Or end it with `kill {there.pid}`, or choose another port with --port.",
        )


def _note_at(recordings: Path, port: int) -> Path:
    return recordings / f"page-{port}.json"


def answers(note: Note) -> bool:
    """Whether this page answers soon. One that was stopped (SIGSTOP) lives, but shows visitors nothing."""
    asked = http.client.HTTPConnection(note.host, note.port, timeout=ANSWERS_WITHIN_S)
    try:
        asked.request("GET", "/")
        return asked.getresponse().status < http.HTTPStatus.INTERNAL_SERVER_ERROR
    except (OSError, http.client.HTTPException):
        return False
    finally:
        asked.close()


class VisitorsPage:
    """Finds or starts the page of a run, and starts it again if it ends.

    `name`: browsers also reach the page by it, so one without it won't do. `chosen`: a person asked for this
    port and address, so a page elsewhere won't do. `keep`: a page that this run starts stays when the run
    ends. What such a page complains of goes to PAGES_LOG beside the recordings.
    """

    def __init__(
        self,
        recordings: Path,
        machine: str,
        *,
        port: int,
        host: str,
        name: str = "",
        chosen: bool = False,
        keep: bool = False,
        say: Say = ENGLISH,
    ) -> None:
        self._recordings = recordings
        self._machine = machine
        self._port = port
        self._host = host
        self._name = name
        self._chosen = chosen
        self._keep = keep
        self._say = say
        self.address = ""
        """Where visitors find it; empty before it is there."""
        self._found: Note | None = None
        """The page that was there before."""
        self._unanswering: Note | None = None
        """A page of which a person was told that it doesn't answer."""
        self._child: Child | None = None
        self._log: IO[bytes] | None = None
        self._log_began = 0
        """How long the log was when this run began to write in it."""
        self._made_log: Path | None = None
        """The log, if there was none before."""
        self._look_next_s = 0.0
        self._missed_since_s: float | None = None
        self._again_after_s = AGAIN_AFTER_S
        self._began_s = 0.0
        self._complained = False
        """A person has been told that the page can't be started."""

    def start(self, give_up: Callable[[], bool] = lambda: False) -> str:
        """Finds the page, or starts one and waits for it. Returns its address; empty if there is none.

        `give_up`: asked during the wait. Once it is true, the page that was being started is ended.
        """
        if (there := self._there()) is not None:
            self._found, self.address = there, there.address
        else:
            child = self._begin()
            line = child.first_line(lambda: child.end(ENDS_WITHIN_S) if give_up() else None)
            self.address = line.removeprefix(SERVED_AT)
        return self.address

    def about(self) -> str:
        """What a person should know of it at the beginning; empty if it is a page of this run alone."""
        if self._found is not None:
            return self._say(WAS_THERE)
        return self._say(STAYS) if self._keep else ""

    def complaints(self) -> str:
        """What it said that didn't start."""
        if self._log is None:
            return ""
        self._log.seek(self._log_began)
        return self._log.read().decode(errors="replace")

    def has_explained(self) -> bool:
        """Whether it didn't start and said why, in three sentences."""
        return self._child is not None and self._child.has_explained()

    def look(self) -> None:
        """Call this again and again: starts the page again if it has ended. No fault of it ends the run."""
        now_s = time.monotonic()
        if now_s < self._look_next_s:
            return
        self._look_next_s = now_s + LOOK_EVERY_S
        try:
            self._look(now_s)
        except (OSError, ValueError):  # such as no room for another process
            self._complain()

    def _look(self, now_s: float) -> None:
        if self._is_there():
            self._missed_since_s = None
            if now_s - self._began_s >= AGAIN_AFTER_AT_MOST_S:
                self._again_after_s, self._complained = AGAIN_AFTER_S, False
            return
        if self._missed_since_s is None:
            self._missed_since_s = now_s
        wait_s = self._again_after_s if self._child is not None else max(self._again_after_s, BACK_WITHIN_S)
        if now_s - self._missed_since_s >= wait_s:
            self._missed_since_s = None
            self._start_again(now_s)

    def _complain(self) -> None:
        if not self._complained:
            self._complained = True
            put(self._say(NOT_STARTED))

    def end(self, *, ran: bool) -> str:
        """Ends a page that isn't to stay. Returns what a person should then know; empty if nothing.

        `ran`: the run has begun its recording. If it hasn't, no page of its own stays.
        """
        stays = self._found is not None or (self._keep and ran)
        if self._child is not None and not stays:
            self._child.end(ENDS_WITHIN_S)
        self._close_log(stays)
        if not self.address or not ran:
            return ""
        if not stays:
            return self._say(ENDED_TOO)
        said = [self._say(STILL_THERE, address=self.address)]
        if self._found is None and self._child is not None:
            said.append(self._say(TO_END_IT, pid=self._child.pid))
        return " ".join(said)

    def _there(self) -> Note | None:
        """The page that is there besides one of this run's own, if it is where it was asked for."""
        there = page_there(self._recordings, self._machine)
        if there is None or (self._chosen and (there.host, there.port) != (self._host, self._port)):
            return None
        if self._name not in ("", there.name):
            return None
        if there == self._found or answers(there):
            return there
        # Asking took a while, in which this program did nothing else.
        self._look_next_s = time.monotonic() + BACK_WITHIN_S
        if there != self._unanswering:
            self._unanswering = there
            put(self._say(DOES_NOT_ANSWER, address=there.address, pid=there.pid))
        return None

    def _is_there(self) -> bool:
        if self._child is not None and self._child.status() is None:
            return True
        there = self._there()
        if there is None:
            return False
        # Somebody else's may have taken the place of this run's own.
        self._child, self._found = None, there
        if there.address != self.address:
            self.address = there.address
            put(self._say(NOW_AT, address=self.address))
        return True

    def _start_again(self, now_s: float) -> None:
        port = urlsplit(self.address).port or self._port
        if self._found is not None:
            # It was meant to stay. If its note is still there, nobody ended it in good order.
            self._keep = _note_at(self._recordings, self._found.port).exists()
            self._host, port, self._name = self._found.host, self._found.port, self._found.name
            self._found = None
        self._port = port
        again, self._again_after_s = self._again_after_s, min(2 * self._again_after_s, AGAIN_AFTER_AT_MOST_S)
        self._began_s = now_s
        if again > AGAIN_AFTER_S:  # the one before didn't last
            self._complain()
        else:
            put(self._say(STARTED_AGAIN))
        self._begin()

    def _begin(self) -> Child:
        place = ["--port", f"{self._port}", "--host", self._host, "--name", self._name]
        shown = ["--recordings", f"{self._recordings}", "--machine", self._machine]
        if self._log is None:
            self._log = self._open_log()
            self._log_began = os.fstat(self._log.fileno()).st_size
        self._child = Child(["page", *shown, *place], log=self._log, stays=self._keep)
        return self._child

    def _open_log(self) -> IO[bytes]:
        """The page's log. Where it can't be written there, it is a file that is deleted at the end."""
        path = self._recordings / PAGES_LOG.format(port=self._port)
        try:
            self._recordings.mkdir(parents=True, exist_ok=True)
            self._made_log = None if path.exists() else path
            log = path.open("a+b", buffering=0)
        except OSError:
            self._made_log = None
            return tempfile.TemporaryFile(buffering=0)
        begin_anew_if_long(log.fileno())
        return log

    def _close_log(self, stays: bool) -> None:
        """Closes the log, and removes it if this run made it for nothing and nobody goes on writing in it."""
        if self._log is None:
            return
        is_empty = not os.fstat(self._log.fileno()).st_size
        self._log.close()
        if is_empty and not stays and self._made_log is not None:
            self._made_log.unlink(missing_ok=True)
