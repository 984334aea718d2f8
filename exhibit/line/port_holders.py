"""Which other programs on this computer have a serial port open.

If two programs read one port, each gets only part of what the machine sends, and different kinds of lock
don't know of one another. So besides locking the port, this program looks for others that have it open, in
Linux's /proc. It can't find programs of other users unless it runs as root.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

PROCESSES = Path("/proc")


def holders(device: str, processes: Path = PROCESSES) -> list[str]:
    """The other programs that have this device open, each in the form `cat (process 4711)`.

    A program that has the other end of a pseudo-terminal open is the machine and doesn't count, although it
    often has this end open too.
    """
    real = os.path.realpath(device)
    found = []
    for process in processes.glob("[0-9]*"):
        if process.name == str(os.getpid()):
            continue
        opened = set(_open_files(process))
        if real in opened and not (real.startswith("/dev/pts/") and "/dev/ptmx" in opened):
            found.append(f"{_name(process)} (process {process.name})")
    return sorted(found)


def _open_files(process: Path) -> Iterator[str]:
    try:
        numbers = list((process / "fd").iterdir())
    except OSError:  # it has ended meanwhile, or belongs to another user
        return
    for number in numbers:
        try:
            target = os.readlink(number)
        except OSError:
            continue
        yield "/dev/ptmx" if target.endswith("/ptmx") else target


def _name(process: Path) -> str:
    try:
        return (process / "comm").read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        return "a program"
