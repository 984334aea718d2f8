"""A real host on a serial line: getty and login on a pseudo-terminal, for a throw-away account.

    master A <-> slave A   getty, login, the account's shell (its controlling terminal)
    master B <-> slave B   the bridge's device

What comes out of master A goes into master B and back, as along a cable, and both ways are kept. Only
root can do this; whoever isn't sees the tests skipped.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import pwd
import re
import select
import shutil
import subprocess
import tempfile
import termios
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

WITHIN_S = 60.0
LOOK_EVERY_S = 0.02
TERMINALS_PASSED_OVER = 60
SECRET = "Vq7zKw3xJp"
"""No four characters in a row of it come up anywhere else."""
SHELLS = {"bash": "bash", "sh": "dash"}
"""Our name for a shell to the program that is one, on Debian."""
GREETING = "Grüße aus dem Archiv ☃"
GREETING_BYTES = GREETING.encode() + b" and one byte of an older day: \x9b31m\xe9"
"""0x9b begins a control sequence where eight bits are control codes too (ECMA-48, CSI); here it must not."""


def octal(data: bytes) -> str:
    """The bytes as printf of any shell takes them."""
    return "".join(f"\\{byte:03o}" for byte in data)


class Account:
    """An account of the host, with a home and a password."""

    def __init__(self, shell: str) -> None:
        program = shutil.which(SHELLS[shell]) or SHELLS[shell]
        self.name = f"exh{os.getpid() % 100_000}"
        with _one_at_a_time():
            subprocess.run(["useradd", "--create-home", "--shell", program, self.name], check=True)
        try:
            entry = f"{self.name}:{SECRET}\n"
            with _one_at_a_time():
                subprocess.run(["chpasswd"], input=entry, text=True, check=True)
            record = pwd.getpwnam(self.name)
            self.uid, self.home = record.pw_uid, Path(record.pw_dir)
            with (self.home / ".profile").open("a") as profile:
                profile.write(f"\nprintf '{octal(GREETING_BYTES)}\\n'\n")
        except BaseException:
            self.remove()
            raise

    def remove(self) -> None:
        """Ends what the account still runs, by its processes' numbers, and takes it away."""
        for pid in [process.pid for process in processes_of(getattr(self, "uid", -1))]:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, 9)
        with _one_at_a_time():
            subprocess.run(["userdel", "--remove", "--force", self.name], check=True, capture_output=True)


@contextmanager
def _one_at_a_time() -> Iterator[None]:
    """The programs that change accounts refuse while another test's is at it."""
    with (Path(tempfile.gettempdir()) / "exhibit-tests-accounts.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


class Process:
    """A process as /proc shows it."""

    def __init__(self, pid: int) -> None:
        folder = Path("/proc") / str(pid)
        self.pid = pid
        self.command = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace").strip()
        # proc(5): behind the name in brackets come state (3), parent (4), ... processor time (14-17).
        fields = (folder / "stat").read_text(errors="replace").rpartition(")")[2].split()
        self.state = fields[0]
        self.parent = int(fields[1])
        self.processor_ticks = sum(map(int, fields[11:15]))
        io = dict(line.split(": ") for line in (folder / "io").read_text().splitlines())
        self.written_bytes = int(io["wchar"])


def processes_of(uid: int) -> Iterator[Process]:
    """The processes of this user that live."""
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError, ValueError, KeyError, IndexError):
            if folder.stat().st_uid == uid:
                process = Process(int(folder.name))
                if process.state != "Z":
                    yield process


class Sampler:
    """Looks at all processes again and again: what the account runs, and who tells the secret."""

    def __init__(self, uid: int) -> None:
        self._uid = uid
        self._stopping = threading.Event()
        self.seen: dict[int, Process] = {}
        """The account's processes, as they were seen last."""
        self.secret_seen_in: list[str] = []
        self._thread = threading.Thread(target=self._run, name="sampler", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Stops looking."""
        self._stopping.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._stopping.wait(0.1):
            for process in processes_of(self._uid):
                self.seen[process.pid] = process
            self._search()

    def _search(self) -> None:
        for folder in Path("/proc").glob("[0-9]*"):
            for name in ("cmdline", "environ"):
                with contextlib.suppress(OSError):
                    if SECRET.encode() in (folder / name).read_bytes():
                        self.secret_seen_in.append(f"{folder / name}")


def _terminals_of_our_own() -> list[tuple[int, int]]:
    """Two pseudo-terminals whose numbers nobody knows.

    The system gives out the lowest number that is free, and a program that has lost its line looks for it
    by its old number: on a computer where other tests run it would find ours and read what isn't its own.
    """
    several = [os.openpty() for _ in range(TERMINALS_PASSED_OVER + 2)]
    for ends in several[:-2]:
        for end in ends:
            os.close(end)
    return several[-2:]


class Host:
    """getty on one pseudo-terminal, started again whenever it has ended, and a cable to another one."""

    def __init__(self, place: Path, term: str) -> None:
        self._place = place
        self._term = term
        self.said = bytearray()
        """All that came from the host."""
        self.heard = bytearray()
        """All that came along the cable to the host."""
        self._whens: list[tuple[re.Pattern[bytes], int, Callable[[], None]]] = []
        self._news = threading.Condition()
        self._stopping = threading.Event()
        self._getty: subprocess.Popen[bytes] | None = None
        (self._master_a, slave_a), (self._master_b, slave_b) = _terminals_of_our_own()
        self.terminal, self.device = os.ttyname(slave_a), os.ttyname(slave_b)
        tty.setraw(slave_b)  # as a cable: until somebody opens it, it must not echo
        os.close(slave_a)
        os.close(slave_b)
        self._issue = place / "issue"
        self._issue.write_bytes(b"\\n \\l\n" + GREETING.encode() + b"\n\n")
        self._relay = threading.Thread(target=self._run, name="cable", daemon=True)
        self._relay.start()

    def close(self) -> None:
        """Hangs up."""
        self._stopping.set()
        self._relay.join()
        if self._getty is not None:
            self._getty.kill()
            self._getty.wait()
        os.close(self._master_a)
        os.close(self._master_b)

    def type(self, data: bytes) -> None:
        """Types at the host's own keyboard, beside the cable."""
        os.write(self._master_a, data)

    def wait_for(self, pattern: bytes, start: int = 0, within_s: float = WITHIN_S) -> int:
        """Waits until the host has said this behind `start`; gives the place behind it."""
        ends_s = time.monotonic() + within_s
        with self._news:
            while True:
                found = re.search(pattern, bytes(self.said[start:]))
                if found:
                    return start + found.end()
                left_s = ends_s - time.monotonic()
                assert left_s > 0, f"{pattern!r} did not come; last: {bytes(self.said[-300:])!r}"
                self._news.wait(left_s)

    def when(self, pattern: bytes, act: Callable[[], None]) -> None:
        """Acts once, as soon as the host has said this and before anything else passes along the cable."""
        self._whens.append((re.compile(pattern), len(self.said), act))

    def notice(self, text: bytes) -> None:
        """Another process of the computer writes to the host's terminal, as wall and write do."""
        script = f"printf '{octal(text)}' >{self.terminal}"
        subprocess.run(["sh", "-c", script], check=True, timeout=WITHIN_S)

    # -- the cable ----------------------------------------------------------------------------

    def _run(self) -> None:
        while not self._stopping.is_set():
            if self._getty is None or self._getty.poll() is not None:
                self._start_getty()
            ready, _, _ = select.select([self._master_a, self._master_b], [], [], LOOK_EVERY_S)
            passed = [self._pass_on(master) for master in ready]
            if ready and not any(passed):
                # An error is all there is to read while nobody has the other side open.
                self._stopping.wait(LOOK_EVERY_S)

    def _start_getty(self) -> None:
        program = shutil.which("agetty") or "agetty"
        line = self.terminal.removeprefix("/dev/")
        options = ["--noclear", "--local-line", "--issue-file", f"{self._issue}"]
        self._getty = subprocess.Popen(
            [program, *options, line, "9600", self._term], start_new_session=True, env={"PATH": os.defpath}
        )

    def _pass_on(self, master: int) -> bool:
        try:
            data = os.read(master, 4096)
        except OSError:
            return False
        if master == self._master_b:
            self.heard += data
            os.write(self._master_a, data)
            return True
        with self._news:
            self.said += data
            self._news.notify_all()
        if self._somebody_listens():
            os.write(self._master_b, data)
        for waiting in list(self._whens):
            pattern, start, act = waiting
            if pattern.search(bytes(self.said[start:])):
                self._whens.remove(waiting)
                act()
        return True

    def _somebody_listens(self) -> bool:
        poll = select.poll()
        poll.register(self._master_b, select.POLLHUP)
        return not poll.poll(0)


@contextmanager
def host_with_account(place: Path, shell: str, term: str) -> Iterator[tuple[Host, Account]]:
    """A host with a throw-away account whose login shell is `shell`, both gone afterwards."""
    account = Account(shell)
    try:
        host = Host(place, term)
        try:
            yield host, account
        finally:
            host.close()
    finally:
        account.remove()


def lacking() -> str:
    """What this computer lacks for a host of its own; empty if nothing."""
    if os.geteuid() != 0:
        return "root, to make a throw-away account and sign it in"
    programs = ["agetty", "login", "useradd", "userdel", "chpasswd", "top", "ps", *SHELLS.values()]
    missing = [program for program in programs if shutil.which(program) is None]
    packages = "util-linux login passwd procps dash"
    return f"the programs {', '.join(missing)} (apt-get install {packages})" if missing else ""


def wall(*lines: str) -> bytes:
    """What wall of util-linux (term-utils/wall.c) writes: all of it filled up with spaces to 79 columns."""

    def row(text: str, end: str = "\r\n") -> str:
        return f"{text:<79.79}{end}"

    heading = "Broadcast message from keeper@host (pts/9) (Fri Nov 25 10:00:00 2024):"
    rows = ["\r" + row(""), row(heading, "\a\a\r\n"), row(""), *map(row, lines), row("")]
    return "".join(rows).encode()


def message(*lines: str) -> bytes:
    """What write of util-linux (term-utils/write.c) writes."""
    heading = "\r\n\a\a\aMessage from keeper@host on pts/9 at 10:00 ...\r\n"
    return (heading + "".join(f"{line}\r\n" for line in lines) + "EOF\r\n").encode()


def settings_are_raw(device: str) -> bool:
    """Whether the device passes bytes on as they are."""
    descriptor = os.open(device, os.O_RDWR | os.O_NOCTTY)
    try:
        return not termios.tcgetattr(descriptor)[3] & (termios.ECHO | termios.ICANON)
    finally:
        os.close(descriptor)
