"""What `exhibit check` finds in a machine's folder, and how it says so."""

from __future__ import annotations

import datetime
import itertools
import re
import shutil
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from exhibit.decisions.machine.script import Folder
from exhibit.facts.errors import ScriptError
from exhibit.folder.assembly import assemble_readable
from exhibit.folder.checks.calendars import check_calendars
from exhibit.folder.checks.captions import CaptionMistakes, check_captions, check_what_can_be_read
from exhibit.folder.reading.cards import read_card_files
from exhibit.folder.reading.machine import FILE as MACHINE
from exhibit.folder.reading.mistakes import WHY_REFUSED, FolderMistakes, Mistake
from exhibit.folder.whole import Examined, examine, folder_of, read_files, unread_files

WIDEST: Final = 110
NARROWEST: Final = 50
"""Columns of what is printed."""
_INDENT: Final = "    "
_IN_A_NUMBER: Final = re.compile(r"(?<=[0-9]) (?=[0-9]{3}\b)")
_UNBROKEN: Final = "\u00a0"
"""A space at which no line is broken (Unicode: no-break space)."""


class ToBeMended(ScriptError):
    """The folder has mistakes, which have been listed."""

    def __init__(self, checked: Checked) -> None:
        many, files = len(checked.mistakes), len({mistake.file for mistake in checked.mistakes})
        count = "a mistake" if many == 1 else f"{many} mistakes"
        count += f", in {files} files" if files > 1 else ""
        super().__init__(
            f"{checked.path} has {count}.",
            WHY_REFUSED,
            "Correct it as described above, then check again, because one mistake can hide another.",
        )


class Checked:
    """All that is found in a folder: `mistakes`, captions `beyond` a limit, and `advice`, each in order."""

    def __init__(self, path: Path, today: datetime.date | None = None) -> None:
        """`today` is the date by which calendars are judged; without it that of this computer.

        Raises SetUpFault when there is no such folder or it can't be read.
        """
        files, cards = read_files(path), read_card_files(path)
        found = examine(files, cards)
        found.mistakes += unread_files(path, {*files, *cards})
        machine = found.drafts.machine
        if machine is not None and not any(m.file == MACHINE and not m.is_advice for m in found.mistakes):
            check_calendars(machine, today or datetime.datetime.now().astimezone().date())
        self.path = path
        self.mistakes = sorted(mistake for mistake in found.mistakes if not mistake.is_advice)
        self.advice = sorted(mistake for mistake in found.mistakes if mistake.is_advice)
        self.folder = None if self.mistakes else folder_of(found, files, cards)
        self.beyond = sorted(_beyond(files, found, self.folder))

    def refuse(self) -> Folder:
        """Give what the folder describes. Raises FolderMistakes or CaptionMistakes as `check_folder` does."""
        if self.folder is None:
            raise FolderMistakes(f"{self.path}", self.mistakes)
        if self.beyond:
            raise CaptionMistakes(f"{self.path}", self.beyond)
        return self.folder


def check_folder(path: Path) -> Folder:
    """Give what the folder describes, if its words keep the limits too.

    Raises FolderMistakes, which carries every mistake found, CaptionMistakes where only a caption or a
    label is beyond a limit, and SetUpFault when there is no such folder or it can't be read.
    """
    return Checked(path).refuse()


def check_report(checked: Checked, columns: int = 0) -> list[str]:
    """Say all that was found, a file after the other, or that all is in order; then the advice.

    `columns` is the width of what is printed; without it that of the terminal, or 110.
    """
    width = columns or _width()
    lines = _listed(sorted([*checked.mistakes, *checked.beyond]), width)
    if not lines and checked.folder is not None:
        lines = _wrapped(_in_order(checked.path, checked.folder), "", width)
    if checked.advice:
        head = "Advice. Nothing is refused because of it:"
        lines += ["", head, "", *_listed(checked.advice, width)]
    return lines


def in_columns(lines: Sequence[str]) -> list[str]:
    """These lines, each broken where the terminal ends."""
    width = _width()
    return [part for line in lines for part in (_wrapped(line, "", width) or [""])]


def _width() -> int:
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 0)).columns))


def _listed(mistakes: Sequence[Mistake], width: int) -> list[str]:
    """A few lines for each, with an empty line between two files."""
    lines: list[str] = []
    for _, of_a_file in itertools.groupby(mistakes, key=lambda mistake: mistake.file):
        lines += [""] if lines else []
        for mistake in of_a_file:
            end = "" if mistake.what.endswith(("?", ".")) else "."
            said = f"{mistake.file}:{mistake.line}: {mistake.what}{end}"
            lines += _wrapped(said, "", width) + _wrapped(f"Write: {mistake.write_instead}", _INDENT, width)
    return lines


def _wrapped(text: str, indent: str, width: int) -> list[str]:
    lines = textwrap.wrap(
        _IN_A_NUMBER.sub(_UNBROKEN, text),
        width,
        initial_indent=indent,
        subsequent_indent=indent + _INDENT,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_UNBROKEN, " ") for line in lines]


def _in_order(path: Path, folder: Folder) -> str:
    steps = sum(len(script.steps) + len(script.tidy_up) for script in folder.scripts.values())
    languages = ", ".join(folder.machine.languages.values())
    captions = "a caption" if len(folder.captions) == 1 else f"{len(folder.captions)} captions"
    return (
        f"{path} is in order: {len(folder.digests)} files, {len(folder.scripts)} scripts with {steps} steps, "
        f"{captions} in {languages}."
    )


def _beyond(files: Mapping[str, bytes], found: Examined, folder: Folder | None) -> list[Mistake]:
    """The captions and labels beyond a limit, as far as that can be told while there are mistakes."""
    if folder is not None:
        return check_captions(files, folder)
    return check_what_can_be_read(files, *assemble_readable(found.drafts))
