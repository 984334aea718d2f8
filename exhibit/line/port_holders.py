"""Which other programs on this computer have a serial port open.

Two programs on one port each get a part of what the machine says, and the locks that programs use
to keep each other off ignore one another. So besides locking we look (Linux: /proc; elsewhere, and
for programs of other users unless we are root, nothing is found).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

PROCESSES = Path("/proc")


def holders(device: str, processes: Path = PROCESSES) -> list[str]:
    """The other programs that have this device open, each as `cat (process 4711)`.

    The program at the far side of a pseudo-terminal counts as the machine, not as a rival, though
    it often keeps our side open too.
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
    except OSError:  # ended meanwhile, or another user's
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
