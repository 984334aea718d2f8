"""Serves a foreign machine in real time, or faster: its console on one TCP port, its front on another.

    python -m tests.foreign.shell bittern --port 0 --speed 20 --seed 1

prints `console: HOST:PORT` and `front: HOST:PORT`. The front takes one act a line and answers each by a line.
"""

import argparse
import contextlib
import json
import selectors
import signal
import socket
import time
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import IO

from tests.foreign.bittern import Bittern
from tests.foreign.core import Core
from tests.foreign.dunlin import Dunlin
from tests.foreign.wire import FAULTS, Wire

MACHINES: dict[str, Callable[[int], Core]] = {"bittern": Bittern, "dunlin": Dunlin}
LONGEST_SLEEP_S = 0.5
TAKEN_AT_ONCE_BYTES = 4096


class Door:
    """A port on loopback that one client at a time can use; a new one takes the place of the old one."""

    def __init__(self, port: int, selector: selectors.BaseSelector, taken: Callable[[bytes], None]) -> None:
        self._selector = selector
        self._taken = taken
        self._client: socket.socket | None = None
        self._listener = socket.create_server(("127.0.0.1", port))
        self.port: int = self._listener.getsockname()[1]
        selector.register(self._listener, selectors.EVENT_READ, self._accept)

    def write(self, data: bytes) -> None:
        """Send `data`, or drop it if nobody is there to read it."""
        if self._client is not None:
            try:
                self._client.sendall(data)
            except OSError:
                self.hang_up()

    def hang_up(self) -> None:
        """End the connection."""
        if self._client is not None:
            self._selector.unregister(self._client)
            self._client.close()
            self._client = None

    def close(self) -> None:
        """End the connection and take no other."""
        self.hang_up()
        self._selector.unregister(self._listener)
        self._listener.close()

    def _accept(self) -> None:
        self.hang_up()
        self._client, _ = self._listener.accept()
        self._client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._selector.register(self._client, selectors.EVENT_READ, self._read)

    def _read(self) -> None:
        assert self._client is not None
        try:
            data = self._client.recv(TAKEN_AT_ONCE_BYTES)
        except OSError:
            data = b""
        if data:
            self._taken(data)
        else:
            self.hang_up()


class Shell:
    """Keeps the machine's time at the elapsed time multiplied by `speed`, and carries what passes."""

    def __init__(self, wire: Wire, speed: float, port: int, front_port: int, truth: IO[str] | None) -> None:
        self._wire = wire
        self._speed = speed
        self._truth = truth
        self._written_truths = 0
        self._began_s = time.monotonic()
        self._act = b""
        self._ended = False
        self._selector = selectors.DefaultSelector()
        # A signal puts a byte in here, so that a sleeping selector wakes up.
        self._waker, self._wake_by = socket.socketpair()
        self._wake_by.setblocking(False)
        self._selector.register(self._waker, selectors.EVENT_READ, lambda: None)
        self.console = Door(port, self._selector, self._typed)
        self.front = Door(front_port, self._selector, self._acted)

    def end(self) -> None:
        """Make `run` return soon. A signal handler may call this."""
        self._ended = True
        with contextlib.suppress(BlockingIOError):
            self._wake_by.send(b"x")

    def run(self) -> None:
        """Serve until `end`."""
        while not self._ended:
            self._pass_on()
            for key, _ in self._selector.select(self._sleep_s()):
                key.data()
        self._pass_on()
        self.console.close()
        self.front.close()
        self._selector.close()
        self._waker.close()
        self._wake_by.close()

    def _now_us(self) -> int:
        return int((time.monotonic() - self._began_s) * self._speed * 1_000_000)

    def _sleep_s(self) -> float:
        due_us = self._wire.next_event_us()
        if due_us is None:
            return LONGEST_SLEEP_S
        return min(LONGEST_SLEEP_S, max(0.0, (due_us - self._now_us()) / 1_000_000 / self._speed))

    def _pass_on(self) -> None:
        data = b"".join(data for _, data in self._wire.advance(self._now_us()))
        if data:
            self.console.write(data)
        if self._wire.lost:
            self.console.hang_up()
        self._write_truths()

    def _write_truths(self) -> None:
        for truth in self._wire.truth[self._written_truths :]:
            if self._truth is not None:
                self._truth.write(json.dumps(asdict(truth)) + "\n")
                self._truth.flush()
        self._written_truths = len(self._wire.truth)

    def _typed(self, data: bytes) -> None:
        self._wire.receive(data, self._now_us())

    def _acted(self, data: bytes) -> None:
        *acts, self._act = (self._act + data).split(b"\n")
        for act in acts:
            answer = self._wire.panel(act.decode("ascii", "replace"), self._now_us())
            self._write_truths()
            self.front.write(answer.encode() + b"\n")


def main() -> None:
    """Run the shell until SIGTERM or SIGINT."""
    parser = argparse.ArgumentParser(prog="python -m tests.foreign.shell", description=__doc__.split("\n")[0])
    parser.add_argument("machine", choices=sorted(MACHINES))
    parser.add_argument("--port", type=int, default=0, help="of the console; 0: any that is free")
    parser.add_argument("--front-port", type=int, default=0, help="of the front; 0: any that is free")
    parser.add_argument("--speed", type=float, default=1.0, help="seconds of the machine in each real one")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--fault", choices=FAULTS, default="none", help="what is wrong with the line")
    parser.add_argument("--fault-after", type=float, default=0.0, metavar="SECONDS", help="of the machine")
    parser.add_argument("--truth", type=Path, help="file for what is true, a line of JSON each")
    given = parser.parse_args()
    machine = MACHINES[given.machine](given.seed)
    begins_us = round(given.fault_after * 1_000_000)
    wire = Wire(machine, given.fault, seed=given.seed, begins_us=begins_us)
    with contextlib.ExitStack() as stack:
        truth = stack.enter_context(given.truth.open("a", encoding="utf-8")) if given.truth else None
        shell = Shell(wire, given.speed, given.port, given.front_port, truth)
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: shell.end())
        print(f"console: 127.0.0.1:{shell.console.port}", flush=True)
        print(f"front: 127.0.0.1:{shell.front.port}", flush=True)
        shell.run()


if __name__ == "__main__":
    main()
