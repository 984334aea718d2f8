"""The only way for people's requests to reach the bridge: one local socket, a few kinds of request.

A request is one line of JSON, {"request": "confirm", "by": "...", "step": "...", "why": "..."}; the
answer is one line, {"accepted": true, "why": ""} or {"accepted": false, "why": "..."}. Processes of other
users get no answer and are only counted, so that strangers can't add anything to the recording. If the
socket's folder passes its group on to what is made in it (its mode begins with 2), a process with that group
is no stranger.
"""

from __future__ import annotations

import os
import socket
import stat
import struct
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Final

import msgspec

from exhibit.facts.errors import SetUpFault
from exhibit.facts.session_facts import RequestKind, RequestMade

MOST_WAITING = 128
MOST_AT_ONCE: Final = 16
AGAIN_AFTER_S: Final = 0.1
LONGEST_REQUEST_BYTES: Final = 4096
RECEIVE_WITHIN_S: Final = 2.0
"""For receiving a whole request. A slow caller must not delay somebody who says stop."""
ANSWER_WITHIN_S: Final = 10.0
"""For the bridge to answer."""
_PEER: Final = struct.Struct("3i")  # process, user and group of the other end (socket(7), SO_PEERCRED)


class Request(msgspec.Struct, frozen=True, kw_only=True):
    """What a person asks of the bridge: see RequestMade."""

    request: RequestKind
    by: str
    step: str = ""
    why: str = ""
    about: int = 0
    minutes: int = 0
    text: str = ""
    """What to type, where the request is to type something. It isn't recorded."""

    def made(self) -> RequestMade:
        """The fact that it was made."""
        return RequestMade(
            request=self.request,
            by=self.by,
            step=self.step,
            why=self.why,
            about=self.about,
            minutes=self.minutes,
        )


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """Whether the bridge accepted a request. `why` says why not; empty if it did."""

    accepted: bool
    why: str = ""


Reply = Callable[[Answer], None]
NO_ANSWER: Final = "the bridge did not answer"
NOT_RUNNING: Final = "the bridge is not running"
"""Why a request wasn't accepted, where no bridge has decided on it."""


class RequestDoor:
    """Listens at a socket, and delivers each request with the function that answers it.

    Each request is delivered by a thread of its own, so that a stop never waits until another is answered.
    Raises SetUpFault if the socket can't be created.
    """

    def __init__(self, path: Path, deliver: Callable[[Request, Reply], None]) -> None:
        self.strangers = 0
        """How many connections of other users were refused."""
        self._path = path
        self._deliver = deliver
        self._closed = threading.Event()
        self._room = threading.Semaphore(MOST_AT_ONCE)
        self._socket, self._group = _listening(path)
        self._thread = threading.Thread(target=self._serve, name="requests", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop listening and remove the socket."""
        self._closed.set()
        self._path.unlink(missing_ok=True)
        # Without this, the thread would keep waiting for a connection after the socket is closed.
        with suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._thread.join(ANSWER_WITHIN_S)
        self._socket.close()

    def _serve(self) -> None:
        while True:
            self._room.acquire()
            try:
                caller, _ = self._socket.accept()
            except OSError:
                self._room.release()
                if self._closed.wait(AGAIN_AFTER_S):  # otherwise this computer is short of something just now
                    return
                continue
            threading.Thread(target=self._serve_caller, args=(caller,), name="request", daemon=True).start()

    def _serve_caller(self, caller: socket.socket) -> None:
        try:
            with caller, suppress(OSError):
                self._serve_one(caller)
        finally:
            self._room.release()

    def _serve_one(self, caller: socket.socket) -> None:
        _, user, group = _PEER.unpack(caller.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, _PEER.size))
        if user != os.getuid() and group != self._group:
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
        return Answer(accepted=False, why=NO_ANSWER)


def ask(
    path: Path,
    request: Request,
    within_s: float = 2 * ANSWER_WITHIN_S,
    make_socket: Callable[[int, int], socket.socket] = socket.socket,
) -> Answer:
    """Send a request to the bridge that listens at `path`, and wait for its answer.

    A process that must do other things meanwhile has its own kind of socket, and gives `make_socket`.
    """
    try:
        with make_socket(socket.AF_UNIX, socket.SOCK_STREAM) as caller:
            caller.settimeout(within_s)
            caller.connect(os.fspath(path))
            caller.sendall(msgspec.json.encode(request) + b"\n")
            with caller.makefile("rb") as answer:
                return msgspec.json.decode(answer.readline(LONGEST_REQUEST_BYTES), type=Answer)
    # BlockingIOError: too many connections are waiting. PermissionError: it is there, but not for this user.
    # Such a one may also get nothing that can be understood.
    except (TimeoutError, BlockingIOError, PermissionError, msgspec.DecodeError):
        return Answer(accepted=False, why=NO_ANSWER)
    except OSError:
        return Answer(accepted=False, why=NOT_RUNNING)


def _listening(path: Path) -> tuple[socket.socket, int | None]:
    """A socket that listens there, and the group that can use it besides this user; None if none can."""
    listening = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        _remove_stale_socket(path)
        listening.bind(os.fspath(path))
        passes_on = path.parent.stat().st_mode & stat.S_ISGID
        path.chmod(0o660 if passes_on else 0o600)
        listening.listen(MOST_WAITING)
    except OSError as error:
        listening.close()
        raise SetUpFault(
            f"The socket for requests can't be created at {path}: {error.strerror or error}.",
            "Without it, nobody could confirm a step or say stop.",
            "Choose a folder that exists, that you can write to, and whose path is shorter.",
        ) from error
    return listening, path.stat().st_gid if passes_on else None


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
