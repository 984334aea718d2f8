"""A process of a run, and the lifeline by which it knows that whoever started it is still there."""

from __future__ import annotations

import os
import selectors
import signal
import subprocess
import threading
import time
from collections.abc import Callable, Sequence
from typing import IO

from exhibit.commands.options import REFUSED
from exhibit.folder.secret_words import IN_ENVIRONMENT
from exhibit.passing.own_python import own_command, own_environment

START_WITHIN_S = 60.0
LOOK_EVERY_S = 0.1
REFUSED_ENDS_WITHIN_S = 5.0


class Child:
    """A process of the run. It ends in good order once the process that started it is gone.

    It notices that by the end of its standard input. It has a session of its own, so that closing the
    terminal, or pressing a key there, affects only the process that started the run.

    `may_know_secrets`: whether it is given the secrets in the environment. `keeps_alive`: lifelines of other
    children, which live for as long as this one does, even if the process that started them is gone. `log`:
    an open file that takes what it complains of, so that none of that comes into the terminal. `stays`: it
    goes on when the process that started it is gone.
    """

    def __init__(
        self,
        arguments: Sequence[str],
        *,
        may_know_secrets: bool = False,
        keeps_alive: Sequence[int] = (),
        log: IO[bytes] | None = None,
        stays: bool = False,
    ) -> None:
        self._process = subprocess.Popen(
            own_command("exhibit", *arguments, *(() if stays else ("--with-starter",))),
            stdin=subprocess.DEVNULL if stays else subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=log,
            text=True,
            start_new_session=True,
            pass_fds=keeps_alive,
            env=own_environment(
                {k: v for k, v in os.environ.items() if may_know_secrets or not k.startswith(IN_ENVIRONMENT)}
            ),
        )

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid

    @property
    def lifeline(self) -> int:
        """File descriptor that feeds its standard input. It lives while some process has this open."""
        assert self._process.stdin is not None
        return self._process.stdin.fileno()

    def first_line(
        self, meanwhile: Callable[[], None] = lambda: None, within_s: float = START_WITHIN_S
    ) -> str:
        """The line that the process prints when it is ready; empty if it ends first, or takes too long.

        `meanwhile` is called repeatedly during the wait.
        """
        out = self._process.stdout
        assert out is not None
        return read_line(out, within_s, meanwhile)

    def status(self) -> int | None:
        """The exit status; None while it runs."""
        return self._process.poll()

    def status_when_ended(self) -> int | None:
        """Waits a little for it to end by itself. The exit status; None if it still runs."""
        try:
            return self._process.wait(REFUSED_ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            return None

    def has_explained(self) -> bool:
        """Whether it has ended by itself and said why, in three sentences. Nothing need be added then."""
        return self.status_when_ended() == REFUSED

    def ask_to_end(self) -> None:
        """Asks it to end in good order."""
        self._process.terminate()

    def end(self, within_s: float) -> None:
        """Asks it to end in good order; kills it if it hasn't ended within this time."""
        self._process.terminate()
        try:
            self._process.wait(within_s)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def let_go(self, within_s: float) -> None:
        """Ends it as `end` does, and closes what it was read by: nothing more can be asked of it."""
        self.end(within_s)
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                pipe.close()


def read_line(out: IO[str], within_s: float, meanwhile: Callable[[], None]) -> str:
    """The next line of `out`, empty if it takes longer than this; `meanwhile` is called during the wait."""
    give_up_s = time.monotonic() + within_s
    with selectors.DefaultSelector() as selector:
        selector.register(out, selectors.EVENT_READ)
        while not selector.select(LOOK_EVERY_S):
            meanwhile()
            if time.monotonic() >= give_up_s:
                return ""
    return out.readline().strip()


def end_with_starter() -> None:
    """Makes this process end in good order once its standard input does: whoever started it is gone."""

    def wait() -> None:
        while os.read(0, 4096):
            pass
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=wait, name="starter", daemon=True).start()
