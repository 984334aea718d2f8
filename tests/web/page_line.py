"""A page's connection to the web process, without a client library, so that tests can break the protocol."""

from __future__ import annotations

import http.client
import json
from pathlib import Path
from typing import Any

import websocket

from tests.pages.web_processes import WebProcess


class Line:
    """A page's connection, without a client library: Engine.IO 4 and Socket.IO 5 over one websocket."""

    def __init__(self, web: WebProcess, origin: str | None = None) -> None:
        address = f"ws://127.0.0.1:{web.port}/socket.io/?EIO=4&transport=websocket"
        self.socket = websocket.create_connection(
            address, timeout=60, origin=origin or web.address.rstrip("/")
        )
        self._own = self.socket.sock
        opened = self.socket.recv()
        assert opened.startswith("0")
        self.opened = json.loads(opened[1:])
        self.socket.send("40")
        self.joined = self.next("4")
        self._number = 0

    def __enter__(self) -> Line:
        return self

    def __exit__(self, *_: object) -> None:
        self.socket.close()
        self._own.close()  # which the library doesn't do if the other side closed first

    def next(self, kind: str) -> str:
        """The next packet of this kind; pings are answered on the way."""
        while True:
            packet = str(self.socket.recv())
            if not packet:
                raise websocket.WebSocketConnectionClosedException("the web process closed it")
            if packet == "2":
                self.socket.send("3")
            elif packet.startswith(kind):
                return packet

    def say(self, event: str, said: Any) -> int:
        """Send something without waiting for the answer. Returns its number."""
        self._number += 1
        self.socket.send(f"42{self._number}{json.dumps([event, said])}")
        return self._number

    def answer(self) -> tuple[int, Any]:
        """The next answer, and the number of what it answers."""
        packet = self.next("43")[2:]
        digits = packet[: packet.index("[")]
        return int(digits), json.loads(packet[len(digits) :])[0]

    def ask(self, **said: Any) -> dict[str, Any]:
        """Ask and wait for the answer."""
        self.say("ask", said)
        answer = self.answer()[1]
        assert isinstance(answer, dict)
        return answer


def get(web: WebProcess, path: str, method: str = "GET", **headers: str) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection("127.0.0.1", web.port, timeout=60)
    connection.request(method, path, headers=headers)
    response = connection.getresponse()
    response.body = response.read()  # type: ignore[attr-defined]
    connection.close()
    return response


def memory_kB(pid: int) -> int:
    """Resident memory (proc(5))."""
    for text in Path(f"/proc/{pid}/status").read_text("ascii").splitlines():
        if text.startswith("VmRSS:"):
            return int(text.split()[1])
    raise AssertionError("no such process")


def worked_s(pid: int) -> float:
    """The processor time that the process's main thread has used so far (proc(5))."""
    return int(Path(f"/proc/{pid}/schedstat").read_text("ascii").split()[0]) / 1e9
