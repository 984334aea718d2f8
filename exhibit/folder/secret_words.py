"""The secrets that scripts type: from the environment, or from a file that only its owner can read.

A secret is named in a script (`secret = "keeper"`) and never stands there. It is looked for in the
environment as EXHIBIT_SECRET_KEEPER, then in a TOML file of `keeper = "..."` lines. No message,
representation or fault of this module holds one.
"""

from __future__ import annotations

import os
import stat
import tomllib
from collections.abc import Iterable, Iterator, Mapping, MutableMapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Final, NoReturn

import msgspec

from exhibit.decisions.machine.script import Folder, Script, TypeSecret
from exhibit.facts.errors import SetUpFault

IN_ENVIRONMENT: Final = "EXHIBIT_SECRET_"
LONGEST_CHARACTERS: Final = 200
LONGEST_FILE_BYTES: Final = 100_000
_WHY: Final = "Scripts that sign on need all their secrets; where one lacks, nothing is typed."
_SAFE: Final = "A file of secrets is only used when nobody but its owner can read it."


class Secrets(Mapping[str, str]):
    """Secrets by name. However it is shown, only the names can be seen."""

    def __init__(self, words: Mapping[str, str]) -> None:
        self.__words = dict(words)

    def __getitem__(self, name: str) -> str:
        return self.__words[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.__words)

    def __len__(self) -> int:
        return len(self.__words)

    def __repr__(self) -> str:
        return f"Secrets(names: {', '.join(sorted(self.__words)) or 'none'})"

    def __reduce__(self) -> NoReturn:
        raise TypeError("secrets are not written down")


def secrets_wanted(scripts: Iterable[Script]) -> list[str]:
    """The names of the secrets that these scripts type, in order."""
    steps = (step for script in scripts for step in (*script.steps, *script.tidy_up))
    return sorted({step.secret for step in steps if isinstance(step, TypeSecret)})


def secrets_to_tidy_up(folder: Folder) -> list[str]:
    """The names of the secrets for putting away what an earlier run left open, and for the way home."""
    way = folder.way_home
    if way is None:
        return []
    ways = [script for name in way.ways if (script := way.from_place(name))]
    tidy_ups = [msgspec.structs.replace(script, steps=()) for script in folder.scripts.values()]
    return secrets_wanted([*tidy_ups, *ways])


def variable_of(name: str) -> str:
    """The environment variable of a secret: "night-keeper" is EXHIBIT_SECRET_NIGHT_KEEPER."""
    return IN_ENVIRONMENT + name.upper().replace("-", "_")


def read_secrets(
    names: Iterable[str],
    environment: MutableMapping[str, str],
    file: Path | None = None,
    if_there: Iterable[str] = (),
) -> Secrets:
    """Give the secrets of these names; the environment goes before the file.

    Those named in `if_there` are given too, where they are set.

    All variables EXHIBIT_SECRET_... are taken out of `environment`, so that no program that is
    started later inherits them. Raises SetUpFault for secrets that are lacking, all of them at
    once, for one that can't be typed, and for a file that others could read.
    """
    given = {
        key: environment.pop(key) for key in sorted(environment) if key.upper().startswith(IN_ENVIRONMENT)
    }
    in_file = _read_file(file) if file is not None else {}
    found: dict[str, str] = {}
    lacking = []
    needed = list(names)
    for name in dict.fromkeys([*needed, *if_there]):
        if variable_of(name) in given:
            found[name] = _fit(name, given[variable_of(name)], f"the variable {variable_of(name)}")
        elif name in in_file:
            found[name] = _fit(name, in_file[name], str(file))
        elif name in needed:
            lacking.append(name)
    if lacking:
        which = " and ".join(f'"{name}"' for name in lacking)
        variables = " and ".join(variable_of(name) for name in lacking)
        lines = " and, on a line of its own, ".join(f'{name} = "..."' for name in lacking)
        raise SetUpFault(
            f"The secret {which} is not set." if len(lacking) == 1 else f"The secrets {which} are not set.",
            _WHY,
            f"Set {variables} in the environment, or write {lines} in a file that only you can read "
            "(chmod 600 FILE) and name that file after --secrets.",
        )
    return Secrets(found)


def demo_secrets(words: Mapping[str, str]) -> Secrets:
    """The simulated machine's secrets; `words`: each desk's word. They are printed in its handbook."""
    return Secrets({desk.lower(): word for desk, word in words.items()})


def _fit(name: str, word: Any, where: str) -> str:
    if isinstance(word, str) and word and len(word) <= LONGEST_CHARACTERS:
        if all(" " <= character <= "~" for character in word):
            return word
        what = f'The secret "{name}" in {where} has a character in it that a terminal can\'t type.'
    else:
        what = f'The secret "{name}" in {where} is empty, too long, or no text.'
    raise SetUpFault(what, _WHY, "Write it again: letters, figures and signs, without a new line at its end.")


def _read_file(file: Path) -> dict[str, Any]:
    try:
        # Not blocking: a named pipe would otherwise wait for somebody to write to it.
        descriptor = os.open(file, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
    except OSError as fault:
        do = "Check its name and whose it is, or set the secrets in the environment."
        raise SetUpFault(f"The file of secrets {file} can't be read: {fault.strerror}.", _WHY, do) from None
    try:
        _check_owner(file, os.fstat(descriptor))
        content = os.read(descriptor, LONGEST_FILE_BYTES)
    finally:
        os.close(descriptor)
    with suppress(ValueError, RecursionError):
        return tomllib.loads(content.decode("utf-8"))
    # Neither the fault nor where it stands is told or chained: it could quote a secret.
    what = f"The file of secrets {file} is not TOML."
    raise SetUpFault(what, _WHY, 'Write one line for each secret, such as keeper = "the word".')


def _check_owner(file: Path, state: os.stat_result) -> None:
    if not stat.S_ISREG(state.st_mode):
        raise SetUpFault(f"{file} is no ordinary file.", _SAFE, "Name a file of your own.")
    if state.st_uid != os.geteuid():
        do = f"Make it yours (chown) or copy what is in it to a file of your own, then chmod 600 {file}."
        raise SetUpFault(f"The file of secrets {file} belongs to somebody else.", _SAFE, do)
    if state.st_mode & 0o177:
        mode = f"{state.st_mode & 0o777:04o}"
        what = f"Others may use the file of secrets {file}: its mode is {mode}, not 0600."
        do = f"Run chmod 600 {file}; if others could have read it, change the secrets too."
        raise SetUpFault(what, _SAFE, do)
