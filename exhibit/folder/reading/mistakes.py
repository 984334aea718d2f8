"""A mistake in a machine's folder, what to write instead, and the error that carries all mistakes."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from typing import Final, Protocol

import msgspec

from exhibit.facts.errors import ScriptError

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
