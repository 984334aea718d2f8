"""The processes that units start tell systemd when they are ready, and go on saying that they work."""

from __future__ import annotations

import os
import pty
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from exhibit.web.places import scripts_folder

WITHIN_S = 60.0
BEATS = 3
LIMIT_US = 400_000


@contextmanager
def started(folder: Path, *arguments: str) -> Iterator[tuple[subprocess.Popen[bytes], socket.socket]]:
    """A command of exhibit, and the socket at which it tells."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as told:
        told.bind(f"{folder / 'notify'}")
        told.settimeout(WITHIN_S)
        environment = {**os.environ, "NOTIFY_SOCKET": told.getsockname(), "WATCHDOG_USEC": f"{LIMIT_US}"}
        process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", *arguments],
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            yield process, told
        finally:
            process.send_signal(signal.SIGCONT)
            process.terminate()
            process.wait()


def tells(process: subprocess.Popen[bytes], told: socket.socket) -> None:
    """It says that it is ready and that it works; a stopped one no longer says so."""
    said = [told.recv(100) for _ in range(1 + BEATS)]
    assert set(said) == {b"READY=1", b"WATCHDOG=1"}
    process.send_signal(signal.SIGSTOP)
    os.waitpid(process.pid, os.WUNTRACED)
    told.settimeout(4 * LIMIT_US / 1_000_000)
    with pytest.raises(TimeoutError):
        hear(told, more_than=100)


def hear(told: socket.socket, more_than: int) -> None:
    """Take what was said before, and so much more, as it would come from one that works."""
    for _ in range(more_than):
        told.recv(100)


@pytest.mark.parametrize("workers", ["1", "2"])
def test_a_page_tells(tmp_path, workers):
    page = ["page", "--recordings", f"{tmp_path}", "--port", "0", "--workers", workers]
    with started(tmp_path, *page) as (process, told):
        if workers == "2":
            assert {told.recv(100) for _ in range(1 + BEATS)} == {b"READY=1", b"WATCHDOG=1"}
        else:
            tells(process, told)


def test_a_bridge_tells(tmp_path):
    far, near = pty.openpty()
    line = os.ttyname(near)
    os.close(near)
    folder = f"{scripts_folder() / 'heron'}"
    with started(
        tmp_path, "bridge", folder, "--line", line, "--recordings", f"{tmp_path / 'recordings'}", "--watch"
    ) as (process, told):
        tells(process, told)
    os.close(far)
