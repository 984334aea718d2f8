"""What reaches a terminal: lines of ours, with nothing in them that does anything there."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import warnings
from pathlib import Path

import pytest

from exhibit.output.terminal import printable_errors, put, put_over, put_text

FORGED = "\x1b]0;owned\x07\x1b[2J\nCAUTION: \u202enone\udc9b"
SHOWN = r"\x1b]0;owned\x07\x1b[2J\nCAUTION: \u202enone\udc9b"
ROOT = Path(__file__).resolve().parents[2]


class Tty(io.StringIO):
    """A stream that says that it is a terminal."""

    encoding = "utf-8"  # type: ignore[assignment]

    def isatty(self) -> bool:
        return True


def test_each_line_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    put("first", FORGED, "last")
    assert capsys.readouterr().out == f"first\n{SHOWN}\nlast\n"


def test_standard_error_can_be_named(capsys: pytest.CaptureFixture[str]) -> None:
    put(FORGED, to=sys.stderr)
    assert capsys.readouterr() == ("", f"{SHOWN}\n")


def test_over_the_line_above_nothing_but_the_line_is_written() -> None:
    out = Tty()
    put_over(FORGED, out)
    assert out.getvalue() == f"\x1b7\x1b[A\r\x1b[K{SHOWN}\x1b8"


def test_a_terminal_that_lacks_letters_gets_question_marks_and_no_traceback() -> None:
    for encoding, shown in (("ascii", "? ? ?"), ("latin-1", "ä ? ?"), ("utf-8", "ä ש 漢")):
        out = io.TextIOWrapper(raw := io.BytesIO(), encoding=encoding)
        put("ä ש 漢", to=out)
        assert raw.getvalue() == f"{shown}\n".encode(encoding)


def test_a_letter_never_becomes_a_control_character_in_a_terminal_s_encoding() -> None:
    r"""The second byte of Û in UTF-8 is 9B, which an 8-bit terminal takes for the beginning of a sequence."""
    out = io.TextIOWrapper(raw := io.BytesIO(), encoding="latin-1")
    put("Û2J", to=out)
    assert raw.getvalue() == b"\xdb2J\n"


def test_a_text_for_a_file_is_in_utf_8_and_loses_only_its_controls(capfdbinary) -> None:
    put_text("WEBVTT\n\nש\u200f \x1b[2J\n")
    assert capfdbinary.readouterr().out == "WEBVTT\n\nש\u200f \\x1b[2J\n".encode()


def test_the_same_text_on_a_terminal_is_escaped_as_all_else(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", out := Tty())
    put_text("WEBVTT\n\nש\u200f \x1b[2J\n")
    assert out.getvalue() == "WEBVTT\n\nש\\u200f \\x1b[2J\n"


def test_what_python_reports_by_itself_is_escaped_too() -> None:
    code = (
        "import logging, sys, threading, traceback, warnings\n"
        "from exhibit.output.terminal import printable_errors\n"
        f"forged = {FORGED!r}\n"
        "class Odd:\n"
        "    def __del__(self): raise ValueError(forged)\n"
        "def fails(): raise ValueError(forged)\n"
        "with printable_errors():\n"
        "    warnings.warn(forged)\n"
        "    logging.getLogger('any').error(forged)\n"
        "    thread = threading.Thread(target=fails); thread.start(); thread.join()\n"
        "    Odd()\n"
        "    try: fails()\n"
        "    except ValueError: traceback.print_exc()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=True)
    assert done.stderr.count(b"owned") == 5
    assert [byte for byte in set(done.stderr) if byte != ord("\n") and not 32 <= byte < 127] == []


def test_afterwards_standard_error_is_as_it_was() -> None:
    before = sys.stderr
    with printable_errors():
        assert sys.stderr is not before
        assert sys.stderr.isatty() == before.isatty()
    assert sys.stderr is before


def test_nobody_who_reads_is_no_reason_to_print_a_traceback() -> None:
    """As in `exhibit text RECORDING | head`."""
    arguments = [sys.executable, "-W", "ignore", "-m", "exhibit", "check", "scripts/whimbrel", "--explain"]
    reads, writes = os.pipe()
    os.close(reads)
    with warnings.catch_warnings():
        done = subprocess.run(arguments, cwd=ROOT, stdout=writes, stderr=subprocess.PIPE, check=False)
    os.close(writes)
    assert (done.returncode, done.stderr) == (1, b"")
