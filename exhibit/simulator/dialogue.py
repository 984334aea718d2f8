"""What the starter and TIDEBOOK share: yes or no, reading with dots, checking a drive, printing a day."""

from collections.abc import Generator
from datetime import date
from typing import Any

from exhibit.simulator.disc import Drive
from exhibit.simulator.program import Ask, Request, Say, Steps, Transfer, Work

SECTOR_WORK_US = 300
"""Storing a sector's words; long enough to miss the next sector as it passes (invented)."""
CHECK_DOTS = 20
WEEKDAYS = ("MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY", "SATURDAY", "SUNDAY")


def day_text(day: date) -> str:
    """The day as the machine prints it: 25.11.1998."""
    return f"{day.day}.{day.month}.{day.year}"


def ask_yes(question: str, *, default: bool) -> Generator[Request, Any, bool]:
    """Ask until the answer is YES, NO or RETURN alone, which means the default shown in brackets."""
    answers = {"YES": True, "NO": False, "": default}
    while True:
        answer = yield Ask(f"{question} ({'YES' if default else 'NO'})? ")
        if answer.strip() in answers:
            return answers[answer.strip()]
        yield Say("YES OR NO, OR RETURN ALONE\r\n")


def read_with_dots(
    drive: Drive, sectors: range, dots: int, *, writing: bool = False
) -> Generator[Request, Any, bool]:
    """Read (or write) sectors one by one and print `dots` dots on the way. False at the first failure."""
    sectors_a_dot = len(sectors) // dots if dots else len(sectors) + 1
    a_track = drive.geometry.sectors
    for count, sector in enumerate(sectors, 1):
        word = sector if writing else None
        moved = yield Transfer(drive.name, sector // a_track, sector % a_track, word)
        yield Work(SECTOR_WORK_US)
        if not moved.worked:
            return False
        if count % sectors_a_dot == 0 and count // sectors_a_dot <= dots:
            yield Say(".")
    return True


def check(drive: Drive) -> Steps:
    """The repair tool: read one sector of every track and count the tracks that fail."""
    if drive.state != "ready":
        yield Say(f"CANNOT: {drive.name} NOT READY\r\n")
        return
    yield Say("CHECKING ")
    failed = 0
    for track in range(drive.geometry.tracks):
        moved = yield Transfer(drive.name, track, track % drive.geometry.sectors)
        yield Work(SECTOR_WORK_US)
        failed += not moved.worked
        if (track + 1) * CHECK_DOTS // drive.geometry.tracks > track * CHECK_DOTS // drive.geometry.tracks:
            yield Say(".")
    yield Say(" SOUND\r\n" if not failed else f" {failed} TRACKS FAILED\r\n")
