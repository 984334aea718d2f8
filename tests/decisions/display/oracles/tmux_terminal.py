"""tmux as a second independent terminal: the text that it shows after a stream, and its cursor."""

import itertools
import os
import re
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

LIMIT_S = 60
LINE_DRAWING = str.maketrans(
    "jklmnqtuvwx~", "\u2518\u2510\u250c\u2514\u253c\u2500\u251c\u2524\u2534\u252c\u2502\u00b7"
)
"""The line drawing characters that ncurses uses; tmux prints them as letters between SO and SI."""


class TmuxTerminal:
    def __init__(self, tmux: str, folder: Path) -> None:
        self._tmux = [tmux, "-u", "-S", str(folder / "socket"), "-f", "/dev/null"]
        self._folder = folder
        self._numbers = itertools.count()

    def ask(self, *command: str) -> str:
        done = subprocess.run(
            [*self._tmux, *command],
            capture_output=True,
            encoding="utf-8",
            env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": str(self._folder)},
            timeout=LIMIT_S,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def show(self, stream: bytes) -> tuple[list[str], tuple[int, int]]:
        """The rows of text, and row and column of the cursor, after the stream on a fresh 24 x 80."""
        token = f"shown {next(self._numbers)}"
        (self._folder / "stream").write_bytes(stream)
        command = f"stty raw -echo; cat stream; printf '\\033]2;{token}\\007'; exec cat"
        self.ask("respawn-pane", "-k", "-t", "glass:0.0", "-c", str(self._folder), command)
        end = time.monotonic() + LIMIT_S
        while self.ask("display-message", "-p", "-t", "glass:0.0", "#{pane_title}").strip() != token:
            assert time.monotonic() < end, "tmux has not come to the end of the stream"
        text = self.ask("capture-pane", "-p", "-e", "-t", "glass:0.0")
        place = self.ask("display-message", "-p", "-t", "glass:0.0", "#{cursor_y} #{cursor_x}")
        row, column = map(int, place.split())
        return _plain_rows(text), (row, column)


def _plain_rows(text: str) -> list[str]:
    text = re.sub(r"\x1b\[[0-9;:]*m", "", text)
    text = re.sub(r"\x0e([^\x0f]*)(?:\x0f|$)", lambda drawn: drawn[1].translate(LINE_DRAWING), text)
    rows = [row.rstrip(" ") for row in text.split("\n")]
    return (rows + [""] * 24)[:24]


@contextmanager
def tmux_terminal(tmux: str, folder: Path) -> Iterator[TmuxTerminal]:
    terminal = TmuxTerminal(tmux, folder)
    terminal.ask("new-session", "-d", "-s", "glass", "-x", "80", "-y", "24", "exec cat")
    terminal.ask("set-option", "-g", "status", "off")
    terminal.ask("resize-window", "-t", "glass", "-x", "80", "-y", "24")
    try:
        yield terminal
    finally:
        terminal.ask("kill-server")
