"""Runs the machine in real time, or faster, on a pseudo-terminal or a TCP port.

Nothing else in the simulator reads a clock, sleeps, or does input and output, except `listening` and
`hands`.
"""

import contextlib
import math
import selectors
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import FrameType

from exhibit.facts.errors import SetUpFault
from exhibit.output.terminal import put
from exhibit.simulator.core import Options, Whimbrel
from exhibit.simulator.hands import ActSocket, TerminalHands
from exhibit.simulator.listening import FarEnd, PtyEnd, TcpEnd
from exhibit.simulator.truth import Record, to_line

LONGEST_SLEEP_S = 0.5
SHOWN_OPTIONS = Options(notices_every_s=420.0, keep_truth=False)
"""How the machine is set up by default: with notices, and without keeping the truth log in memory."""


def serve(
    *,
    speed: float = 20.0,
    tcp_port: int | None = None,
    link: Path | None = None,
    control: Path | None = None,
    truth: Path | None = None,
    options: Options = SHOWN_OPTIONS,
    announce: Callable[[str], None] = put,
    acts_from_terminal: bool | None = None,
) -> None:
    """Run the simulated machine until SIGTERM, SIGINT or `quit` typed in its terminal.

    `speed`: virtual seconds for each real second. `tcp_port`: listen there on loopback (0: any free
    port) instead of on a pseudo-terminal. `link`: a name for the pseudo-terminal. `control`: path of a
    Unix socket that takes acts at the front as lines of text and answers each by one line. `truth`: file
    to which the truth log is appended as JSON lines. `announce` is called with `line: URL`, then with
    `control: PATH`. `acts_from_terminal`: also take acts from standard input; None means if that is a
    terminal.

    Raises SetUpFault if the port, a path or the speed can't be used.
    """
    if not (math.isfinite(speed) and 0 < speed <= 1000):
        raise SetUpFault(
            f"The simulator can't run at {speed} times the real speed.",
            "Time would stand still, or this computer could not keep up.",
            "Choose a speed over 0 and up to 1000; 1 is the machine's own.",
        )
    if acts_from_terminal is None:
        acts_from_terminal = sys.stdin is not None and sys.stdin.isatty()
    far_end: FarEnd = PtyEnd(link) if tcp_port is None else TcpEnd(tcp_port)
    hands: list[ActSocket | TerminalHands] = []
    runner: Runner | None = None
    try:
        if control is not None:
            hands.append(ActSocket(control))
        if acts_from_terminal:
            hands.append(TerminalHands(sys.stdin.fileno()))
        with _TruthFile(truth) as truth_file:
            machine = Whimbrel(options, truth_sink=truth_file.write if truth else None)
            runner = Runner(machine, far_end, hands, speed)
            # Whoever reads the announcement could end us at once, so catch signals before making it.
            with _Signals(runner.stop):
                announce(f"line: {far_end.url}")
                if control is not None:
                    announce(f"control: {control}")
                if acts_from_terminal:
                    announce("Type acts such as: key on. `help` lists them, `quit` ends the simulator.")
                runner.run(truth_file.flush)
            machine.truth.close_run()
            truth_file.flush()
    finally:
        far_end.close()
        for hand in hands:
            if isinstance(hand, ActSocket):
                hand.close()
        # Last: until then, whoever is still connected is taken off its selector.
        if runner is not None:
            runner.close()


class Runner:
    """Keeps the machine's virtual time equal to the elapsed real time multiplied by the speed."""

    def __init__(
        self, machine: Whimbrel, far_end: FarEnd, hands: list[ActSocket | TerminalHands], speed: float
    ) -> None:
        self._machine = machine
        self._far_end = far_end
        self._speed = speed
        self._selector = selectors.DefaultSelector()
        self._began_s = time.monotonic()
        self._quit = False
        far_end.watch(self._selector)
        for hand in hands:
            hand.watch(self._selector)
        # A signal writes a byte here, so that a sleeping selector wakes up.
        self._waker, self._wake_by = socket.socketpair()
        self._waker.setblocking(False)
        self._wake_by.setblocking(False)
        self._selector.register(self._waker, selectors.EVENT_READ, None)

    def now_us(self) -> int:
        """The virtual time that the machine should have reached."""
        return int((time.monotonic() - self._began_s) * self._speed * 1_000_000)

    def stop(self) -> None:
        """End `run` soon; can be called from a signal handler or another thread."""
        self._quit = True
        with contextlib.suppress(BlockingIOError):
            self._wake_by.send(b"x")

    def run(self, after_each: Callable[[], None] = lambda: None) -> None:
        """Run until stopped. `after_each` is called whenever there may be something to flush."""
        while not self._quit:
            self._let_time_pass()
            after_each()
            for key, _ in self._selector.select(self.sleep_s()):
                self._ready(key)
        self._let_time_pass()
        after_each()

    def close(self) -> None:
        """Close the selector and what wakes it up. Call this only once signals are no longer caught."""
        self._selector.close()
        self._waker.close()
        self._wake_by.close()

    def _let_time_pass(self) -> None:
        out = b"".join(data for _, data in self._machine.advance(self.now_us()))
        if out:
            self._far_end.write(out)

    def sleep_s(self) -> float:
        """Real seconds until something happens by itself; at most LONGEST_SLEEP_S."""
        due_us = self._machine.next_event_us()
        if due_us is None:
            return LONGEST_SLEEP_S
        return min(LONGEST_SLEEP_S, max(0.0, (due_us - self.now_us()) / 1_000_000 / self._speed))

    def _ready(self, key: selectors.SelectorKey) -> None:
        if key.data is self._far_end:
            data = self._far_end.read(key.fileobj)
            if data:
                self._machine.receive(data, self.now_us())
        elif isinstance(key.data, ActSocket | TerminalHands):
            key.data.ready(key.fileobj, self._do)
        else:
            self._waker.recv(64)

    def _do(self, act: str) -> str:
        if act.lower() == "quit":
            self._quit = True
            return "done: the simulator ends"
        return self._machine.panel(act, self.now_us())


class _Signals:
    """Lets SIGTERM and SIGINT stop the run. Outside the main thread, where it can't, it does nothing."""

    def __init__(self, stop: Callable[[], None]) -> None:
        self._stop = stop
        self._before: list[tuple[int, object]] = []

    def __enter__(self) -> None:
        if threading.current_thread() is threading.main_thread():
            for number in (signal.SIGTERM, signal.SIGINT):
                self._before.append((number, signal.signal(number, self._caught)))

    def __exit__(self, *_: object) -> None:
        for number, handler in self._before:
            signal.signal(number, handler)  # type: ignore[arg-type]

    def _caught(self, number: int, frame: FrameType | None) -> None:
        self._stop()


class _TruthFile:
    """Appends records as lines of JSON. Without a path it does nothing."""

    def __init__(self, path: Path | None) -> None:
        self._file = None
        if path is not None:
            try:
                self._file = path.open("ab")
            except OSError as fault:
                raise SetUpFault(
                    f"The truth log {path} can't be written: {fault.strerror}.",
                    "The simulator would run without its own record.",
                    "Choose a file in a folder that you may write to.",
                ) from fault

    def __enter__(self) -> "_TruthFile":
        return self

    def __exit__(self, *_: object) -> None:
        if self._file is not None:
            self._file.close()

    def write(self, record: Record) -> None:
        """Append one record."""
        if self._file is not None:
            self._file.write(to_line(record))

    def flush(self) -> None:
        """Pass what was appended to the operating system."""
        if self._file is not None:
            self._file.flush()
