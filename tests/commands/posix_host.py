"""A real host on a serial line: getty and login on a pseudo-terminal, for a throw-away account.

    master A <-> slave A   getty, login, the account's shell (its controlling terminal)
    master B <-> slave B   the bridge's device

Bytes pass between the two masters as along a cable, and those of both directions are kept. Only root can do
this; for anybody else the tests are skipped.
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
TERMINALS_SKIPPED = 60
SECRET = "Vq7zKw3xJp"
"""No four characters of it in a row appear anywhere else."""
SHELLS = {"bash": "bash", "sh": "dash"}
"""Our name for a shell -> its program on Debian."""
GREETING = "Grüße aus dem Archiv ☃"
GREETING_BYTES = GREETING.encode() + b" and one byte of an older day: \x9b31m\xe9"
"""0x9b begins a control sequence in 8-bit control codes (ECMA-48, CSI). Here it must not."""


def octal(data: bytes) -> str:
    """The bytes in octal, as any shell's printf reads them."""
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
        """Ends the account's processes, by their numbers, and deletes the account."""
        for pid in [process.pid for process in processes_of(getattr(self, "uid", -1))]:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, 9)
        with _one_at_a_time():
            subprocess.run(["userdel", "--remove", "--force", self.name], check=True, capture_output=True)


@contextmanager
def _one_at_a_time() -> Iterator[None]:
    """Waits for other tests: programs that change accounts refuse to run at the same time."""
    with (Path(tempfile.gettempdir()) / "exhibit-tests-accounts.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


class Process:
    """A process as /proc shows it."""

    def __init__(self, pid: int) -> None:
        folder = Path("/proc") / str(pid)
        self.pid = pid
        self.command = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace").strip()
        # proc(5): after the name in brackets follow state (3), parent (4), ... processor time (14-17).
        fields = (folder / "stat").read_text(errors="replace").rpartition(")")[2].split()
        self.state = fields[0]
        self.parent = int(fields[1])
        self.processor_ticks = sum(map(int, fields[11:15]))
        io = dict(line.split(": ") for line in (folder / "io").read_text().splitlines())
        self.written_bytes = int(io["wchar"])


def processes_of(uid: int) -> Iterator[Process]:
    """The processes of this user that are alive."""
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError, ValueError, KeyError, IndexError):
            if folder.stat().st_uid == uid:
                process = Process(int(folder.name))
                if process.state != "Z":
                    yield process


class Sampler:
    """Looks at all processes repeatedly: which the account runs, and which show the secret."""

    def __init__(self, uid: int) -> None:
        self._uid = uid
        self._stopping = threading.Event()
        self.seen: dict[int, Process] = {}
        """The account's processes by number, as last seen."""
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
    """Two pseudo-terminals whose numbers no other test uses.

    The system gives out the lowest free number, and a program that has lost its line looks for it under its
    old number. Where other tests run, such a program could open one of ours and take our bytes.
    """
    several = [os.openpty() for _ in range(TERMINALS_SKIPPED + 2)]
    for ends in several[:-2]:
        for end in ends:
            os.close(end)
    return several[-2:]


class Host:
    """getty on one pseudo-terminal, started again whenever it ends, and a cable to another one."""

    def __init__(self, place: Path, term: str) -> None:
        self._place = place
        self._term = term
        self.said = bytearray()
        """Everything that the host sent."""
        self.heard = bytearray()
        """Everything that reached the host along the cable."""
        self._whens: list[tuple[re.Pattern[bytes], int, Callable[[], None]]] = []
        self._news = threading.Condition()
        self._stopping = threading.Event()
        self._getty: subprocess.Popen[bytes] | None = None
        (self._master_a, slave_a), (self._master_b, slave_b) = _terminals_of_our_own()
        self.terminal, self.device = os.ttyname(slave_a), os.ttyname(slave_b)
        tty.setraw(slave_b)  # like a cable, it must not echo, even before somebody opens it
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
        """Types at the host's own keyboard, not through the cable."""
        os.write(self._master_a, data)

    def wait_for(self, pattern: bytes, start: int = 0, within_s: float = WITHIN_S) -> int:
        """Waits until the host has sent this after `start`. Returns the place after it."""
        give_up_s = time.monotonic() + within_s
        with self._news:
            while True:
                found = re.search(pattern, bytes(self.said[start:]))
                if found:
                    return start + found.end()
                remaining_s = give_up_s - time.monotonic()
                assert remaining_s > 0, f"{pattern!r} did not come; last: {bytes(self.said[-300:])!r}"
                self._news.wait(remaining_s)

    def when(self, pattern: bytes, act: Callable[[], None]) -> None:
        """Acts once, as soon as the host has sent this and before anything more passes along the cable."""
        self._whens.append((re.compile(pattern), len(self.said), act))

    def notice(self, text: bytes) -> None:
        """Writes to the host's terminal from another process, as wall and write do."""
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
                # While nobody has the other side open, reading gives nothing but errors.
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
    """A host with a throw-away account whose login shell is `shell`. Both are removed afterwards."""
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
    """What is missing on this computer for such a host; empty if nothing is."""
    if os.geteuid() != 0:
        return "root, to make a throw-away account and sign it in"
    programs = ["agetty", "login", "useradd", "userdel", "chpasswd", "top", "ps", *SHELLS.values()]
    missing = [program for program in programs if shutil.which(program) is None]
    packages = "util-linux login passwd procps dash"
    return f"the programs {', '.join(missing)} (apt-get install {packages})" if missing else ""


def wall(*lines: str) -> bytes:
    """What wall of util-linux (term-utils/wall.c) writes: lines filled with spaces to 79 columns."""

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
    """Whether the device passes bytes on unchanged."""
    descriptor = os.open(device, os.O_RDWR | os.O_NOCTTY)
    try:
        return not termios.tcgetattr(descriptor)[3] & (termios.ECHO | termios.ICANON)
    finally:
        os.close(descriptor)
