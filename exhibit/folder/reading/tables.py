"""Reads a table of a TOML file key by key. Mistakes are collected, not raised.

    table = Table("day.toml", data, lines, mistakes)
    rounds = table.table("rounds")
    rest_us = rounds.duration("rest", "20 s")
    rounds.close(), table.close()

Each key is read with an example of what to write. A key is required unless it is read with a `default`,
which is written like a value in the file and read like one; `defaults` keeps those that were used, so that
`exhibit check --explain` shows them. `close` reports the unknown keys and the missing ones. For a key that
can't be used a method returns a harmless value of the right type, so that reading goes on; such values must
not be used once there are mistakes.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterator, Mapping
from functools import partial
from typing import Any, Final, TypeVar

from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts.units import UnitMistake, duration_us, speed_baud
from exhibit.folder.reading.mistakes import (
    Located,
    Mistake,
    Subpath,
    any_of,
    listed,
    one_of,
    with_key,
    with_own_value,
)
from exhibit.folder.reading.toml_lines import Path
from exhibit.folder.reading.values import NAME, ValueMistake, intended_name, key_pressed, pattern_of

T = TypeVar("T")
LocatedTexts = list[tuple[str, Subpath]]
"""Texts, each with its path from the table."""
SHORT: Final = "line"
"""The key of a table for which a text alone is short."""
Short = Callable[[Any], dict[str, Any] | None]
"""Gives the table for which a value is short, or None."""
_ABSENT: Final = object()
_UNIT: Final = re.compile(r"[0-9.]+ ([a-z ]+)")
"""Matches an example that is a number with its unit."""
HARMLESS: Final = Pattern("nothing")
"""Takes the place of a pattern that can't be used."""
_KINDS: Final = {
    bool: "true or false",
    str: "a text in quotation marks",
    int: "a whole number",
    float: "a number",
    list: "a list in square brackets",
    dict: "a table",
}


class Table(Located):
    """A table, its position in its file, and the list to which its mistakes are added."""

    def __init__(
        self,
        file: str,
        data: Mapping[str, Any],
        lines: Mapping[Path, int],
        mistakes: list[Mistake],
        path: Path = (),
        *,
        is_present: bool = True,
        defaults: dict[Path, Any] | None = None,
        shorts: dict[Path, Any] | None = None,
        common: Collection[str] = (),
    ) -> None:
        super().__init__(file, data, lines, mistakes, path, is_present=is_present, common=common)
        self.defaults: dict[Path, Any] = {} if defaults is None else defaults
        """The defaults used in the whole file, by their paths: values as they could stand in the file."""
        self.shorts: dict[Path, Any] = {} if shorts is None else shorts
        """The tables for which something shorter stands in the file, by their paths."""
        self._optional: set[str] = set()
        """The keys that may be missing although they have no default."""

    def __contains__(self, key: str) -> bool:
        return key in self.data

    def is_empty(self, key: str) -> bool:
        """Whether the key's value is an empty list or table."""
        return self.data.get(key) in ([], {})

    def names(self) -> list[str]:
        """Return the keys in the table, in the file's order."""
        return list(self.data)

    def written(self, key: str) -> Any:
        """What is written for a key, or the default that was used in its place; None if there is neither."""
        return self.data.get(key, self.defaults.get((*self.path, key)))

    # -- single keys --------------------------------------------------------------------------

    def _take(self, key: str, kind: type[T], example: str, default: T | None = None) -> T | None:
        self._expected[key] = f"{key} = {example}"
        value = self.data.get(key, _ABSENT)
        if value is _ABSENT:
            if default is not None:
                self.defaults[(*self.path, key)] = default
            return default
        if type(value) is not kind:
            is_kind = _KINDS.get(type(value), "a date or time")
            self.wrong(key, f"{key} is {is_kind}, but must be {_KINDS[kind]}", f"{key} = {example}")
            return None
        return value

    def read(
        self, key: str, example: str, fallback: T, parse: Callable[[str], T], *, default: str | None = None
    ) -> T:
        """Return a text parsed by `parse`, which may raise UnitMistake or ValueMistake."""
        bare, unit = self.data.get(key), _UNIT.fullmatch(example)
        if type(bare) in (int, float) and unit:
            example = f"{bare} {unit[1]}"  # the author's own number is a better proposal than the example's
        text = self._take(key, str, f'"{example}"', default)
        if text is None:
            return fallback
        try:
            return parse(text)
        except (UnitMistake, ValueMistake) as mistake:
            self.wrong(key, f"{key}: {mistake.what}", with_key(key, mistake.write_instead))
            return fallback

    def text(self, key: str, example: str, *, default: str | None = None) -> str:
        """Return a text; "" if it is empty, missing or has a character that can't be shown."""
        text = self._take(key, str, f'"{example}"', default) or ""
        if isinstance(self.data.get(key), str):
            return text if self._is_valid_text((key,), text, f'{key} = "{example}"') else ""
        return text

    def _is_valid_text(self, below: Subpath, text: str, write_instead: str) -> bool:
        """Whether a text is printable and not empty; adds a mistake if not."""
        if not text.strip():
            what = f"{below[0]} is empty" if len(below) == 1 else f"a text in {below[0]} is empty"
        elif not text.isprintable():
            what = f"{below[0]} contains a line break or a character that can't be shown"
        else:
            return True
        self.wrong(below, what, write_instead)
        return False

    def text_if_written(self, key: str, example: str) -> str | None:
        """Return a text; None if the key is missing, which nothing takes the place of."""
        self._optional.add(key)
        if key in self.data:
            return self.text(key, example)
        self._expected[key] = f'{key} = "{example}"'
        return None

    def boolean(self, key: str, *, default: bool | None = None) -> bool:
        """Return true or false."""
        return self._take(key, bool, "true", default) or False

    def integer(self, key: str, low: int, high: int, example: int, *, default: int | None = None) -> int:
        """Return a whole number from `low` to `high`."""
        value = self._take(key, int, str(example), default)
        if value is None:
            return example
        if not low <= value <= high:
            self.wrong(key, f"{key} is {value}, but must be from {low} to {high}", f"{key} = {example}")
            return example
        return value

    def number(self, key: str, example: str) -> float:
        """Return a number, whole or not."""
        value = self.data.get(key)
        kind: type[int] | type[float] = float if type(value) is float else int
        taken = self._take(key, kind, example)
        if taken is None or not -1e15 < taken < 1e15:
            if taken is not None:
                self.wrong(key, f"{key} is not a number that a machine would show", f"{key} = {example}")
            return float(example)
        return float(taken)

    def choice(self, key: str, options: tuple[T, ...], *, default: T | None = None) -> T:
        """Return one of a few texts or numbers."""
        kind = type(options[0])
        shown = [f'"{option}"' if kind is str else str(option) for option in options]
        value = self._take(key, kind, shown[0], default)
        if value is None or value in options:
            return options[0] if value is None else value
        near = intended_name(str(value), map(str, options))
        write = (
            f"{key} = {shown[[str(o) for o in options].index(near)]}" if near else f"{key} = {any_of(shown)}"
        )
        quoted = f'"{value}"' if kind is str else str(value)
        self.wrong(key, f"{key} can't be {quoted}", write)
        return options[0]

    def duration(
        self, key: str, example: str, *, may_be_zero: bool = False, default: str | None = None
    ) -> int:
        """Return a time in microseconds."""
        parse = partial(duration_us, may_be_zero=may_be_zero)
        return self.read(key, example, 1, parse, default=default)

    def speed(self, key: str, example: str) -> int:
        """Return a speed in baud."""
        return self.read(key, example, 1, speed_baud)

    def key_press(self, key: str, example: str, *, default: str | None = None) -> bytes:
        """Return what a key of the keyboard sends."""
        return self.read(key, example, b"\r", key_pressed, default=default)

    def pattern(self, key: str, example: str, *, places_alone: bool = False) -> Pattern:
        """Return a pattern, which with `places_alone` may consist of places only."""
        return self.read(key, example, HARMLESS, lambda text: pattern_of(text, places_alone))

    def name(self, key: str, example: str, *, default: str | None = None) -> str:
        """Return a name; "" if it can't be used."""
        name = self._take(key, str, f'"{example}"', default)
        return name if name is not None and (key not in self.data or self.is_valid_name(key, name)) else ""

    def is_valid_name(self, key: str | Subpath, name: str) -> bool:
        """Whether the name consists of small letters, digits and hyphens; adds a mistake if not."""
        if NAME.fullmatch(name):
            return True
        better = "-".join(part for part in "".join(c if c.isalnum() else " " for c in name.lower()).split())
        write = f'"{better}"' if NAME.fullmatch(better) else 'a name such as "small-ready"'
        what = f'"{name}" can\'t be a name: names consist of small letters, digits and hyphens'
        self.wrong(key, what, write)
        return False

    def texts(
        self,
        key: str,
        example: str,
        *,
        at_least_one: bool = False,
        one_alone: bool = False,
        default: list[str] | None = None,
    ) -> LocatedTexts:
        """Return the texts of a list, with their paths.

        With `at_least_one` an empty list is a mistake; with `one_alone` a single text needs no list.
        """
        alone = self.data.get(key)
        if one_alone and isinstance(alone, str):
            self._expected[key] = f"{key} = {example}"
            self._is_valid_text((key,), alone, f"{key} = {example}")
            return [(alone, (key,))]
        items = self._take(key, list, example, default)
        if at_least_one and self.is_empty(key):
            self.wrong(key, f"{key} is empty", f"{key} = {example}")
        good: LocatedTexts = []
        for place, item in enumerate(items or []):
            if isinstance(item, str):
                if key in self.data:
                    self._is_valid_text((key, place), item, f"{key} = {example}")
                good.append((item, (key, place)))
            else:
                self.wrong((key, place), f"{key} contains something that is not a text", f"{key} = {example}")
        return good

    def look_up(self, below: Subpath, name: str, known: Collection[str], kind: str) -> bool:
        """Whether the name is known, or empty, which was reported before; adds a mistake if not."""
        if not name.strip() or name in known:
            return True
        near = intended_name(name, known)
        hint = f'; did you mean "{near}"?' if near else ""
        write = f'"{near}"' if near else one_of(known, kind)
        if len(below) == 1:
            write = with_key(f"{below[0]}", write)
        self.wrong(below, f'no {kind} is named "{name}"{hint}', write)
        return False

    # -- tables inside ------------------------------------------------------------------------

    def table(self, key: str, *, optional: bool = False) -> Table:
        """Return the table of that name, or else one that gives harmless values and reports nothing.

        If it is `optional`, the keys of a missing table have their defaults.
        """
        is_first_time = key not in self._expected
        path = (*self.path, key)
        self._expected[key] = f"[{'.'.join(map(str, path))}]"
        data = self.data.get(key)
        if isinstance(data, dict):
            return self._inner(data, path)
        if data is None and optional:
            self.defaults.setdefault(path, {})
        if data is not None and is_first_time:
            is_kind = _KINDS.get(type(data), "a date or time")
            self.wrong(key, f"{key} is {is_kind}, but must be a table", self._expected[key])
        return Table(self.file, {}, self._lines, [], path, is_present=False, defaults=self.defaults)

    def _inner(self, data: Mapping[str, Any], path: Path, common: Mapping[str, Any] = {}) -> Table:
        usual = {key: value for key, value in common.items() if key not in data}
        self.defaults.update({(*path, key): value for key, value in usual.items()})
        inner = Table(
            self.file,
            {**data, **usual},
            self._lines,
            self._mistakes,
            path,
            defaults=self.defaults,
            shorts=self.shorts,
            common=usual,
        )
        inner._is_present = self._is_present
        return inner

    def tables(self, key: str, *, optional: bool = False) -> Iterator[Table]:
        """Yield the tables whose headers are [[key]]; none for an empty list."""
        self._expected[key] = f"[[{key}]]"
        data = self.data.get(key)
        if data is None and optional:
            self.defaults[(*self.path, key)] = []
        if data is not None and (
            not isinstance(data, list) or any(not isinstance(item, dict) for item in data)
        ):
            self.wrong(key, f"{key} must consist of tables, each with a header [[{key}]]", f"[[{key}]]")
            return
        for place, item in enumerate(data or []):
            yield self._inner(item, (*self.path, key, place))

    def named_tables(
        self, key: str, *, optional: bool = False, short: Short | str = "", common: Collection[str] = ()
    ) -> Iterator[tuple[str, Table]]:
        """Yield the tables [key.NAME] with their names. An invalid name is a mistake, and is left out.

        short: the one key of a table for which a text in its place is short; or what gives that table for
            what stands in its place, or None.
        common: keys that can stand in [key] itself, for each table that doesn't have them.
        """
        group = self.table(key, optional=optional)
        shared = {one: group.data[one] for one in common if _is_plain(group.data.get(one))}
        group._optional.update(common)
        group._expected.update((one, f"{one} = ...") for one in common)
        # A misspelt key counts as the right one, so that it is reported once, as a misspelling.
        near = {name: intended_name(name, common) for name in group.names() if _is_plain(group.data[name])}
        shared |= {meant: group.data[name] for name, meant in near.items() if meant and meant not in shared}
        for name in group.names():
            value = group.data[name]
            if meant := near.get(name):
                group._expected[meant] = f"{meant} = {json.dumps(value, ensure_ascii=False)}"
                continue
            whole = {short: value} if isinstance(short, str) and isinstance(value, str) else None
            whole = short(value) if callable(short) else whole if short else None
            path = (*group.path, name)
            odd = [place for place, item in enumerate(_items(value)) if not isinstance(item, str)]
            if callable(short) and odd:
                write = f"[{'.'.join(map(str, path))}]"
                group.wrong((name, odd[0]), f"{name} contains something that is not a text", write)
                group.allow(name)
                continue
            if whole is not None:
                group.shorts[path] = whole
                group.allow(name)
            below = group._inner(whole, path, shared) if whole is not None else group.table(name)
            if whole is None and shared and below.is_present:
                below = group._inner(below.data, path, shared)
            if group.is_valid_name(name, name) and below.is_present:
                yield name, below
        group.close()

    # -- unknown and missing keys -------------------------------------------------------------

    def allow(self, *keys: str) -> None:
        """Accept these keys, whether they are present or not."""
        self._expected.update((key, "") for key in keys if key not in self._expected and key in self.data)

    def close(self) -> None:
        """Report the unknown keys and the missing ones."""
        missing = {
            key: write
            for key, write in self._expected.items()
            if not (key in self.data or key in self._optional or (*self.path, key) in self.defaults)
        }
        for key in self.data:
            if key in self._expected:
                continue
            near = intended_name(key, missing) or intended_name(key, self._expected)
            # A misspelt key is one mistake: the right one is not reported as missing too.
            write = missing.pop(near, "") or self._expected.get(near, "")
            place = f"in {self.title}" if self.path else "at the top of this file"
            if write:
                write = with_own_value(near, self.data[key], write)
                self.wrong(key, f'there is no key "{key}" {place}; did you mean "{near}"?', write)
            else:
                self.wrong(key, f'there is no key "{key}" {place}', f"one of: {listed(self._expected)}")
        for key, write in missing.items():
            self.wrong((), f"{self.title} lacks {key}", write)


def _is_plain(value: Any) -> bool:
    """Whether there is a value that is no table."""
    return value is not None and not isinstance(value, Mapping)


def _items(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []
