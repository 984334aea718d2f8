"""`exhibit page --workers`: several processes at one port, each of which is started again when it ends."""

from __future__ import annotations

import os
import signal
import socket
import time
from contextlib import suppress
from pathlib import Path

from exhibit.commands import visitors_page
from exhibit.facts import kinds
from tests.pages import made_facts
from tests.relay.processes import WITHIN_S, Process, Served, Visitor, exhibit

SERVED = "visitors' page: (http.*)"


def sockets_of(pid: int) -> set[str]:
    """The sockets that this process has."""
    links = []
    for path in Path(f"/proc/{pid}/fd").iterdir():
        with suppress(FileNotFoundError):  # closed since it was listed
            links.append(os.readlink(path))
    return {link for link in links if link.startswith("socket:")}


def page(recordings: Path, port: int, workers: int) -> tuple[str, ...]:
    return ("page", "--recordings", f"{recordings}", "--port", f"{port}", "--workers", f"{workers}")


def test_several_workers_share_the_pages_and_one_that_is_killed_comes_back(tmp_path: Path) -> None:
    with made_facts.beating(tmp_path) as tell, exhibit(*page(tmp_path, 0, 3)) as served:
        tell(kinds.LineOpened(line="x"))
        at = Served(served.line(SERVED))
        workers = served.workers()
        assert len(workers) == 3
        had = {pid: len(sockets_of(pid)) for pid in workers}
        visitors = [Visitor(at) for _ in range(40)]
        for visitor in visitors:
            visitor.until("live")
        # The kernel deals them out by their ports. That one of three gets none of 40: once in four million.
        assert all(len(sockets_of(pid)) > had[pid] for pid in workers)
        os.kill(workers[0], signal.SIGKILL)
        for visitor in visitors:
            visitor.until("live")
            visitor.close()
        give_up_s = time.monotonic() + WITHIN_S
        while len(served.workers()) < 3 or workers[0] in served.workers():
            assert time.monotonic() < give_up_s
            time.sleep(0.05)


def test_a_run_finds_that_page_and_its_note_goes_with_it(tmp_path: Path) -> None:
    with exhibit(*page(tmp_path, 0, 2)) as served:
        address = served.line(SERVED)
        served.line("(Ctrl-C)")
        note = visitors_page.page_there(tmp_path, "whimbrel")
        assert note is not None
        assert (note.address, note.pid) == (address, served.process.pid)
        workers = served.workers()
    assert visitors_page.page_there(tmp_path, "whimbrel") is None
    assert not [pid for pid in workers if Path(f"/proc/{pid}").exists()]


def test_workers_end_when_whoever_started_them_is_killed(tmp_path: Path) -> None:
    with exhibit(*page(tmp_path, 0, 2)) as served:
        served.line(SERVED)
        workers = served.workers()
        served.process.kill()
        give_up_s = time.monotonic() + WITHIN_S
        while any(Path(f"/proc/{pid}").exists() for pid in workers):
            assert time.monotonic() < give_up_s
            time.sleep(0.05)


def test_a_port_that_another_program_has_is_refused_even_if_that_one_would_share_it(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        other.bind(("127.0.0.1", 0))
        other.listen()
        refused = Process(*page(tmp_path, other.getsockname()[1], 2))
        refused.line("(port is in use)")
        refused.line("(choose another port)")
        assert refused.status() == 2


def test_while_workers_serve_it_no_other_program_gets_the_port(tmp_path: Path) -> None:
    writer = made_facts.begin(tmp_path)
    writer.append(kinds.LineOpened(line="x"), 1)
    with exhibit(*page(tmp_path, 0, 2)) as served:
        port = Served(served.line(SERVED)).port
        another = Process(*page(tmp_path / "others", port, 1))
        another.line("(port is in use)")
        assert another.status() == 2
    writer.abandon()
