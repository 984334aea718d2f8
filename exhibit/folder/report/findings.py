"""Collects what `exhibit check` finds in a machine's folder, and formats it for the terminal."""

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
from exhibit.folder.files import read_files, read_other_files, unread_files
from exhibit.folder.reading.machine import FILE as MACHINE
from exhibit.folder.reading.mistakes import WHY_REFUSED, FolderMistakes, Mistake
from exhibit.folder.whole import Examined, examine, folder_of

WIDEST: Final = 110
NARROWEST: Final = 50
"""Columns that the printed lines can take."""
_INDENT: Final = "    "
_IN_A_NUMBER: Final = re.compile(r"(?<=[0-9]) (?=[0-9]{3}\b)")
_UNBROKEN: Final = "\u00a0"
"""A space at which no line is broken (no-break space in Unicode)."""


class ToBeMended(ScriptError):
    """The folder has mistakes, which were printed before."""

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
    """All that is found in a folder: `mistakes`, captions `beyond` a limit, and `advice`, each sorted."""

    def __init__(self, path: Path, today: datetime.date | None = None) -> None:
        """Check the folder; `today` is the date for which calendars are judged, by default the computer's.

        Raises SetUpFault if the folder doesn't exist or can't be read.
        """
        files, others = read_files(path), read_other_files(path)
        found = examine(files, others)
        found.mistakes += unread_files(path, {*files, *others})
        machine = found.drafts.machine
        if machine is not None and not any(m.file == MACHINE and not m.is_advice for m in found.mistakes):
            check_calendars(machine, today or datetime.datetime.now().astimezone().date())
        self.path = path
        self.examined = found
        self.mistakes = sorted(mistake for mistake in found.mistakes if not mistake.is_advice)
        self.advice = sorted(mistake for mistake in found.mistakes if mistake.is_advice)
        self.folder = None if self.mistakes else folder_of(found, files, others)
        # What couldn't be parsed within bounds must not be parsed here without them.
        parsed = {name: content for name, content in files.items() if name in found.tables}
        self.beyond = sorted(_beyond(parsed, found, self.folder))

    def refuse(self) -> Folder:
        """Return what the folder describes. Raises FolderMistakes and CaptionMistakes like `check_folder`."""
        if self.folder is None:
            raise FolderMistakes(f"{self.path}", self.mistakes)
        if self.beyond:
            raise CaptionMistakes(f"{self.path}", self.beyond)
        return self.folder


def check_folder(path: Path) -> Folder:
    """Return what the folder describes, provided that its captions keep the limits.

    Raises FolderMistakes, which carries all the mistakes; CaptionMistakes if only captions or labels are
    beyond a limit; and SetUpFault if the folder doesn't exist or can't be read.
    """
    return Checked(path).refuse()


def check_report(checked: Checked, columns: int = 0) -> list[str]:
    """Return all the mistakes, file by file, or that everything is in order; then the advice.

    `columns` is the width of the lines, by default that of the terminal, or 110.
    """
    width = columns or _width()
    lines = _listed(sorted([*checked.mistakes, *checked.beyond]), width)
    if not lines and checked.folder is not None:
        lines = _wrapped(_in_order(checked.path, checked.folder), "", width)
    if checked.advice:
        head = "Advice, which you can ignore:"
        lines += ["", head, "", *_listed(checked.advice, width)]
    return lines


def in_columns(lines: Sequence[str]) -> list[str]:
    """Return these lines, wrapped to the width of the terminal."""
    width = _width()
    return [part for line in lines for part in (_wrapped(line, "", width) or [""])]


def _width() -> int:
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 0)).columns))


def _listed(mistakes: Sequence[Mistake], width: int) -> list[str]:
    """Return a few lines for each mistake, with an empty line between two files."""
    lines: list[str] = []
    for _, of_a_file in itertools.groupby(mistakes, key=lambda mistake: mistake.file):
        lines += [""] if lines else []
        for mistake in of_a_file:
            lines += _wrapped(f"{mistake.file}:{mistake.line}: {mistake.sentence}", "", width)
            lines += _wrapped(f"Write: {mistake.write_instead}", _INDENT, width)
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
    """Return the captions and labels beyond a limit, as far as the files can be read."""
    if folder is not None:
        return check_captions(files, folder)
    return check_what_can_be_read(files, *assemble_readable(found.drafts))
