"""One table of a TOML file that we wrote, taken key by key; what is wrong is collected, not raised.

    table = Table("day.toml", data, lines, mistakes)
    rounds = table.table("rounds")
    rest_us = rounds.duration("rest", "20 s")
    rounds.close(), table.close()

Each key is asked for with an example of what to write, and all of them are required. `close` then
says which keys nobody asked for and which are lacking. A key that can't be used gives a harmless
value of its type, so that reading goes on; whoever collects mistakes must not use the values then.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any, Final, TypeVar

from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts.units import UnitMistake, duration_us, speed_baud
from exhibit.folder.reading.mistakes import Mistake
from exhibit.folder.reading.toml_lines import Path
from exhibit.folder.reading.values import NAME, ValueMistake, intended_name, key_pressed, pattern_of

T = TypeVar("T")
Subpath = tuple[str | int, ...]
"""The way from a table to what stands below it: keys, and numbers in a list."""
LocatedTexts = list[tuple[str, Subpath]]
"""Texts, each with where it stands."""
_ABSENT: Final = object()
_UNIT: Final = re.compile(r"[0-9.]+ ([a-z ]+)")
"""An example of a figure with its unit."""
HARMLESS: Final = Pattern("nothing")
"""Stands for a pattern that can't be used."""
_KINDS: Final = {
    bool: "true or false",
    str: "text in quotation marks",
    int: "a whole number",
    float: "a number",
    list: "a list in square brackets",
    dict: "a table",
}


class Table:
    """A table, its place in its file, and the list to which its mistakes are added."""

    def __init__(
        self,
        file: str,
        data: Mapping[str, Any],
        lines: Mapping[Path, int],
        mistakes: list[Mistake],
        path: Path = (),
        *,
        is_present: bool = True,
    ) -> None:
        self.file = file
        self.path = path
        self._data = data
        self._lines = lines
        self._mistakes = mistakes
        self._asked: dict[str, str] = {}
        """Each key that was asked for, with what could be written."""
        self._is_present = is_present

    # -- where it stands ----------------------------------------------------------------------

    def __contains__(self, key: str) -> bool:
        return key in self._data

    def names(self) -> list[str]:
        """The keys that are there, in the file's order."""
        return list(self._data)

    def line_of(self, *below: str | int) -> int:
        """The line of a key of this table, or of something below it; without arguments the table's own."""
        path = (*self.path, *below)
        while path not in self._lines and path:
            path = path[:-1]
        return self._lines.get(path, 1)

    def wrong(self, key: str | int | Subpath, what: str, write_instead: str) -> None:
        """Add a mistake at a key of this table, at something below it (a tuple), or at the table: ()."""
        self._say(key, what, write_instead, is_advice=False)

    def advise(self, key: str | int | Subpath, what: str, write_instead: str) -> None:
        """Add advice, as `wrong` adds a mistake."""
        self._say(key, what, write_instead, is_advice=True)

    def _say(self, key: str | int | Subpath, what: str, write_instead: str, *, is_advice: bool) -> None:
        if self._is_present:
            below = key if isinstance(key, tuple) else (key,)
            line = self.line_of(*below)
            self._mistakes.append(Mistake(self.file, line, what, write_instead, is_advice))

    @property
    def title(self) -> str:
        """How the table is named in a sentence."""
        if not self.path:
            return self.file
        if isinstance(self.path[-1], int):
            return f"this [[{'.'.join(map(str, self.path[:-1]))}]]"
        return f"[{'.'.join(map(str, self.path))}]"

    # -- single keys --------------------------------------------------------------------------

    def _take(self, key: str, kind: type[T], example: str) -> T | None:
        self._asked[key] = f"{key} = {example}"
        value = self._data.get(key, _ABSENT)
        if value is _ABSENT:
            return None
        if type(value) is not kind:
            is_kind = _KINDS.get(type(value), "a date or time")
            self.wrong(key, f"{key} is {is_kind}, and must be {_KINDS[kind]}", f"{key} = {example}")
            return None
        return value

    def _read(self, key: str, example: str, otherwise: T, read: Callable[[str], T]) -> T:
        bare, unit = self._data.get(key), _UNIT.fullmatch(example)
        if type(bare) in (int, float) and unit:
            example = f"{bare} {unit[1]}"  # whose figure it is knows it better than an example does
        text = self._take(key, str, f'"{example}"')
        if text is None:
            return otherwise
        try:
            return read(text)
        except (UnitMistake, ValueMistake) as mistake:
            self.wrong(key, f"{key}: {mistake.what}", _with_key(key, mistake.write_instead))
            return otherwise

    def text(self, key: str, example: str) -> str:
        """A text: printable, not empty."""
        text = self._take(key, str, f'"{example}"')
        if text is not None and not self._is_valid_text((key,), text, f'{key} = "{example}"'):
            return ""
        return text or ""

    def _is_valid_text(self, below: Subpath, text: str, write_instead: str) -> bool:
        """Whether a text is printable and not empty; adds the mistake if it isn't."""
        if not text.strip():
            what = f"{below[0]} is empty" if len(below) == 1 else f"a text in {below[0]} is empty"
        elif not text.isprintable():
            what = f"{below[0]} has a character that can't be shown, or a new line"
        else:
            return True
        self.wrong(below, what, write_instead)
        return False

    def boolean(self, key: str) -> bool:
        """true or false."""
        return self._take(key, bool, "true") or False

    def integer(self, key: str, low: int, high: int, example: int) -> int:
        """A whole number from `low` to `high`."""
        value = self._take(key, int, str(example))
        if value is None:
            return example
        if not low <= value <= high:
            self.wrong(key, f"{key} is {value}, and must be from {low} to {high}", f"{key} = {example}")
            return example
        return value

    def number(self, key: str, example: str) -> float:
        """A number, whole or not."""
        value = self._data.get(key)
        kind: type[int] | type[float] = float if type(value) is float else int
        taken = self._take(key, kind, example)
        if taken is None or not -1e15 < taken < 1e15:
            if taken is not None:
                self.wrong(key, f"{key} is no number that a machine would show", f"{key} = {example}")
            return float(example)
        return float(taken)

    def has_option(self, key: str, options: tuple[str, ...]) -> bool:
        """Whether one of these texts stands there."""
        return self._data.get(key) in options

    def choice(self, key: str, options: tuple[T, ...]) -> T:
        """One of a few texts or numbers."""
        kind = type(options[0])
        shown = [f'"{option}"' if kind is str else str(option) for option in options]
        value = self._take(key, kind, shown[0])
        if value is None or value in options:
            return options[0] if value is None else value
        near = intended_name(str(value), map(str, options))
        write = f"{key} = {shown[[str(o) for o in options].index(near)]}" if near else f"{key} = {_or(shown)}"
        said = f'"{value}"' if kind is str else str(value)
        self.wrong(key, f"{key} can't be {said}", write)
        return options[0]

    def duration(self, key: str, example: str, *, may_be_zero: bool = False) -> int:
        """Microseconds."""
        return self._read(key, example, 1, lambda text: duration_us(text, may_be_zero=may_be_zero))

    def speed(self, key: str, example: str) -> int:
        """Baud."""
        return self._read(key, example, 1, speed_baud)

    def key_press(self, key: str, example: str) -> bytes:
        """What a key of the keyboard sends."""
        return self._read(key, example, b"\r", key_pressed)

    def read(self, key: str, example: str, otherwise: T, how: Callable[[str], T]) -> T:
        """A text in a notation of its own; `how` raises ValueMistake."""
        return self._read(key, example, otherwise, how)

    def pattern(self, key: str, example: str, *, places_alone: bool = False) -> Pattern:
        """A pattern."""
        return self._read(key, example, HARMLESS, lambda text: pattern_of(text, places_alone))

    def name(self, key: str, example: str) -> str:
        """A name; empty when it can't be used."""
        name = self._take(key, str, f'"{example}"')
        return name if name is not None and self.is_valid_name(key, name) else ""

    def is_valid_name(self, key: str | Subpath, name: str) -> bool:
        """Whether it is lower case, figures and hyphens; adds the mistake if it isn't."""
        if NAME.fullmatch(name):
            return True
        better = "-".join(part for part in "".join(c if c.isalnum() else " " for c in name.lower()).split())
        write = f'"{better}"' if NAME.fullmatch(better) else 'a name such as "small-ready"'
        self.wrong(key, f'"{name}" can\'t be a name: names are lower case, figures and hyphens', write)
        return False

    def texts(self, key: str, example: str, *, one_alone: bool = False) -> LocatedTexts:
        """The texts of a list, printable and not empty; with `one_alone` one may stand without a list."""
        alone = self._data.get(key)
        if one_alone and isinstance(alone, str):
            self._asked[key] = f"{key} = {example}"
            self._is_valid_text((key,), alone, f"{key} = {example}")
            return [(alone, (key,))]
        listed = self._take(key, list, example)
        good: LocatedTexts = []
        for place, item in enumerate(listed or []):
            if isinstance(item, str):
                self._is_valid_text((key, place), item, f"{key} = {example}")
                good.append((item, (key, place)))
            else:
                self.wrong((key, place), f"{key} has something in it that is no text", f"{key} = {example}")
        return good

    def look_up(self, below: Subpath, name: str, known: Collection[str], kind: str) -> bool:
        """Whether that name is known, or empty, which is said already; adds the mistake if it isn't."""
        if not name.strip() or name in known:
            return True
        near = intended_name(name, known)
        hint = f'; did you mean "{near}"?' if near else ""
        write = f'"{near}"' if near else one_of(known, kind)
        self.wrong(below, f'no {kind} is named "{name}"{hint}', write)
        return False

    # -- tables below -------------------------------------------------------------------------

    def table(self, key: str) -> Table:
        """The table of that name; if there is none, one that gives harmless values and stays silent."""
        self._asked[key] = f"[{'.'.join(map(str, (*self.path, key)))}]"
        data = self._data.get(key)
        if isinstance(data, dict):
            return Table(
                self.file, data, self._lines, self._mistakes, (*self.path, key), is_present=self._is_present
            )
        if data is not None:
            is_kind = _KINDS.get(type(data), "a date or time")
            self.wrong(key, f"{key} is {is_kind}, and must be a table", self._asked[key])
        return Table(self.file, {}, self._lines, [], (*self.path, key), is_present=False)

    def tables(self, key: str) -> Iterator[Table]:
        """The tables whose headers are [[key]]. An empty list is one without any."""
        self._asked[key] = f"[[{key}]]"
        data = self._data.get(key)
        if data is not None and (
            not isinstance(data, list) or any(not isinstance(item, dict) for item in data)
        ):
            self.wrong(key, f"{key} must be tables, each under a header [[{key}]]", f"[[{key}]]")
            return
        for place, item in enumerate(data or []):
            path = (*self.path, key, place)
            yield Table(self.file, item, self._lines, self._mistakes, path, is_present=self._is_present)

    def named_tables(self, key: str) -> Iterator[tuple[str, Table]]:
        """The tables [key.NAME], with their names; those with an unfit name are reported and left out."""
        group = self.table(key)
        for name in group.names():
            below = group.table(name)
            if group.is_valid_name(name, name) and below.is_present:
                yield name, below
        group.close()

    @property
    def is_present(self) -> bool:
        """Whether the table is in the file."""
        return self._is_present

    # -- the end ------------------------------------------------------------------------------

    def allow(self, *keys: str) -> None:
        """These keys are in order here, whether they are there or not."""
        self._asked.update((key, "") for key in keys if key not in self._asked and key in self._data)

    def close(self) -> None:
        """Report the keys that don't belong here, and those that are lacking."""
        lacking = {key: write for key, write in self._asked.items() if key not in self._data}
        for key in self._data:
            if key in self._asked:
                continue
            near = intended_name(key, lacking) or intended_name(key, self._asked)
            # Whoever misspelt a key needn't also be told that it is lacking.
            write = lacking.pop(near, "") or (near and self._asked[near])
            place = f"in {self.title}" if self.path else "at the top of this file"
            if write:
                write = _with_own_value(near, self._data[key], write)
                self.wrong(key, f'"{key}" is no key {place}; did you mean "{near}"?', write)
            else:
                self.wrong(key, f'"{key}" is no key {place}', f"one of: {_listed(self._asked)}")
        for key, write in lacking.items():
            self.wrong((), f"{self.title} lacks {key}", write)


def one_of(known: Collection[str], kind: str) -> str:
    """What to write where a name is wanted: one of those that are known."""
    names = ", ".join(known)
    return f"one of: {names}" if names else f"the name of a {kind} that is described in machine.toml"


def _with_own_value(key: str, value: object, write_instead: str) -> str:
    """The key with the value that stands there, where that can be what is wanted: a text, or a number."""
    wants_text = write_instead.startswith(f'{key} = "')
    if isinstance(value, str) and wants_text and value.isprintable() and not {'"', "\\"} & {*value}:
        return f'{key} = "{value}"'
    if isinstance(value, int) and re.fullmatch(re.escape(key) + r" = (true|false|[0-9]+)", write_instead):
        is_truth = write_instead.endswith(("true", "false"))
        if is_truth == isinstance(value, bool):
            return f"{key} = {str(value).lower()}"
    return write_instead


def _with_key(key: str, write_instead: str) -> str:
    return f"{key} = {write_instead}" if write_instead.startswith('"') else write_instead


def _or(shown: list[str]) -> str:
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"


def _listed(names: Collection[str]) -> str:
    return ", ".join(names) if names else "none"
