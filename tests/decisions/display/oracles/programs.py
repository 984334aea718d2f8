"""Runs full-screen programs on a pseudo-terminal of 24 x 80 and keeps what they write."""

import io
import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pexpect

HERE = Path(__file__).resolve().parent
LIMIT_S = 90
"""A step that takes longer has failed; none takes a second on an idle computer."""

Step = tuple[bytes, bytes]
"""What to wait for in the output since the last step (a pattern), and the keys to press then."""


@dataclass(frozen=True)
class Program:
    """A program, the keys that drive it until it ends by itself, and the Debian program it needs."""

    name: str
    needs: str
    arguments: tuple[str, ...]
    steps: tuple[Step, ...] = ()


def programs(text_file: Path) -> list[Program]:
    """A process display, a pager, two editors and two ncurses programs."""
    file = str(text_file)
    return [
        Program("process display", "top", ("-d", "0.2", "-n", "4")),
        Program(
            "ncurses process display", "htop", ("-d", "2"), ((rb"PID", b"t"), (rb"PID|F10|Quit", b"IMq"))
        ),
        Program(
            "pager",
            "less",
            (file,),
            (
                (rb"tide 023", b" "),
                (rb"tide 046", b"kkkb"),
                (rb"tide 001", b"/tide 100\r"),
                (rb"tide 122|tide 121", b"jjG"),
                (rb"tide 200", b"kkkkkq"),
            ),
        ),
        Program(
            "editor",
            "vim.tiny",
            ("-N", "-u", "NONE", "-i", "NONE", "-n", file),
            (
                (rb"tide 02\d", b"5GiHARBOUR \x1b3ddu"),
                (rb"HARBOUR", b"GOhigh water\rlow water\x1bgg"),
                (rb"low water|tide 001", b":set number\r10Gp20\x19\x05\x05\x15\x06"),
                (rb"\b10\b|tide 0\d\d", b':" marked\r'),
                (rb"marked", b":q!\r"),
            ),
        ),
        Program(
            "ncurses editor",
            "nano",
            ("--ignorercfiles", file),
            (
                (rb"tide 001", b"HARBOUR\r\x0b\x0b"),
                (rb"HARBOUR", b"\x16\x16\x19\x15\x17"),
                (rb"Search", b"tide 150\r"),
                (rb"tide 15\d", b"\x18"),
                (rb"Save modified", b"n"),
            ),
        ),
        *(
            Program(
                f"ncurses at random {number}", sys.executable, (str(HERE / "curses_program.py"), number, "60")
            )
            for number in ("1", "2", "3")
        ),
    ]


def written_by(program: Program, path: str, terminal: str, terminfo: Path) -> tuple[bytes, list[int]]:
    """All that the program writes, and the places where it had come to before each of its keys."""
    log = io.BytesIO()
    child = pexpect.spawn(
        path,
        list(program.arguments),
        env={
            "TERM": terminal,
            "TERMINFO_DIRS": f"{terminfo}:/etc/terminfo:/lib/terminfo:/usr/share/terminfo",
            "LC_ALL": "C",
            "PATH": os.environ["PATH"],
            "HOME": str(terminfo),
            "LESSHISTFILE": "-",
        },
        dimensions=(24, 80),
        timeout=LIMIT_S,
    )
    child.logfile_read = log
    child.delaybeforesend = None
    places = []
    try:
        for pattern, keys in program.steps:
            child.expect(pattern)
            places.append(log.tell())
            child.send(keys)
        child.expect(pexpect.EOF)
    finally:
        child.close(force=True)
    assert child.exitstatus == 0, log.getvalue()[-500:]
    return log.getvalue(), places


def compiled_terminfo(tic: str, folder: Path) -> Path:
    """Compiles our own entry into the folder, and gives the folder."""
    entry = str(HERE / "glass.terminfo")
    done = subprocess.run([tic, "-x", "-o", str(folder), entry], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return folder


def cuts_of(stream: bytes, places: Sequence[int], every: int) -> list[int]:
    """Where to look at the screen: before each of the keys, evenly in between, and at the end."""
    return sorted({*places, *range(every, len(stream), every), len(stream)})
