"""The narrow door through which people's requests reach the bridge: one local socket, three requests.

A request is one line of JSON, {"request": "confirm", "by": "...", "step": "...", "why": "..."}; the
answer is one line, {"accepted": true} or {"accepted": false, "why": "..."}. Only processes of the
same user are listened to.
"""

from __future__ import annotations

import os
import socket
import struct
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Literal

import msgspec

from exhibit.facts.errors import SetUpFault

LONGEST_REQUEST_BYTES = 4096
ANSWER_WITHIN_S = 10.0
_PEER = struct.Struct("3i")  # process, user and group of the other end (socket(7), SO_PEERCRED)


class Request(msgspec.Struct, frozen=True, kw_only=True):
    """What a person asks of the bridge."""

    request: Literal["confirm", "refuse", "stop"]
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

    `deliver` is called from the door's own thread. Raises SetUpFault when the socket can't be made.
    """

    def __init__(self, path: Path, deliver: Callable[[Request, Reply], None]) -> None:
        self._path = path
        self._deliver = deliver
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            self._socket.bind(os.fspath(path))
        except OSError as error:
            raise SetUpFault(
                f"The door for requests can't be made at {path}: {error.strerror}.",
                "Without it nobody could confirm a step or say stop.",
                "Choose a folder that exists, is yours, and has a shorter name.",
            ) from error
        path.chmod(0o600)
        self._socket.listen(8)
        self._thread = threading.Thread(target=self._serve, name="requests", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stops listening and takes the socket away."""
        self._path.unlink(missing_ok=True)
        self._socket.close()

    def _serve(self) -> None:
        while True:
            try:
                caller, _ = self._socket.accept()
            except OSError:
                return
            with caller:
                caller.settimeout(ANSWER_WITHIN_S)
                try:
                    self._hear(caller)
                except OSError:
                    continue

    def _hear(self, caller: socket.socket) -> None:
        _, user, _ = _PEER.unpack(caller.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, _PEER.size))
        if user != os.getuid():
            return
        heard = b""
        while not heard.endswith(b"\n") and len(heard) < LONGEST_REQUEST_BYTES:
            more = caller.recv(LONGEST_REQUEST_BYTES)
            if not more:
                break
            heard += more
        try:
            request = msgspec.json.decode(heard, type=Request)
        except msgspec.DecodeError:
            answer = Answer(accepted=False, why="it isn't a request that the bridge knows")
        else:
            answer = self._asked(request)
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
            caller.settimeout(ANSWER_WITHIN_S)
            caller.connect(os.fspath(path))
            caller.sendall(msgspec.json.encode(request) + b"\n")
            return msgspec.json.decode(caller.makefile("rb").readline(), type=Answer)
    except (OSError, msgspec.DecodeError):
        return Answer(accepted=False, why="the bridge is not there")
