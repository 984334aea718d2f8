"""@xterm/headless in one Node process: what an independent terminal makes of the same bytes."""

import base64
import json
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from exhibit.decisions.display.rendition import Cell, Row, row_of

HERE = Path(__file__).resolve().parent
NODE_LIBRARIES = HERE.parents[2] / "node"


@dataclass(frozen=True)
class Shown:
    """What a terminal shows: its rows, and where its cursor stands."""

    rows: list[Row]
    cursor: tuple[int, int]

    def text(self) -> list[str]:
        return ["".join(run.text for run in row).rstrip(" ") for row in self.rows]


class HeadlessTerminal:
    def __init__(self, process: "subprocess.Popen[str]") -> None:
        self._process = process

    def show(self, streams: Sequence[bytes], rows: int = 24, columns: int = 80) -> list[Shown]:
        """What each stream leaves on a fresh screen."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        asked = {
            "rows": rows,
            "columns": columns,
            "streams": [base64.b64encode(stream).decode() for stream in streams],
        }
        self._process.stdin.write(json.dumps(asked) + "\n")
        self._process.stdin.flush()
        answer = self._process.stdout.readline()
        assert answer, "the Node process ended"
        return [_shown(screen) for screen in json.loads(answer)["screens"]]


def _shown(screen: dict[str, Any]) -> Shown:
    rows = [
        row_of([Cell(character, int(styles[2 * at : 2 * at + 2], 16)) for at, character in enumerate(text)])
        for text, styles in screen["rows"]
    ]
    row, column = screen["cursor"]
    return Shown(rows, (row, column))


@contextmanager
def headless_terminal(node: str) -> Iterator[HeadlessTerminal]:
    process = subprocess.Popen(
        [node, str(HERE / "headless_terminal.cjs"), str(NODE_LIBRARIES)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    try:
        yield HeadlessTerminal(process)
    finally:
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.close()
        process.wait(timeout=30)
        process.stdout.close()
