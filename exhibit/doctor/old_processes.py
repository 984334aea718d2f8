"""Processes of exhibit that nobody looks after any more: left over from a start by hand."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from exhibit.doctor.computer import Computer, Finding

LAST_ALL_DAY: Final = ("bridge", "page", "desk", "relay", "simulate")
"""The commands that are processes by themselves."""


def looks_at_processes(computer: Computer) -> Iterator[Finding]:
    """Look for processes whose starter has gone and that belong to no service."""
    left = 0
    for process in sorted(computer.at("/proc").glob("[0-9]*"), key=lambda path: int(path.name)):
        command = _command(computer, process.name)
        if command not in LAST_ALL_DAY:
            continue
        parent = re.search(r"^PPid:\s+(\d+)$", computer.read(f"/proc/{process.name}/status"), re.MULTILINE)
        if parent is not None and parent[1] == "1" and not _of_service(computer, process.name):
            left += 1
            yield Finding("process left", {"command": command, "pid": process.name})
    if not left:
        yield Finding("no process left")


def is_bridge(computer: Computer, pid: str) -> bool:
    """Whether this process is a bridge of exhibit."""
    return _command(computer, pid) == "bridge"


def _of_service(computer: Computer, pid: str) -> bool:
    """Whether systemd looks after it: by the name of its control group (cgroups(7))."""
    groups = computer.read(f"/proc/{pid}/cgroup").splitlines()
    return any(group.endswith(".service") for group in groups)


def _command(computer: Computer, pid: str) -> str:
    """Which command of exhibit this process runs; empty if none."""
    words = computer.read(f"/proc/{pid}/cmdline").strip("\0").split("\0")
    for before, word in zip(words, words[1:], strict=False):
        if before == "exhibit" or before.endswith("/exhibit") or before.endswith("/exhibit/__main__.py"):
            return word
    return ""
