"""The only way for people's requests to reach the bridge: one local socket, a few kinds of request.

A request is one line of JSON, {"request": "confirm", "by": "...", "step": "...", "why": "..."}; the
answer is one line, {"accepted": true, "why": ""} or {"accepted": false, "why": "..."}. Processes of other
users get no answer and are only counted, so that strangers can't add anything to the recording.
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
from typing import Final

import msgspec

from exhibit.facts.errors import SetUpFault
from exhibit.facts.session_facts import RequestKind

MOST_WAITING = 128
LONGEST_REQUEST_BYTES: Final = 4096
RECEIVE_WITHIN_S: Final = 2.0
"""For receiving a whole request. A slow caller must not delay somebody who says stop."""
ANSWER_WITHIN_S: Final = 10.0
"""For the bridge to answer."""
_PEER: Final = struct.Struct("3i")  # process, user and group of the other end (socket(7), SO_PEERCRED)


class Request(msgspec.Struct, frozen=True, kw_only=True):
    """What a person asks of the bridge."""

    request: RequestKind
    by: str
    step: str = ""
    why: str = ""
    about: int = 0
    minutes: int = 0
    text: str = ""
    """What is to be typed at the keyboard. No fact holds it."""


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """Whether the bridge accepted a request. `why` says why not; empty if it did."""

    accepted: bool
    why: str = ""


Reply = Callable[[Answer], None]


class RequestDoor:
    """Listens at a socket, and delivers each request with the function that answers it.

    `deliver` is called from the door's own thread, one request at a time. Raises SetUpFault if the socket
    can't be created.
    """

    def __init__(self, path: Path, deliver: Callable[[Request, Reply], None]) -> None:
        self.strangers = 0
        """How many connections of other users were refused."""
        self._path = path
        self._deliver = deliver
        self._socket = _listening(path)
        self._thread = threading.Thread(target=self._serve, name="requests", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop listening and remove the socket."""
        self._path.unlink(missing_ok=True)
        # Without this, the thread would keep waiting for a connection after the socket is closed.
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
            answer = Answer(accepted=False, why="the bridge does not know this request")
        else:
            answer = self._answer(request)
        caller.settimeout(RECEIVE_WITHIN_S)
        caller.sendall(msgspec.json.encode(answer) + b"\n")

    def _answer(self, request: Request) -> Answer:
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
    """Send a request to the bridge that listens at `path`, and wait for its answer."""
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as caller:
            # Twice, since other requests may be answered first.
            caller.settimeout(2 * ANSWER_WITHIN_S)
            caller.connect(os.fspath(path))
            caller.sendall(msgspec.json.encode(request) + b"\n")
            with caller.makefile("rb") as answer:
                return msgspec.json.decode(answer.readline(LONGEST_REQUEST_BYTES), type=Answer)
    except (TimeoutError, BlockingIOError):  # BlockingIOError: too many connections are waiting
        return Answer(accepted=False, why="the bridge did not answer")
    except (OSError, msgspec.DecodeError):
        return Answer(accepted=False, why="the bridge is not running")


def _listening(path: Path) -> socket.socket:
    listening = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        _remove_stale_socket(path)
        listening.bind(os.fspath(path))
        path.chmod(0o600)
        listening.listen(MOST_WAITING)
    except OSError as error:
        listening.close()
        raise SetUpFault(
            f"The socket for requests can't be created at {path}: {error.strerror or error}.",
            "Without it, nobody could confirm a step or say stop.",
            "Choose a folder that exists, that you can write to, and whose path is shorter.",
        ) from error
    return listening


def _remove_stale_socket(path: Path) -> None:
    """Remove the socket of a bridge that was killed, but not one at which a bridge is listening."""
    if not path.is_socket():
        return
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as caller:
        try:
            caller.connect(os.fspath(path))
        except ConnectionRefusedError:
            path.unlink(missing_ok=True)


def _line_from(caller: socket.socket) -> bytes:
    """The line that the caller sends; empty if it is too long, incomplete or too slow."""
    give_up_s = time.monotonic() + RECEIVE_WITHIN_S
    received = b""
    while not received.endswith(b"\n"):
        caller.settimeout(max(0.001, give_up_s - time.monotonic()))
        try:
            more = caller.recv(LONGEST_REQUEST_BYTES - len(received))
        except TimeoutError:
            break
        if not more:  # the caller has gone, or the request is too long
            break
        received += more
    return received if received.endswith(b"\n") else b""
