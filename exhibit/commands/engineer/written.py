"""Writes what a command made to a file, or prints it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from exhibit.facts.errors import SetUpFault
from exhibit.output.terminal import is_read_here, put, put_text

_A_PAGE: Final = "<!doctype html>"
PRINT_IT: Final = "Open it in a browser and print it on A4."


def write_text(text: str, to: Path | None, then: str = "") -> None:
    """Writes a file, and says so and what to do then; or prints its text. Raises SetUpFault.

    A page for a browser isn't printed on a terminal, where nobody can read it.
    """
    if to is None:
        if text.startswith(_A_PAGE) and is_read_here():
            raise SetUpFault(
                "This is a page for a browser, and a terminal can't show it.",
                "So nothing was printed.",
                "Say with --to which file to write, such as --to page.html, and open that in a browser.",
            )
        put_text(text)
        return
    try:
        to.write_text(text, encoding="utf-8", errors="replace", newline="")
    except OSError as fault:
        raise SetUpFault(
            f"{to} can't be written: {fault.strerror or fault}.",
            "So what was made is nowhere.",
            "Give a place where you can write with --to, or make room on the disc.",
        ) from fault
    put(f"{to} is written.{f' {then}' if then else ''}")
