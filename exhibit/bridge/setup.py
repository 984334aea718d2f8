"""Puts a bridge together: the recording, the clock, the line, and the decisions between them."""

from __future__ import annotations

import signal
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Literal

import msgspec

from exhibit import __version__
from exhibit.bridge.bridge import Bridge, TypeByte
from exhibit.bridge.inbox import Inbox, StopWanted
from exhibit.bridge.request_door import RequestDoor
from exhibit.decisions.decider import Decider
from exhibit.decisions.machine.script import Folder
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore
from exhibit.line.events import LineEvent, Unreadable
from exhibit.line.port import open_line
from exhibit.line.reader import Borrower
from exhibit.streams.last_recording import left_open_by_last, this_boot
from exhibit.streams.pacing import RecordingClock
from exhibit.streams.recording import RecordingWriter, use_of_recordings

EXIT = {"done": 0, "stopped": 0, "failed": 2}


class BridgeOrder(msgspec.Struct, frozen=True, kw_only=True):
    """What a bridge is to be: for which machine, on which line, recording where."""

    folder: Folder
    line: str
    recordings: Path
    rate: float = 1.0
    machine_is: Literal["real", "simulated"] = "real"
    just_made: bool = False
    """Nothing of an earlier recording can be left open at it: it is a new simulator."""
    requests: Path | None = None
    """Where the door for people's requests is to be; None: no door."""
    stay_when_failed: bool = True


def run_bridge(
    order: BridgeOrder,
    typing: Literal["scripts", "nothing"],
    make_decider: Callable[[kinds.RecordingOpened], Decider],
    borrower: Borrower | None,
    type_byte: TypeByte | None,
) -> int:
    """Runs a bridge in this process until it is over; gives the exit status.

    The first line on standard output is the path of the recording, once the line is open. Each other
    day has a recording of its own, which names the one before it. Raises LineFault, RecordingFault or
    SetUpFault.
    """
    clock = RecordingClock(order.rate)
    carried_over: kinds.CarriedOver | None = None
    opening = 0
    events = Inbox()
    _stop_on_signals(events)
    machine = order.folder.machine

    def deliver(event: LineEvent) -> None:
        # The eighth bit of a machine whose folder says so isn't parity, and may be what it likes.
        if not (isinstance(event, Unreadable) and event.cause == "parity" and machine.eighth_bit != "parity"):
            events.put(event)
            events.wait_for_room()

    use_before = use_of_recordings(order.recordings, _opened(order, typing, clock))
    reads_last = typing == "scripts" and not order.just_made
    left = (
        left_open_by_last(order.recordings, order.folder, this_boot(), order.machine_is)
        if reads_last
        else None
    )
    line = open_line(order.line, machine.line, lambda: clock.now_us(), deliver, borrower)
    door: RequestDoor | None = None
    try:
        while True:
            writer = RecordingWriter(order.recordings, _opened(order, typing, clock, use_before))
            # As it was written: with the name of the recording before it, like a rehearsal reads it.
            opened = writer.opened.fact
            assert isinstance(opened, kinds.RecordingOpened)
            decider = make_decider(opened)
            bridge = Bridge(decider, writer, clock, type_byte, events, left, carried_over, opening)
            if carried_over is None:
                door = RequestDoor(order.requests, bridge.ask) if order.requests else None
                print(writer.path, flush=True)
            ended = bridge.run(order.stay_when_failed)
            if not isinstance(ended, kinds.CarriedOver):
                return EXIT[ended]
            left, opening = decider.left_open(writer.path.name), bridge.opening
            use_before = decider.use_before(clock.now_us())
            # What comes goes into the queue meanwhile, and into the new recording by its own clock.
            carried_over, clock = ended, RecordingClock(order.rate)
    finally:
        # Told to end once more, it would be killed while it ends, with nothing left that catches signals.
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        if door is not None:
            door.close()
        events.end()
        line.stop()


def _opened(
    order: BridgeOrder,
    typing: Literal["scripts", "nothing"],
    clock: RecordingClock,
    use_before: UseBefore | None = None,
) -> kinds.RecordingOpened:
    machine = order.folder.machine
    return kinds.RecordingOpened(
        format=0,
        how_to_read="",
        software=f"exhibit {__version__}",
        machine=machine.name,
        title=machine.title,
        parts=machine.parts,
        drawn=machine.drawn,
        now=machine.now,
        switches=machine.switches,
        cards=list(order.folder.cards),
        tell_tales=machine.tell_tales,
        ahead=order.folder.ahead,
        glosses=order.folder.glosses,
        exercisers=order.folder.exercisers,
        languages=machine.languages,
        second_language=order.folder.second_language,
        machine_is=order.machine_is,
        typing=typing,
        rate=order.rate,
        wall=clock.opened_wall,
        line=machine.line.description(),
        eighth_bit=machine.eighth_bit,
        parity=machine.line.parity,
        display=machine.display,
        digests=order.folder.digests,
        previous_file="",
        previous_crc="",
        boot=this_boot(),
        use_before=use_before or UseBefore(at=clock.opened_wall),
    )


def _stop_on_signals(events: Inbox) -> None:
    def stop(number: int, _: FrameType | None) -> None:
        events.put(StopWanted(f"this program was told to end ({signal.Signals(number).name})"))

    signal.signal(signal.SIGTERM, stop)
    # A Ctrl-C at the terminal reaches every process of a run. Who started the run says stop in good order.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
