"""The web process's log: a line for each event, so many an hour, and not a word that a stranger chose."""

from __future__ import annotations

import logging
import re
import socket
import struct
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from exhibit.web import bounded_log
from exhibit.web.bounded_log import LEFT_OUT, MOST_ALIKE_AN_HOUR, MOST_AN_HOUR, EventLog, NotPrinted, keep_log
from tests.pages.web_processes import ROOT, WebProcess
from tests.web.page_line import Line
from tests.web.raw_http import WITHIN_S, said, written

FORGED = "\x1b]0;owned\x07\x1b[2J\x1b[1;1HCaution: \u202e the drive is safe to open"
"""Sets the window's title, clears the screen and forges a caution."""
A_LINE = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\dZ [ -~]{1,200}")
QUESTIONS = "/socket.io/?EIO=4&transport=websocket"


class Hours:
    """A steady clock that tests set."""

    now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def hours() -> Hours:
    return Hours()


@pytest.fixture
def lines() -> list[str]:
    return []


@pytest.fixture
def log(hours: Hours, lines: list[str]) -> EventLog:
    return EventLog(lines.append, steady_s=hours, now_s=lambda: 0.0)


def test_a_line_has_the_time_and_what_happened(log: EventLog, lines: list[str]) -> None:
    log.note("a request was refused")
    assert lines == ["1970-01-01 00:00:00Z a request was refused"]


def test_there_are_so_many_lines_an_hour_and_the_last_says_so(
    log: EventLog, lines: list[str], hours: Hours
) -> None:
    for number in range(1000):
        log.note(f"event {number}")
    assert len(lines) == MOST_AN_HOUR + 1
    assert lines[-1].endswith(LEFT_OUT)
    hours.now_s += 3600
    log.note("event")
    assert lines[-1].endswith("event")


def test_one_event_again_and_again_leaves_room_for_others(log: EventLog, lines: list[str]) -> None:
    for _ in range(1000):
        log.note("the same")
    assert len(lines) == MOST_ALIKE_AN_HOUR
    assert "left out" in lines[-1]
    log.note("another")
    assert lines[-1].endswith("another")


def test_an_error_is_told_by_its_kind_and_place_and_not_by_its_words(log: EventLog, lines: list[str]) -> None:
    try:
        raise ValueError(FORGED)
    except ValueError as error:
        log.hub_error(FORGED, type(error), error, error.__traceback__)
    [line] = lines
    assert re.fullmatch(r"\S+ \S+ ValueError at web/test_bounded_log.py:\d+", line)


def test_no_line_has_anything_but_printable_ascii(log: EventLog, lines: list[str]) -> None:
    log.note(FORGED + "\n\udc9b\x00\x7fä")
    assert A_LINE.fullmatch(lines[0])


def test_a_stream_in_place_of_standard_error_says_only_who_wrote_to_it(
    log: EventLog, lines: list[str]
) -> None:
    print(FORGED, file=NotPrinted(log))
    [line] = lines
    assert re.search(r"Z message from web/test_bounded_log.py:\d+$", line)


@pytest.fixture
def loggers() -> Iterator[None]:
    """Puts the loggers back as they were."""
    root = logging.getLogger()
    before = root.handlers[:]
    yield
    root.handlers[:] = before


@pytest.mark.usefixtures("loggers")
def test_the_file_comes_with_the_first_line_and_begins_anew_when_it_is_long(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "pages.log"
    log = keep_log(path)
    assert not path.exists()
    monkeypatch.setattr(bounded_log, "LONGEST_FILE_BYTES", 1000)
    for number in range(50):
        log.note(f"event {number}")
        assert path.stat().st_size < 1100
    assert path.read_text("ascii").endswith("event 49\n")


@pytest.mark.usefixtures("loggers")
@pytest.mark.parametrize("make", [Path.mkdir, lambda path: path.symlink_to(path.parent / "else")])
def test_a_log_that_can_not_be_written_stops_nothing(tmp_path: Path, make: Callable[[Path], None]) -> None:
    make(tmp_path / "pages.log")
    keep_log(tmp_path / "pages.log").note("event")
    assert not (tmp_path / "else").exists()


@pytest.mark.usefixtures("loggers")
def test_the_libraries_reports_become_lines_without_their_words(tmp_path: Path) -> None:
    keep_log(tmp_path / "pages.log")
    logging.getLogger("engineio.server").error(FORGED)
    try:
        raise KeyError(FORGED)
    except KeyError:
        logging.getLogger("exhibit").exception("Exception on %s [%s]", FORGED, "GET")
    first, second = (tmp_path / "pages.log").read_text("ascii").splitlines()
    assert re.search(r" error at web/test_bounded_log.py:\d+$", first)
    assert re.search(r" KeyError at web/test_bounded_log.py:\d+$", second)


# -- a whole web process, attacked ----------------------------------------------------------------

_FAILS_EVERYWHERE = """
import sys, warnings, threading, logging, gevent, os
from pathlib import Path
from exhibit.web import website
os.dup2(os.open({stderr!r}, os.O_WRONLY | os.O_CREAT | os.O_APPEND), 2)

class Odd:
    def __del__(self):
        raise RuntimeError({forged!r})

def fails(*_):
    warnings.warn({forged!r})
    print({forged!r}, file=sys.stderr)
    logging.getLogger("anything").error({forged!r})
    gevent.spawn(lambda: 1 / [0, {forged!r}][0])
    gevent.get_hub().loop.run_callback(lambda: [][{forged!r}])
    thread = threading.Thread(target=lambda: int({forged!r}))
    thread.start()
    thread.join()
    Odd()
    raise ValueError({forged!r})

website.drawn_picture = fails
website.serve_live(Path({where!r}), port=0, ready=lambda address: print(address, flush=True))
"""


@pytest.fixture
def attacked(tmp_path: Path) -> Iterator[tuple[WebProcess, Path, Path]]:
    """A web process that fails in every way if it is asked for a drawing; its log; its standard error."""
    stderr = tmp_path / "stderr"
    (recordings := tmp_path / "recordings").mkdir()
    code = _FAILS_EVERYWHERE.format(where=str(recordings), forged=FORGED, stderr=str(stderr))
    process = WebProcess(code)
    yield process, recordings / "pages-0.log", stderr
    process.end()


def _insulted_by(web: WebProcess) -> None:
    """Requests and messages with the forged text in every place that a stranger can write in."""
    latin = FORGED.replace("\u202e", "")
    for _ in range(30):
        said(web.port, written("GET", f"/{latin}", "Host: localhost"))
        said(web.port, written("GET", "/drawn/x.svg", "Host: localhost", f"X: {latin}"))
        said(web.port, written("GET", "/", f"Host: {latin}", f"Cookie: {latin}"))
        said(web.port, written("GET", "/", "Host: localhost", f"Origin: {latin}"))
        said(web.port, written(latin, "/", "Host: localhost", version=latin))
        said(web.port, written("GET", f"/socket.io/?EIO=4&transport={latin}", "Host: localhost"))
        said(
            web.port, written("GET", f"/socket.io/?EIO=4&transport=websocket&sid={latin}", "Host: localhost")
        )
        said(web.port, written("GET", "/", "Host: localhost", f"Content-Length: {latin}"))
        said(web.port, latin.encode("latin-1") + b"\r\n\r\n")
    for message in (
        FORGED,
        f"42{FORGED}",
        f'42["{FORGED}"]',
        f'42["ask",{{"news":"{FORGED}"}}]',
        "451-[]",
        "9",
    ):
        with Line(web) as line:
            line.socket.send(message)
    with Line(web) as line:
        line.socket.send_binary(FORGED.encode())
    with socket.create_connection(("127.0.0.1", web.port), WITHIN_S) as connection:
        connection.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n")
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))  # so it is reset


def test_whatever_strangers_send_and_whatever_fails_nothing_of_theirs_is_written(
    attacked: tuple[WebProcess, Path, Path],
) -> None:
    web, log, stderr = attacked
    _insulted_by(web)
    said(web.port, written("GET", "/", "Host: localhost"))  # so all before has been seen to
    written_lines = log.read_text("latin-1").split("\n")
    assert written_lines.pop() == ""
    assert [line for line in written_lines if not A_LINE.fullmatch(line)] == []
    assert not re.search("owned|Caution|drive|2J|safe", "".join(written_lines))
    assert 5 < len(written_lines) <= MOST_AN_HOUR + 1
    assert stderr.read_bytes() == b""
    kinds = {line.split()[2] for line in written_lines}
    assert kinds >= {"ValueError", "ZeroDivisionError", "TypeError", "RuntimeError", "UserWarning", "message"}


def test_a_service_s_journal_gets_the_lines_itself(tmp_path: Path) -> None:
    code = (
        "import os, sys; from pathlib import Path; from exhibit.web.bounded_log import keep_log;"
        "status = os.fstat(2);"
        "os.environ['JOURNAL_STREAM'] = f'{status.st_dev}:{status.st_ino}';"
        "keep_log(Path(sys.argv[1])).note('event')"
    )
    told = subprocess.run(
        [sys.executable, "-c", code, tmp_path / "pages.log"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert A_LINE.fullmatch(told.stderr.removesuffix("\n"))
    assert not (tmp_path / "pages.log").exists()
