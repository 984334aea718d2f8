"""Sets up a bridge: the recording, the clock, the line and the decisions."""

from __future__ import annotations

import json
import signal
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from pathlib import Path
from types import FrameType
from typing import Literal

import msgspec

from exhibit.bridge.bridge import Bridge
from exhibit.bridge.door_note import door_noted
from exhibit.bridge.inbox import Inbox, StopWanted
from exhibit.bridge.request_door import Reply, Request, RequestDoor
from exhibit.bridge.sender import TypeByte
from exhibit.bridge.stop_file import StopFile
from exhibit.decisions.decider import Decider
from exhibit.decisions.machine.first_fact import first_fact
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from exhibit.facts.use_before import DayBefore, UseBefore
from exhibit.line.events import LineEvent, Readable, Unreadable
from exhibit.line.port import open_line
from exhibit.line.reader import Borrower, Line
from exhibit.line.typed_line import as_typed, at_option
from exhibit.output.service_manager import ServiceManager
from exhibit.output.terminal import put
from exhibit.passing.hearing import Hearing
from exhibit.streams.last_recording import left_open_by_last, this_boot
from exhibit.streams.pacing import RecordingClock, clock_on_the_wall
from exhibit.streams.recording import NextFile, RecordingWriter, day_of_recordings, use_of_recordings

EXIT = {"done": 0, "stopped": 0, "failed": 2}


class BridgeOrder(msgspec.Struct, frozen=True, kw_only=True):
    """What a bridge needs to know: which machine, on which line, and where to record."""

    folder: Folder
    line: str
    recordings: Path
    rate: float = 1.0
    machine_is: Literal["real", "simulated"] = "real"
    just_made: bool = False
    """Whether it is a new simulator, at which no earlier run can have left anything unfinished."""
    practice: bool = False
    """Somebody practises at it, which the recording says of itself."""
    requests: Path | None = None
    """Where to put the socket for people's requests; None for no socket."""
    stay_when_failed: bool = True
    typed: str = ""
    """A second line, on which what a person types at the machine's own terminal is heard; empty for none."""
    passed_by: Path | None = None
    """The socket of the process that passes characters between machine and terminal, if it owns the line."""


def run_bridge(
    order: BridgeOrder,
    typing: Literal["scripts", "nothing"],
    make_decider: Callable[[kinds.RecordingOpened], Decider],
    borrower: Borrower | None,
    type_byte: TypeByte | None,
    secrets: Iterable[str] = (),
) -> int:
    """Run a bridge in this process until it is over. Returns the exit status.

    As soon as the line is open, the path of the recording is printed as the first line of standard output.
    `secrets` are withheld from everything that is received.
    Each new day gets its own recording, which names the one before it. Raises LineFault, RecordingFault or
    SetUpFault.
    """
    wall_now = clock_on_the_wall(order.folder.zone)
    clock = RecordingClock(order.rate, wall_now=wall_now)
    carried_over: kinds.CarriedOver | None = None
    begun: NextFile | None = None
    opening = 0
    service_manager = ServiceManager()
    inbox = Inbox(service_manager.beat)
    _stop_on_signals(inbox)
    machine = order.folder.machine

    def deliver(event: LineEvent) -> None:
        # If the machine's folder says that the eighth bit isn't parity, it can have any value.
        of_parity = isinstance(event, Unreadable | Readable) and event.cause == "parity"
        if not (of_parity and machine.eighth_bit != "parity"):
            inbox.put(event)
            inbox.wait_for_room()

    def deliver_typed(event: LineEvent) -> None:
        heard = as_typed(event)
        if heard is not None:
            deliver(heard)

    words = tuple(secrets)
    use_before = use_of_recordings(order.recordings, _opened(order, typing, clock))
    today = day_of_recordings(order.recordings, _opened(order, typing, clock))
    reads_last = typing == "scripts" and not order.just_made
    left_open = (
        left_open_by_last(order.recordings, order.folder, this_boot(), order.machine_is)
        if reads_last
        else None
    )

    def now_us() -> int:
        return clock.now_us()

    bridges: list[Bridge] = []

    def ask(request: Request, reply: Reply) -> None:
        bridges[-1].ask(request, reply)  # a new day has a bridge of its own

    stop_file: StopFile | None = None
    lines: list[Line | Hearing] = []
    door: RequestDoor | None = None
    noted = ExitStack()
    try:
        if order.passed_by is not None:
            lines.append(Hearing(order.passed_by, now_us, deliver, inbox.taken, order.rate))
        else:
            lines.append(open_line(order.line, machine.line, now_us, deliver, borrower))
        if order.typed:
            with at_option("--typed"):
                lines.append(open_line(order.typed, machine.line, now_us, deliver_typed))
        while True:
            first = _opened(order, typing, clock, use_before, today)
            writer = RecordingWriter(order.recordings, first, begun=begun)
            # As recorded, with the name of the previous recording: a rehearsal reads the same.
            opened = writer.opened.fact
            assert isinstance(opened, kinds.RecordingOpened)
            decider = make_decider(opened)
            bridge = Bridge(
                decider,
                writer,
                clock,
                type_byte,
                inbox,
                left_open,
                carried_over,
                opening,
                withholding=Withholding(machine, words, order.rate),
                character_us=machine.line.char_us,
                return_key=machine.typing.return_key,
            )
            bridges[:] = [bridge]
            if carried_over is None:
                if order.requests:
                    door = RequestDoor(order.requests, ask)
                    noted.enter_context(door_noted(order.recordings, machine.name, order.requests))
                stop_file = StopFile(order.recordings, ask) if type_byte is not None else None
                # As JSON, because it is read by the program that started this one, whatever the path holds.
                put(json.dumps(f"{writer.path}").replace("\x7f", "\\u007f"))
                service_manager.ready()
            ended = bridge.run(order.stay_when_failed)
            if not isinstance(ended, kinds.CarriedOver):
                return EXIT[ended]
            left_open, opening = decider.left_open(writer.path.name), bridge.opening
            use_before = decider.use_before(clock.now_us())
            today = DayBefore()  # a new day has begun
            # Events that arrive meanwhile wait in the inbox; the new recording times them by its own clock.
            carried_over, begun, clock = (
                ended,
                writer.next_file,
                RecordingClock(order.rate, wall_now=wall_now),
            )
    finally:
        # A second SIGTERM would kill the process before it has closed everything.
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        noted.close()
        if stop_file is not None:
            stop_file.close()
        if door is not None:
            door.close()
        inbox.end()
        for line in lines:
            line.stop()


def _opened(
    order: BridgeOrder,
    typing: Literal["scripts", "nothing"],
    clock: RecordingClock,
    use_before: UseBefore | None = None,
    today: DayBefore | None = None,
) -> kinds.RecordingOpened:
    return first_fact(
        order.folder,
        wall=clock.opened_wall,
        machine_is=order.machine_is,
        typing=typing,
        rate=order.rate,
        boot=this_boot(),
        use_before=use_before or UseBefore(at=clock.opened_wall),
        today=today,
        practice=order.practice,
    )


def _stop_on_signals(inbox: Inbox) -> None:
    def stop(_: int, __: FrameType | None) -> None:
        inbox.put(StopWanted("this program was told to end"))

    signal.signal(signal.SIGTERM, stop)
    # Ctrl-C at the terminal reaches every process of a run. The one that started the run stops the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
