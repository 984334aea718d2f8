"""Pieces of dialogue that the starter and TIDEBOOK share: reading with dots, the check, yes or no."""

from collections.abc import Generator
from typing import TYPE_CHECKING, Any

from exhibit.simulator.wishes import Ask, Say, Steps, Transfer, Wish, Work

if TYPE_CHECKING:
    from exhibit.simulator.core import Whimbrel

SECTOR_WORK_US = 300
"""Putting a sector's words away; long enough for the next sector to have passed by (invented)."""
CHECK_DOTS = 20


def ask_yes(question: str, *, default: bool) -> Generator[Wish, Any, bool]:
    """Ask until YES, NO or a bare RETURN comes; that takes the default, which stands in brackets."""
    words = {"YES": True, "NO": False, "": default}
    while True:
        answer = yield Ask(f"{question} ({'YES' if default else 'NO'})? ")
        if answer.strip() in words:
            return words[answer.strip()]
        yield Say("YES OR NO, OR RETURN ALONE\r\n")


def read_with_dots(
    machine: "Whimbrel", name: str, sectors: range, dots: int, *, writing: bool = False
) -> Generator[Wish, Any, bool]:
    """Read (or write) sectors one by one, printing so many dots on the way. False at the first failure."""
    each = len(sectors) // dots if dots else len(sectors) + 1
    a_track = machine.drives[name].geometry.sectors
    for count, sector in enumerate(sectors, 1):
        word = sector if writing else None
        moved = yield Transfer(name, sector // a_track, sector % a_track, word)
        yield Work(SECTOR_WORK_US)
        if not moved.worked:
            return False
        if count % each == 0 and count // each <= dots:
            yield Say(".")
    return True


def check(machine: "Whimbrel", name: str) -> Steps:
    """The repair tool: read one sector of every track and count what fails."""
    drive = machine.drives[name]
    if drive.state != "ready":
        yield Say(f"CANNOT: {name} NOT READY\r\n")
        return
    yield Say("CHECKING ")
    failed = 0
    for track in range(drive.geometry.tracks):
        moved = yield Transfer(name, track, track % drive.geometry.sectors)
        yield Work(SECTOR_WORK_US)
        failed += not moved.worked
        if (track + 1) * CHECK_DOTS // drive.geometry.tracks > track * CHECK_DOTS // drive.geometry.tracks:
            yield Say(".")
    yield Say(" SOUND\r\n" if not failed else f" {failed} TRACKS FAILED\r\n")
