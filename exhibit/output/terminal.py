"""Writes to a terminal. Each line is one line there, and nothing in it does anything to the terminal.

put("The visitors' page: ...")                    # to standard output
put(fault.what, fault.why, fault.do, to=sys.stderr)
"""

from __future__ import annotations

import contextlib
import io
import sys
from collections.abc import Iterator
from typing import TextIO

from exhibit.output.printable import printable, without_controls


def put(*lines: str, to: TextIO | None = None) -> None:
    """Writes these lines, to standard output if nothing else is named. A line break in one is escaped."""
    out = sys.stdout if to is None else to
    out.write(_encodable("".join(f"{printable(line)}\n" for line in lines), out))
    out.flush()


def is_watched() -> bool:
    """Whether standard error is a terminal, where a person can see how far a long piece of work has come."""
    return sys.stderr.isatty()


def is_read_here() -> bool:
    """Whether standard output is a terminal, where a person reads what is printed."""
    return sys.stdout.isatty()


def put_over(line: str, to: TextIO) -> None:
    """Writes this over the line above the cursor of a terminal. What a person is typing below it stays."""
    # ECMA-48 has no codes for keeping the cursor's place; these are common practice (DECSC, DECRC).
    to.write(f"\x1b7\x1b[A\r\x1b[K{_encodable(printable(line), to)}\x1b8")
    to.flush()


def put_text(text: str) -> None:
    """Writes a text of many lines for a file or another program: in UTF-8, whatever the terminal's encoding.

    There only control characters are escaped. If a terminal shows it after all, it is as with `put`.
    """
    lines = text.removesuffix("\n").split("\n")
    if is_read_here():
        put(*lines)
        return
    sys.stdout.flush()
    sys.stdout.buffer.write(
        "".join(f"{without_controls(line)}\n" for line in lines).encode("utf-8", "replace")
    )
    sys.stdout.buffer.flush()


@contextlib.contextmanager
def printable_errors() -> Iterator[None]:
    """While this lasts, whatever Python and its libraries write to standard error is escaped as well.

    Such as a warning, or the traceback of an error that nothing has caught. Their line breaks stay.
    """
    before = sys.stderr
    sys.stderr = _Printable(before)
    try:
        yield
    finally:
        sys.stderr = before


class _Printable(io.TextIOBase):
    """A stream that escapes what is written to it."""

    def __init__(self, out: TextIO) -> None:
        self._out = out

    def write(self, text: str) -> int:
        self._out.write(_encodable("\n".join(map(printable, text.split("\n"))), self._out))
        return len(text)

    def flush(self) -> None:
        self._out.flush()

    def isatty(self) -> bool:
        return self._out.isatty()

    def fileno(self) -> int:
        return self._out.fileno()


def _encodable(text: str, out: TextIO) -> str:
    """The text, with a question mark for each character that this stream's encoding doesn't have."""
    encoding = getattr(out, "encoding", None) or "utf-8"
    return text.encode(encoding, "replace").decode(encoding)
