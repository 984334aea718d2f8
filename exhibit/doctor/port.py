"""The machine's serial port: whether it is there, who may use it, who has it open. It is never opened."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from exhibit.doctor.computer import Computer, Finding
from exhibit.doctor.old_processes import is_bridge
from exhibit.line.port_holders import holders

SERVICE_LINE: Final = "/dev/exhibit-line"
"""The name that service/60-exhibit.rules gives to the adapter."""
SLOW_MS: Final = 16
"""As long as many adapters gather characters, if nobody has told them otherwise."""


def looks_at_port(computer: Computer, line: str) -> Iterator[Finding]:
    """Look at the port of this line; with none given, at the one of the service, if it is set up."""
    if not line:
        if not computer.at("/etc/systemd/system/exhibit-bridge.service").exists():
            yield Finding("port not named")
            return
        line = SERVICE_LINE
    if "://" in line:
        yield Finding("port is network", {"line": line})
        return
    path = computer.at(line)
    try:
        status = path.stat()
    except OSError:
        there = sorted(f"{one.name}" for one in computer.at("/dev/serial/by-id").glob("*"))
        yield Finding("port missing", {"line": line, "there": ", ".join(there) or "-"})
        return
    if not stat.S_ISCHR(status.st_mode):
        yield Finding("port is none", {"line": line})
        return
    real = Path(os.path.realpath(path))
    yield Finding("port there", {"line": line, "device": real})
    yield from _permission(computer, line, status)
    yield from _held(computer, line, path)
    yield from _console(computer, line, real.name)
    yield from _latency(computer, line, real.name)


def _permission(computer: Computer, line: str, status: os.stat_result) -> Iterator[Finding]:
    user = computer.bridge_user()
    group = computer.group_named(status.st_gid)
    places: dict[str, object] = {"line": line, "user": user.name, "group": group}
    if user.may(status, write=True):
        yield Finding("port may be used", places)
    elif status.st_mode & 0o060 == 0o060 and group != "root":
        yield Finding("port needs group", places)
    else:
        yield Finding("port barred", places)


def _held(computer: Computer, line: str, path: Path) -> Iterator[Finding]:
    found = holders(f"{path}", computer.at("/proc"))
    others = []
    for holder in found:
        number = re.search(r"\(process (\d+)\)$", holder)
        if number and is_bridge(computer, number[1]):
            yield Finding("port held by bridge", {"line": line, "holder": holder})
        else:
            others.append((holder, number[1] if number else ""))
    for holder, pid in others:
        yield Finding("port held", {"line": line, "holder": holder, "pid": pid})
    if not found:
        yield Finding("port free" if computer.is_root else "port free as seen", {"line": line})


def _console(computer: Computer, line: str, device: str) -> Iterator[Finding]:
    """On many small boards the kernel writes to the board's own port, and lets people sign in there."""
    names = re.findall(r"\bconsole=([A-Za-z0-9]+)", computer.read("/proc/cmdline"))
    real = {os.path.basename(os.path.realpath(computer.at(f"/dev/{name}"))) for name in names}
    if device in real:
        yield Finding("port is console", {"line": line, "device": device})


def _latency(computer: Computer, line: str, device: str) -> Iterator[Finding]:
    said = computer.read(f"/sys/bus/usb-serial/devices/{device}/latency_timer")
    if said.isdecimal():
        key = "latency" if int(said) < SLOW_MS else "latency long"
        yield Finding(key, {"line": line, "ms": int(said), "device": device})
