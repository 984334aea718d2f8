"""Finds the process that passes between two ports, or starts it. It outlives whoever started it."""

from __future__ import annotations

import hashlib
import os
import selectors
import stat
import subprocess
from contextlib import suppress
from pathlib import Path
from typing import IO, Final

import msgspec

from exhibit.facts.errors import SetUpFault
from exhibit.facts.line_settings import LineSettings
from exhibit.passing.own_python import own_command, own_environment

START_WITHIN_S: Final = 30.0
PIDS: Final = Path("/proc")
LONGEST_RUNTIME_BYTES: Final = 70
"""The name of a local socket has at most 107 bytes (unix(7)), and ours adds 34 to the folder's."""


class Passer:
    """The passing process of these two ports, with these settings of the line."""

    def __init__(self, line: str, terminal: str, settings: LineSettings) -> None:
        """Raises SetUpFault if there is no folder for its socket that only this user can change."""
        self._arguments = (line, terminal, msgspec.json.encode(settings).decode())
        ports = "\n".join(os.path.realpath(device) for device in (line, terminal))
        name = hashlib.sha256(ports.encode()).hexdigest()[:16]
        folder = _folder()
        self.place = folder / f"passing-{name}"
        """Its socket."""
        self._note = folder / f"passing-{name}.json"
        self._child: subprocess.Popen[str] | None = None
        self.pid = self.running()

    def ensure(self) -> bool:
        """Start the process if it isn't running. Returns whether it had to be started.

        Raises SetUpFault if one with other settings is running, or if it can't start.
        """
        self.pid = self.running()
        if self.pid:
            return False
        self.place.unlink(missing_ok=True)
        self._child = child = subprocess.Popen(
            own_command("exhibit.passing", str(self.place), *self._arguments),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
            env=own_environment({k: v for k, v in os.environ.items() if not k.startswith("EXHIBIT_SECRET_")}),
        )
        assert child.stdout is not None
        assert child.stderr is not None
        with child.stdout as out, child.stderr as errors:
            said = _read_line(out)
            if not said:
                child.kill()
                raise _not_started(errors.read().splitlines())
        self.pid = int(said)
        self._note.write_text(msgspec.json.encode((self.pid, _born(self.pid), self._arguments[2])).decode())
        return True

    def running(self) -> int:
        """The number of the process, if it is running; else 0. Raises SetUpFault if its settings differ."""
        if self._child is not None:
            self._child.poll()  # lets the system forget a child that has ended
        try:
            pid, born, settings = msgspec.json.decode(self._note.read_bytes(), type=tuple[int, str, str])
        except (OSError, msgspec.MsgspecError):
            return 0
        if not born or _born(pid) != born:
            return 0
        if settings != self._arguments[2]:
            raise SetUpFault(
                f"Characters are already passed between these ports, by process {pid}, "
                "but with other settings of the line.",
                "With settings other than the machine's, both sides receive nonsense.",
                f"When nobody is at the terminal, end that process with `kill {pid}`; then start again.",
            )
        return pid


def _not_started(said: list[str]) -> SetUpFault:
    """What the process said before it ended: three sentences, if it knew why."""
    if len(said) == 3:
        return SetUpFault(*said)
    return SetUpFault(
        f"The process that passes characters did not start ({said[-1] if said else 'it said nothing'}).",
        "Nothing is passed between the machine and the terminal.",
        "Show the engineer this message.",
    )


def _born(pid: int) -> str:
    """When a process was started, so that its number can't be taken for another's; empty if it has ended."""
    try:
        words = (PIDS / f"{pid}" / "stat").read_text().rpartition(")")[2].split()
    except OSError:
        return ""
    return "" if words[0] == "Z" else words[19]


def _folder() -> Path:
    """A folder of this user's own for sockets, the same in each run."""
    runtime = os.environ.get("XDG_RUNTIME_DIR")
    folder = Path(f"/tmp/exhibit-{os.geteuid()}")
    if runtime and len(os.fsencode(runtime)) <= LONGEST_RUNTIME_BYTES:
        folder = Path(runtime) / "exhibit"
    with suppress(FileExistsError):
        folder.mkdir(mode=0o700)
    found = folder.lstat()
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != os.geteuid() or found.st_mode & 0o077:
        raise SetUpFault(
            f"{folder} is not a folder that only this user can open.",
            "Somebody else could pretend to be the machine.",
            f"Remove {folder}, then start again.",
        )
    return folder


def _read_line(out: IO[str]) -> str:
    with selectors.DefaultSelector() as selector:
        selector.register(out, selectors.EVENT_READ)
        return out.readline().strip() if selector.select(START_WITHIN_S) else ""
