"""This computer's date and time: who sets them, in which zone, and whether they can be true."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from exhibit.doctor.computer import Computer, Finding
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording import RecordingFolder

ALLOWED: Final = timedelta(minutes=2)
_ZONES: Final = "zoneinfo/"


def looks_at_clock(computer: Computer, recordings: Path, now: datetime | None = None) -> Iterator[Finding]:
    """Look at the clock; tests say what it shows."""
    now = now or datetime.now().astimezone()
    yield from _plausible(recordings, now)
    yield from _zone(computer, now)
    yield from _synchronised(computer)


def _plausible(recordings: Path, now: datetime) -> Iterator[Finding]:
    places: dict[str, object] = {"now": f"{now:%Y-%m-%d %H:%M}"}
    last_s = 0.0
    try:
        for file in RecordingFolder(recordings).recordings():
            last_s = max(last_s, file.path.stat().st_mtime, file.opened_s)
    except (OSError, RecordingFault):
        last_s = 0.0
    last = datetime.fromtimestamp(last_s, now.tzinfo)
    if last - now > ALLOWED:
        yield Finding("time went back", {**places, "last": f"{last:%Y-%m-%d %H:%M}"})
    else:
        yield Finding("time", places)


def _zone(computer: Computer, now: datetime) -> Iterator[Finding]:
    try:
        zone = os.readlink(computer.at("/etc/localtime")).partition(_ZONES)[2]
    except OSError:
        zone = ""
    if zone:
        yield Finding("zone", {"zone": zone, "offset": f"{now:%z}"})
    else:
        yield Finding("zone missing")


def _synchronised(computer: Computer) -> Iterator[Finding]:
    battery = any(computer.at("/sys/class/rtc").glob("rtc*"))
    if not computer.has_systemd:
        yield Finding("clock not asked")
        return
    said = computer.ask(["timedatectl", "show", "--property=NTPSynchronized", "--value"]).strip()
    if said == "yes":
        yield Finding("clock synchronised" if battery else "clock synchronised without battery")
    elif battery:
        yield Finding("clock of its own")
    else:
        yield Finding("clock by nobody")
