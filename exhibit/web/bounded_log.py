"""The web process's log: a line for each thing that went wrong, without a word that a visitor chose.

Whoever asks for a page chooses its path, headers and messages, and so the words of most errors. So a line
says only what kind of error it was and where in the code. There is a limit of lines an hour, whatever fails.
They go to a file beside the recordings, or to the journal of the service that runs the page; never to a
terminal, where a docent works.
"""

from __future__ import annotations

import contextlib
import io
import logging
import os
import sys
import threading
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from types import TracebackType
from typing import Any, Final

from exhibit.output.terminal import put

MOST_AN_HOUR: Final = 60
MOST_ALIKE_AN_HOUR: Final = 5
"""So that a stranger who causes one error again and again doesn't hide another."""
LONGEST_FILE_BYTES: Final = 1_000_000
"""A log that has grown to this begins anew. It takes a week of trouble in every minute."""
PAGES_LOG: Final = "pages-{port}.log"
"""The log's file beside the recordings. Pages at other ports have logs of their own."""
LEFT_OUT: Final = "(further lines of this hour are left out)"


class EventLog:
    """Writes a line for each event, with the time. No text of a visitor's may be given to it."""

    def __init__(
        self,
        write: Callable[[str], None],
        steady_s: Callable[[], float] = time.monotonic,
        now_s: Callable[[], float] = time.time,
    ) -> None:
        self._write = write
        self._steady_s = steady_s
        self._now_s = now_s
        self._hour = -1
        self._alike: Counter[str] = Counter()
        self._written = 0

    def note(self, what: str) -> None:
        """Writes this line, unless there have been too many in this hour."""
        hour = int(self._steady_s() // 3600)
        if hour != self._hour:
            self._hour, self._written = hour, 0
            self._alike.clear()
        self._alike[what] += 1
        if self._written > MOST_AN_HOUR or self._alike[what] > MOST_ALIKE_AN_HOUR:
            return
        if self._alike[what] == MOST_ALIKE_AN_HOUR:
            what += " (further lines like this one are left out for this hour)"
        self._written += 1
        self._write_line(what if self._written <= MOST_AN_HOUR else LEFT_OUT)

    def _write_line(self, what: str) -> None:
        when = time.strftime("%Y-%m-%d %H:%M:%SZ", time.gmtime(self._now_s()))
        plain = "".join(letter if " " <= letter <= "~" else "?" for letter in what)
        self._write(f"{when} {plain}")

    def note_error(self, kind: type[BaseException] | None, trace: TracebackType | None) -> None:
        """Writes that there was an error of this kind, and the place in the code: nothing of what it says."""
        self.note(f"{kind.__name__ if kind else 'error'} at {_place(trace)}")

    def hub_error(
        self, context: object, kind: type[BaseException] | None, error: object, trace: TracebackType | None
    ) -> None:
        """Takes the place of what gevent's hub does with an error that nothing else has caught."""
        self.note_error(kind, trace)


def keep_log(path: Path | None) -> EventLog:
    """The log of this process, to which all loggers of its libraries write from now on.

    It goes to the file `path`, which is created with the first line; or to standard error, if that is a
    service's journal or `path` is None.
    """
    to_journal = path is None or _is_journal(sys.stderr)
    log = EventLog(_to_stream(sys.stderr) if path is None or to_journal else _to_file(path))
    logging.getLogger().handlers[:] = [_Reports(log)]
    return log


def library_logger() -> logging.Logger:
    """The logger for libraries that want to be given one."""
    logger = logging.getLogger("exhibit.web")
    logger.setLevel(logging.ERROR)
    return logger


@contextlib.contextmanager
def nothing_printed(log: EventLog) -> Iterator[None]:
    """While this lasts, whatever a library prints to standard error, or warns of, becomes a line of the log.

    So does an error that nothing has caught, in a thread or while an object is deleted.
    """
    before = sys.stderr, warnings.showwarning, threading.excepthook, sys.unraisablehook
    sys.stderr = NotPrinted(log)
    warnings.showwarning = lambda message, category, filename, lineno, file=None, line=None: log.note(
        f"{category.__name__} at {_short(filename)}:{lineno}"
    )
    threading.excepthook = lambda args: log.note_error(args.exc_type, args.exc_traceback)
    sys.unraisablehook = lambda unraisable: log.note_error(unraisable.exc_type, unraisable.exc_traceback)
    try:
        yield
    finally:
        sys.stderr, warnings.showwarning, threading.excepthook, sys.unraisablehook = before


class NotPrinted(io.TextIOBase):
    """A stream of which the log says only that something was written to it, and where in the code."""

    def __init__(self, log: EventLog) -> None:
        self._log = log

    def write(self, text: str) -> int:
        """Notes it once for each line."""
        if "\n" in text:
            caller = sys._getframe(1)
            self._log.note(f"message from {_short(caller.f_code.co_filename)}:{caller.f_lineno}")
        return len(text)


class _Reports(logging.Handler):
    """Notes what the libraries report. Their words are left out, because they quote what a visitor sent."""

    def __init__(self, log: EventLog) -> None:
        super().__init__(logging.ERROR)
        self._log = log

    def emit(self, record: logging.LogRecord) -> None:
        if record.exc_info:
            self._log.note_error(record.exc_info[0], record.exc_info[2])
        else:
            self._log.note(f"{record.levelname.lower()} at {_short(record.pathname)}:{record.lineno}")


def _place(trace: TracebackType | None) -> str:
    last = None
    for last in traceback.walk_tb(trace):  # noqa: B007
        pass
    return f"{_short(last[0].f_code.co_filename)}:{last[1]}" if last else "an unknown place"


def _short(filename: str) -> str:
    """The file's name and its folder's, so that a line doesn't say where on this computer they are."""
    return "/".join(Path(filename).parts[-2:])


def _is_journal(stream: Any) -> bool:
    """Whether a service manager has connected this stream to its journal (systemd.exec(5))."""
    try:
        status = os.fstat(stream.fileno())
    except (AttributeError, OSError, ValueError):
        return False
    return os.environ.get("JOURNAL_STREAM", "") == f"{status.st_dev}:{status.st_ino}"


def _to_stream(stream: Any) -> Callable[[str], None]:
    def write(line: str) -> None:
        with contextlib.suppress(OSError, ValueError):
            put(line, to=stream)

    return write


def _to_file(path: Path) -> Callable[[str], None]:
    def write(line: str) -> None:
        # A log that can't be written must not stop the page.
        with contextlib.suppress(OSError):
            flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT | os.O_NONBLOCK | os.O_NOFOLLOW | os.O_CLOEXEC
            descriptor = os.open(path, flags, 0o644)
            try:
                begin_anew_if_long(descriptor)
                os.write(descriptor, f"{line}\n".encode("ascii"))
            finally:
                os.close(descriptor)

    return write


def begin_anew_if_long(descriptor: int) -> None:
    """Empties this open log if it has grown too long. Others who append to it go on at its beginning."""
    if os.fstat(descriptor).st_size >= LONGEST_FILE_BYTES:
        os.ftruncate(descriptor, 0)
