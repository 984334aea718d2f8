"""Keeps a connection to Redis, and begins again whenever it is lost; each outage is told once."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Final, Generic, TypeVar

import gevent

AGAIN_AFTER_S: Final = 0.3
"""How long after a lost connection to try again: a caption may stand for only a few seconds."""
R = TypeVar("R")


class Connecting(Generic[R]):
    """What a relay and a page worker have in common."""

    def __init__(
        self,
        connect: Callable[[], AbstractContextManager[R]],
        faults: tuple[type[Exception], ...],
        complain: Callable[[Exception], None],
    ) -> None:
        """`faults`: what a connection raises. `complain` gets the first of each outage."""
        self._connect = connect
        self._faults = faults
        self._complain = complain
        self._complained = False

    def works(self) -> None:
        """It does again what it should: the next fault is told."""
        self._complained = False

    def use(self, use: Callable[[R], None]) -> None:
        """Have the connection used, again and again, until the greenlet is killed."""
        while True:
            try:
                with self._connect() as redis:
                    while True:
                        use(redis)
                        gevent.sleep(AGAIN_AFTER_S)
            except self._faults as fault:
                if not self._complained:
                    self._complained = True
                    self._complain(fault)
            gevent.sleep(AGAIN_AFTER_S)
