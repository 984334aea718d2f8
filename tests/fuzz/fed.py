"""Gives a target a process of its own: a website changes the one that it is served in.

    take = fed("web_messages")
    take(data)                     # as tests.fuzz.web_messages.one(data)

An input goes to the process as a line of hexadecimal digits; a line of JSON comes back: "" or a traceback.
"""

from __future__ import annotations

import atexit
import importlib
import json
import subprocess
import sys
import traceback
from collections.abc import Callable
from functools import cache
from pathlib import Path

ENDS_WITHIN_S = 10
ROOT = Path(__file__).resolve().parents[2]


@cache
def fed(target: str) -> Callable[[bytes], None]:
    """What tries an input; the process ends with this one."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.fuzz.fed", target],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    inputs, answers = process.stdin, process.stdout

    @atexit.register
    def end() -> None:
        process.communicate(timeout=ENDS_WITHIN_S)

    def take(data: bytes) -> None:
        inputs.write(f"{data.hex()}\n")
        inputs.flush()
        answer = answers.readline()
        assert answer, "the process ended"
        assert not json.loads(answer), json.loads(answer)

    return take


def main() -> None:
    """Takes inputs until there are no more."""
    one = importlib.import_module(f"tests.fuzz.{sys.argv[1]}").one
    for line in sys.stdin:
        found = ""
        try:
            one(bytes.fromhex(line))
        except BaseException:
            found = traceback.format_exc()
        sys.stdout.write(f"{json.dumps(found)}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
