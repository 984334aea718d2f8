"""The narrow door through which people's requests reach the bridge: one local socket, seven requests.

A request is one line of JSON, {"request": "confirm", "by": "...", "step": "...", "why": "..."}; the
answer is one line, {"accepted": true, "why": ""} or {"accepted": false, "why": "..."}. Only processes
of the same user are listened to; others are turned away without an answer and counted, no more: what
a stranger says doesn't get into the record.
"""

from __future__ import annotations

import os
import socket
import struct
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Final, Literal

import msgspec

from exhibit.facts.errors import SetUpFault

MOST_WAITING = 128
LONGEST_REQUEST_BYTES: Final = 4096
HEARD_WITHIN_S: Final = 2.0
"""For the whole of a request. One that is slower must not keep somebody who says stop waiting."""
ANSWER_WITHIN_S: Final = 10.0
"""For the bridge."""
_PEER: Final = struct.Struct("3i")  # process, user and group of the other end (socket(7), SO_PEERCRED)


class Request(msgspec.Struct, frozen=True, kw_only=True):
    """What a person asks of the bridge."""

    request: Literal["confirm", "refuse", "stop", "wait on", "leave out", "let go", "clear"]
    by: str
    step: str = ""
    why: str = ""


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """What became of it."""

    accepted: bool
    why: str = ""


Reply = Callable[[Answer], None]


class RequestDoor:
    """Listens at a socket and hands each request on, with the way to answer it.

    `deliver` is called from the door's own thread, one request at a time. Raises SetUpFault when the
    socket can't be made.
    """

    def __init__(self, path: Path, deliver: Callable[[Request, Reply], None]) -> None:
        self.strangers = 0
        """How many callers of other users were turned away."""
        self._path = path
        self._deliver = deliver
        self._socket = _listening(path)
        self._thread = threading.Thread(target=self._serve, name="requests", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stops listening and takes the socket away."""
        self._path.unlink(missing_ok=True)
        # Closing alone would leave the thread waiting for a caller.
        with suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._thread.join(ANSWER_WITHIN_S)
        self._socket.close()

    def _serve(self) -> None:
        while True:
            try:
                caller, _ = self._socket.accept()
            except OSError:
                return
            with caller, suppress(OSError):
                self._serve_one(caller)

    def _serve_one(self, caller: socket.socket) -> None:
        _, user, _ = _PEER.unpack(caller.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, _PEER.size))
        if user != os.getuid():
            self.strangers += 1
            return
        try:
            request = msgspec.json.decode(_line_from(caller), type=Request)
        except (msgspec.DecodeError, UnicodeError, RecursionError):
            answer = Answer(accepted=False, why="it isn't a request that the bridge knows")
        else:
            answer = self._asked(request)
        caller.settimeout(HEARD_WITHIN_S)
        caller.sendall(msgspec.json.encode(answer) + b"\n")

    def _asked(self, request: Request) -> Answer:
        answered = threading.Event()
        answers: list[Answer] = []

        def reply(answer: Answer) -> None:
            answers.append(answer)
            answered.set()

        self._deliver(request, reply)
        if answered.wait(ANSWER_WITHIN_S):
            return answers[0]
        return Answer(accepted=False, why="the bridge did not answer")


def ask(path: Path, request: Request) -> Answer:
    """Put a request to the bridge that listens at `path`, and wait for what becomes of it."""
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as caller:
            # Others may be before us.
            caller.settimeout(2 * ANSWER_WITHIN_S)
            caller.connect(os.fspath(path))
            caller.sendall(msgspec.json.encode(request) + b"\n")
            with caller.makefile("rb") as answer:
                return msgspec.json.decode(answer.readline(LONGEST_REQUEST_BYTES), type=Answer)
    except (TimeoutError, BlockingIOError):  # the second when too many are waiting to be heard
        return Answer(accepted=False, why="the bridge did not answer")
    except (OSError, msgspec.DecodeError):
        return Answer(accepted=False, why="the bridge is not there")


def _listening(path: Path) -> socket.socket:
    listening = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        _remove_left_over(path)
        listening.bind(os.fspath(path))
        path.chmod(0o600)
        listening.listen(MOST_WAITING)
    except OSError as error:
        listening.close()
        raise SetUpFault(
            f"The door for requests can't be made at {path}: {error.strerror or error}.",
            "Without it nobody could confirm a step or say stop.",
            "Choose a folder that exists, is yours, and has a shorter name.",
        ) from error
    return listening


def _remove_left_over(path: Path) -> None:
    """Removes the socket of a bridge that was killed. One at which somebody listens stays."""
    if not path.is_socket():
        return
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as caller:
        try:
            caller.connect(os.fspath(path))
        except ConnectionRefusedError:
            path.unlink(missing_ok=True)


def _line_from(caller: socket.socket) -> bytes:
    """The line that the caller sends; nothing when it is too long or takes too long."""
    give_up_s = time.monotonic() + HEARD_WITHIN_S
    heard = b""
    while not heard.endswith(b"\n"):
        caller.settimeout(max(0.001, give_up_s - time.monotonic()))
        try:
            more = caller.recv(LONGEST_REQUEST_BYTES - len(heard))
        except TimeoutError:
            break
        if not more:  # the caller has gone, or no more is taken
            break
        heard += more
    return heard if heard.endswith(b"\n") else b""
