"""What the passing process tells its listener: copies of all characters, and what became of the ports.

Messages go over a local socket, each as four bytes of length and then msgpack. The listener answers only with
acknowledgements, which are two totals; nothing that it sends can reach a port.
"""

from __future__ import annotations

import struct
from typing import Final

import msgspec

ACKNOWLEDGEMENT: Final = struct.Struct("!QQ")
"""How many bytes from the machine, and from the terminal, the listener has dealt with."""
_LENGTH: Final = struct.Struct("!I")


class Hello(msgspec.Struct, frozen=True, tag=True):
    """The first message of a connection. The totals count from the start of the passing process."""

    pid: int
    settings: str
    line: str
    terminal: str
    from_machine: int
    from_terminal: int
    missed_from_machine: int
    """How much of that no listener has acknowledged."""
    missed_from_terminal: int


class Busy(msgspec.Struct, frozen=True, tag=True):
    """Instead of Hello: there is a listener already, this process."""

    pid: int


class FromMachine(msgspec.Struct, frozen=True, tag=True):
    """The machine sent this. `at_ns` is by the steady clock of this computer, for all messages."""

    data: bytes
    at_ns: int


class FromTerminal(msgspec.Struct, frozen=True, tag=True):
    """A person typed this at the terminal, and it was written to the machine's port."""

    data: bytes
    at_ns: int


class Missed(msgspec.Struct, frozen=True, tag=True):
    """The listener took nothing for so long that copies of so many bytes were dropped."""

    from_machine: int
    from_terminal: int


class NotPassed(msgspec.Struct, frozen=True, tag=True):
    """So many characters were typed at the terminal while the machine's port was lost. They reach nobody."""

    count: int
    at_ns: int


class PortOpen(msgspec.Struct, frozen=True, tag=True):
    """A port was opened, or is open at the beginning of the connection."""

    machine: bool
    """Whether it is the machine's port; otherwise it is the terminal's."""
    at_ns: int


class PortLost(msgspec.Struct, frozen=True, tag=True):
    """A port was lost, or is lost at the beginning of the connection."""

    machine: bool
    why: str
    at_ns: int


class OthersSeen(msgspec.Struct, frozen=True, tag=True):
    """Other programs have opened one of the ports (line.sharing)."""

    port: str
    programs: list[str]
    at_ns: int


Message = Hello | Busy | FromMachine | FromTerminal | Missed | NotPassed | PortOpen | PortLost | OthersSeen
_encoder = msgspec.msgpack.Encoder()
_decoder = msgspec.msgpack.Decoder(Message)


def encode(message: Message) -> bytes:
    """The message as it goes over the socket."""
    body = _encoder.encode(message)
    return _LENGTH.pack(len(body)) + body


class Decoder:
    """Puts messages together again from whatever pieces arrive."""

    def __init__(self) -> None:
        self._waiting = bytearray()

    def feed(self, data: bytes) -> list[Message]:
        """The messages that these bytes complete. Raises ValueError if they are none of this program's."""
        self._waiting += data
        messages: list[Message] = []
        while len(self._waiting) >= _LENGTH.size:
            (length,) = _LENGTH.unpack_from(self._waiting)
            end = _LENGTH.size + length
            if len(self._waiting) < end:
                break
            messages.append(_decoder.decode(bytes(self._waiting[_LENGTH.size : end])))
            del self._waiting[:end]
        return messages
