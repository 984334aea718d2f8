"""Small recordings for tests."""

from collections.abc import Iterable
from pathlib import Path

from exhibit.facts.display import Display
from exhibit.facts.kinds import AnyFact, BytesReceived, Heartbeat, RecordingOpened
from exhibit.streams.recording_writer import RecordingWriter

SMALL_RESERVE_BYTES = 4096


def an_opening(machine: str = "whimbrel", wall: str = "2026-11-25T09:30:00+01:00", rate: float = 1.0):
    """The first fact of a recording, as a bridge would pass it."""
    return RecordingOpened(
        format=0,
        how_to_read="",
        software="exhibit 0.1.0",
        machine=machine,
        title={"en": "The Whimbrel"},
        parts={},
        languages={"en": "English"},
        machine_is="simulated",
        typing="scripts",
        rate=rate,
        wall=wall,
        line="socket://localhost:7777",
        eighth_bit="parity",
        parity="even",
        display=Display(),
        digests={},
        previous_file="",
        previous_crc="",
    )


def some_facts(count: int) -> list[tuple[AnyFact, int]]:
    """Facts with their times: one every 40 ms, a piece or (every fiftieth) a heartbeat."""
    found: list[tuple[AnyFact, int]] = []
    for number in range(1, count + 1):
        at_us = number * 40_000
        if number % 50 == 0:
            found.append((Heartbeat(wall=f"2026-11-25T09:30:{number // 25 % 60:02}+01:00"), at_us))
        else:
            text = f"HIGH WATER {number:06} \x1b[7m\xe9 3.2 M\r\n"
            found.append((BytesReceived(bytes=text, first_us=at_us - 39_000), at_us))
    return found


def a_recording(folder: Path, facts: int | Iterable[tuple[AnyFact, int]] = 100) -> Path:
    """Make a recording that was closed properly, with this many facts or with these facts."""
    writer = RecordingWriter(folder, an_opening(), reserve_bytes=SMALL_RESERVE_BYTES)
    at_us = 0
    for fact, at_us in some_facts(facts) if isinstance(facts, int) else facts:
        writer.append(fact, at_us)
    writer.close("the test is over", at_us)
    return writer.path
