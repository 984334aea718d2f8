"""A mistake in a machine's folder, what to write instead, and the error that carries all mistakes."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, Final, Protocol

import msgspec

from exhibit.facts.errors import ScriptError
from exhibit.folder.reading.toml_lines import Path
from exhibit.folder.reading.values import intended_name

WHY_REFUSED: Final = "A folder with a mistake is never used, so that nothing wrong is typed at the machine."


class Mistake(msgspec.Struct, frozen=True, order=True):
    """A mistake in one of the folder's files, or advice on it."""

    file: str
    """The file's name within the folder, with `/` between the parts."""
    line: int
    """Counted from 1; also 1 if the whole file lacks something."""
    what: str
    """What is wrong: a sentence without its full stop."""
    write_instead: str
    """What to write there, ready to be copied if possible."""
    is_advice: bool = False
    """Whether the folder is accepted all the same: something could go wrong, or be better."""

    @property
    def sentence(self) -> str:
        """What is wrong, with a full stop unless it ends with a question mark."""
        return self.what if self.what.endswith(("?", ".")) else f"{self.what}."

    def text(self) -> str:
        """Return one line for a person: `round.toml:12: what is wrong. Write: what to write`."""
        return f"{self.file}:{self.line}: {self.sentence} Write: {self.write_instead}"


def decoded(file: str, content: bytes) -> str | Mistake:
    """Return the file's text, or the mistake if it isn't UTF-8."""
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as fault:
        line = content.count(b"\n", 0, fault.start) + 1
        return Mistake(file, line, "a character here is not UTF-8", "the file again, saved as UTF-8")


class FolderMistakes(ScriptError):
    """A machine's folder has mistakes; `mistakes` holds all of them, sorted by file and line."""

    def __init__(self, folder: str, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = sorted(mistakes)
        first = self.mistakes[0]
        many = len(self.mistakes)
        count = "a mistake" if many == 1 else f"{many} mistakes"
        super().__init__(
            f"The folder {folder} has {count}. The first is in {first.file}, line {first.line}: "
            f"{first.sentence}",
            WHY_REFUSED,
            f"Write: {first.write_instead}. `exhibit check {folder}` lists all mistakes.",
        )


Subpath = tuple[str | int, ...]
"""The path from a table to something in it: keys, and indices of list items."""


class Located:
    """What stands in a table of a file, on which lines, and the list to which its mistakes are added."""

    def __init__(
        self,
        file: str,
        data: Mapping[str, Any],
        lines: Mapping[Path, int],
        mistakes: list[Mistake],
        path: Path,
        *,
        is_present: bool,
        common: Collection[str],
    ) -> None:
        self.file = file
        self.path = path
        self.data = data
        """What stands in the file."""
        self._lines = lines
        self._mistakes = mistakes
        self._is_present = is_present
        self._common = frozenset(common)
        """The keys that stand in the table around this one, for all the tables in it."""
        self._expected: dict[str, str] = {}
        """Each key read so far, with an example of what to write."""
        self._spoilt: set[str] = set()
        """The keys at which there is a mistake."""

    @property
    def is_present(self) -> bool:
        """Whether the table is in the file."""
        return self._is_present

    def is_sure(self, *keys: str) -> bool:
        """Whether these keys mean what the author meant: none has a mistake or seems to be misspelt.

        For checks that compare keys, so that one mistake doesn't bring another.
        """
        unread = [name for name in self.data if name not in self._expected]
        misspelt = {near for name in unread if (near := intended_name(name, keys))}
        return all(key not in self._spoilt and (key in self.data or key not in misspelt) for key in keys)

    def line_of(self, *below: str | int) -> int:
        """Return the line of a key of this table or of something in it; without arguments, of the table."""
        path = (*(self.path[:-1] if below and below[0] in self._common else self.path), *below)
        while path not in self._lines and path:
            path = path[:-1]
        return self._lines.get(path, 1)

    def wrong(self, key: str | int | Subpath, what: str, write_instead: str) -> None:
        """Add a mistake at a key of this table, at a path in it (a tuple), or at the table itself: ()."""
        self._add(key, what, write_instead, is_advice=False)

    def advise(self, key: str | int | Subpath, what: str, write_instead: str) -> None:
        """Add advice, where `wrong` adds a mistake."""
        self._add(key, what, write_instead, is_advice=True)

    def _add(self, key: str | int | Subpath, what: str, write_instead: str, *, is_advice: bool) -> None:
        if self._is_present:
            below = key if isinstance(key, tuple) else (key,)
            line = self.line_of(*below)
            if below and not is_advice:
                self._spoilt.add(f"{below[0]}")
            self._mistakes.append(Mistake(self.file, line, what, write_instead, is_advice))

    @property
    def title(self) -> str:
        """What a message calls the table."""
        if not self.path:
            return self.file
        if isinstance(self.path[-1], int):
            return f"this [[{'.'.join(map(str, self.path[:-1]))}]]"
        return f"[{'.'.join(map(str, self.path))}]"


class _Reports(Protocol):
    def wrong(self, key: str, what: str, write_instead: str) -> None: ...


class _Named(Protocol):
    @property
    def table(self) -> _Reports: ...

    @property
    def name(self) -> str: ...


def check_unique_names(kind: str, drafts: Iterable[_Named]) -> None:
    """Add a mistake for each of these steps, captions or other drafts whose name an earlier one has."""
    seen: set[str] = set()
    for draft in drafts:
        if draft.name and draft.name in seen:
            what = f'an earlier {kind} is already named "{draft.name}"'
            draft.table.wrong("name", what, f'name = "{draft.name}-2"')
        seen.add(draft.name)


def one_of(known: Collection[str], kind: str) -> str:
    """Return what to write in place of an unknown name: one of the known ones."""
    names = ", ".join(known)
    return f"one of: {names}" if names else f"the name of a {kind} that is described in machine.toml"


def with_own_value(key: str, value: object, write_instead: str) -> str:
    """Return the key with the author's own value if that value is of the required type, else the example."""
    wants_text = write_instead.startswith(f'{key} = "')
    if isinstance(value, str) and wants_text and value.isprintable() and not {'"', "\\"} & {*value}:
        return f'{key} = "{value}"'
    if isinstance(value, int) and re.fullmatch(re.escape(key) + r" = (true|false|[0-9]+)", write_instead):
        is_truth = write_instead.endswith(("true", "false"))
        if is_truth == isinstance(value, bool):
            return f"{key} = {str(value).lower()}"
    return write_instead


def with_key(key: str, write_instead: str) -> str:
    """Return `key = ...` if what to write is a text, else what to write unchanged."""
    return f"{key} = {write_instead}" if write_instead.startswith('"') else write_instead


def any_of(shown: list[str]) -> str:
    """Return "a, b or c"."""
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"


def listed(names: Collection[str]) -> str:
    """Return "a, b, c"."""
    return ", ".join(names) if names else "none"
