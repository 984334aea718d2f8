"""The passing process: `python -m exhibit.passing SOCKET MACHINE TERMINAL SETTINGS`; `watch` starts it.

It goes on when the process that started it ends, and ends only when it is told to (SIGTERM) or when a
pseudo-terminal that it passes to is gone. When both ports are open it prints its number.
"""

from __future__ import annotations

import gc
import os
import signal
import sys
from contextlib import suppress
from pathlib import Path

import msgspec

from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line.typed_line import at_option
from exhibit.output.terminal import put
from exhibit.passing.between import Between, Side
from exhibit.passing.listener import Listener

REFUSED = 2
BEFORE_OTHERS = -10
"""The priority (nice) to ask for: on a busy computer the typing must not be delayed."""


def main(place: str, line: str, terminal: str, settings_json: str) -> int:
    """Pass until told to end. Returns the exit status."""
    settings = msgspec.json.decode(settings_json, type=LineSettings)
    told: list[int] = []
    woken, wakes = os.pipe2(os.O_NONBLOCK | os.O_CLOEXEC)
    signal.set_wakeup_fd(wakes, warn_on_full_buffer=False)
    signal.signal(signal.SIGTERM, lambda number, _: told.append(number))
    for ignored in (signal.SIGINT, signal.SIGHUP, signal.SIGPIPE):
        signal.signal(ignored, signal.SIG_IGN)
    machine_side = Side(line, settings, is_machine=True)
    terminal_side = Side(terminal, settings, is_machine=False)
    try:
        machine_side.open()
        with at_option("--terminal"):
            terminal_side.open()
    except LineFault as fault:
        put(fault.what, fault.why, fault.do, to=sys.stderr)
        machine_side.close()
        return REFUSED
    listener = Listener(Path(place), line, terminal, settings.description())
    _let_go_of_starter()
    gc.freeze()
    with suppress(OSError):  # only some accounts may
        os.setpriority(os.PRIO_PROCESS, 0, BEFORE_OTHERS)
    try:
        Between(machine_side, terminal_side, listener).run(lambda: bool(told), woken)
    finally:
        machine_side.close(discard=False)
        terminal_side.close(discard=False)
        listener.close()
    return 0


def _let_go_of_starter() -> None:
    """Say that all is ready, and keep nothing open that belongs to the process that started this one."""
    put(f"{os.getpid()}")
    nothing = os.open(os.devnull, os.O_RDWR)
    for descriptor in (0, 1, 2):
        os.dup2(nothing, descriptor)
    os.close(nothing)
    os.chdir("/")


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
