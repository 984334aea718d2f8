"""Tells systemd that this process is ready and still works, if systemd has started it (sd_notify(3)).

Started in another way, a process has nobody to tell, and then nothing happens here.
"""

from __future__ import annotations

import os
import socket
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Final

BEATS_A_LIMIT: Final = 4
"""How often to beat within the time after which systemd holds the process to be stuck."""


class ServiceManager:
    """The one that started this process. No fault of it disturbs the process."""

    def __init__(
        self,
        environment: Mapping[str, str] = os.environ,
        steady_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self._address = environment.get("NOTIFY_SOCKET", "")
        self._steady_s = steady_s
        self._next_s = steady_s()
        self.beat_every_s = self._beats(environment)
        """Seconds between two beats; 0 if nobody waits for any."""

    def ready(self) -> None:
        """Say that the process now does its work."""
        self._tell("READY=1")

    def beat(self) -> None:
        """Say that the process still works. Call it as often as you like, from what must not stand still."""
        now_s = self._steady_s()
        if self.beat_every_s and now_s >= self._next_s:
            self._next_s = now_s + self.beat_every_s
            self._tell("WATCHDOG=1")

    def _beats(self, environment: Mapping[str, str]) -> float:
        """A process that inherits the environment of the one that is watched is not watched itself."""
        limit_us = environment.get("WATCHDOG_USEC", "")
        meant = environment.get("WATCHDOG_PID", f"{os.getpid()}") == f"{os.getpid()}"
        return int(limit_us) / 1_000_000 / BEATS_A_LIMIT if meant and limit_us.isdecimal() else 0.0

    def _tell(self, words: str) -> None:
        if not self._address:
            return
        # An address that begins with @ is no file: Linux writes a zero byte instead (unix(7)).
        address = "\0" + self._address[1:] if self._address.startswith("@") else self._address
        with suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as telling:
            # Whoever doesn't take it must not hold up what beats.
            telling.setblocking(False)
            telling.sendto(words.encode(), address)
