"""The secrets that scripts type: from the environment, or from a file that only its owner can read.

A script contains only the name of a secret (`secret = "keeper"`). The secret itself is looked for in the
environment, as EXHIBIT_SECRET_KEEPER, and then in a TOML file with lines such as `keeper = "..."`. No
message, `repr` or exception of this module contains a secret.
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
from exhibit.decisions.withholding.secret_search import SHORTEST
from exhibit.facts.errors import SetUpFault

IN_ENVIRONMENT: Final = "EXHIBIT_SECRET_"
LONGEST_CHARACTERS: Final = 200
LONGEST_FILE_BYTES: Final = 100_000
_WHY: Final = "Scripts that sign on need all their secrets, so nothing is typed if one is missing."
_SAFE: Final = "A file of secrets is used only if nobody but its owner can read it."


class Secrets(Mapping[str, str]):
    """Secrets by name. Its `repr` shows only the names, and it can't be pickled.

    `others` are secrets that no script types now. They too are withheld from what is received.
    """

    def __init__(self, words: Mapping[str, str], others: Mapping[str, str] | None = None) -> None:
        self.__words = dict(words)
        self.__others = dict(others or {})

    def all_words(self) -> tuple[str, ...]:
        """Every secret that is known, whether or not a script types it."""
        return (*self.__words.values(), *self.__others.values())

    def too_short(self) -> list[str]:
        """The names of the secrets that are too short to be found in ordinary text, sorted."""
        known = {**self.__others, **self.__words}
        return sorted(name for name, word in known.items() if len(word) < SHORTEST)

    def __getitem__(self, name: str) -> str:
        return self.__words[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.__words)

    def __len__(self) -> int:
        return len(self.__words)

    def __repr__(self) -> str:
        return f"Secrets(names: {', '.join(sorted(self.__words)) or 'none'})"

    def __reduce__(self) -> NoReturn:
        raise TypeError("secrets can't be pickled")


def secrets_wanted(scripts: Iterable[Script]) -> list[str]:
    """Return the names of the secrets that these scripts type, sorted."""
    steps = (step for script in scripts for step in (*script.steps, *script.tidy_up))
    return sorted({step.secret for step in steps if isinstance(step, TypeSecret)})


def secrets_to_tidy_up(folder: Folder) -> list[str]:
    """Return the names of the secrets that tidying up after an earlier run, and the way home, can need."""
    way = folder.way_home
    if way is None:
        return []
    ways = [script for name in way.ways if (script := way.from_place(name))]
    tidy_ups = [msgspec.structs.replace(script, steps=()) for script in folder.scripts.values()]
    return secrets_wanted([*tidy_ups, *ways])


def variable_of(name: str) -> str:
    """Return the environment variable of a secret: EXHIBIT_SECRET_NIGHT_KEEPER for "night-keeper"."""
    return IN_ENVIRONMENT + name.upper().replace("-", "_")


def read_secrets(
    names: Iterable[str],
    environment: MutableMapping[str, str],
    file: Path | None = None,
    if_there: Iterable[str] = (),
) -> Secrets:
    """Return the secrets of these names; the environment takes precedence over the file.

    Those named in `if_there` are included if they are set. All others that are given anywhere are known too,
    but only to be withheld.

    Removes every variable EXHIBIT_SECRET_... from `environment`, so that no program started later
    inherits it. Raises SetUpFault for missing secrets, naming all of them at once, for a secret that
    can't be typed, and for a file that others could read.
    """
    in_environment = {
        key: environment.pop(key) for key in sorted(environment) if key.upper().startswith(IN_ENVIRONMENT)
    }
    in_file = _read_file(file) if file is not None else {}
    found: dict[str, str] = {}
    missing = []
    needed = list(names)
    for name in dict.fromkeys([*needed, *if_there]):
        if variable_of(name) in in_environment:
            word = in_environment[variable_of(name)]
            found[name] = _typable(name, word, f"the variable {variable_of(name)}")
        elif name in in_file:
            found[name] = _typable(name, in_file[name], str(file))
        elif name in needed:
            missing.append(name)
    if missing:
        which = " and ".join(f'"{name}"' for name in missing)
        variables = " and ".join(variable_of(name) for name in missing)
        lines = " and, on a line of its own, ".join(f'{name} = "..."' for name in missing)
        raise SetUpFault(
            f"The secret {which} is not set." if len(missing) == 1 else f"The secrets {which} are not set.",
            _WHY,
            f"Set {variables} in the environment, or write {lines} in a file that only you can read "
            "(chmod 600 FILE) and give that file with --secrets.",
        )
    others = {_name_of(key): word for key, word in in_environment.items()}
    others = {name: word for name, word in {**in_file, **others}.items() if name not in found}
    return Secrets(found, {name: word for name, word in others.items() if isinstance(word, str) and word})


def about_short_secrets(secrets: Secrets) -> str:
    """What a person must know about secrets that are too short to be found; empty if there are none."""
    names = " and ".join(f'"{name}"' for name in secrets.too_short())
    if not names:
        return ""
    return (
        f"Shorter than {SHORTEST} characters: the secret {names}. It can only be withheld on the line of the "
        "prompt that asks for it: anywhere else it would be found by chance in ordinary text. "
        "Choose a longer one if the machine allows it."
    )


def _name_of(variable: str) -> str:
    return variable[len(IN_ENVIRONMENT) :].lower().replace("_", "-")


def demo_secrets(words: Mapping[str, str]) -> Secrets:
    """Return the simulated machine's secrets, which its handbook prints; `words`: each desk's word."""
    return Secrets({desk.lower(): word for desk, word in words.items()})


def _typable(name: str, word: Any, where: str) -> str:
    """Return the word. Raises SetUpFault if it can't be typed."""
    if isinstance(word, str) and word and len(word) <= LONGEST_CHARACTERS:
        if all(" " <= character <= "~" for character in word):
            return word
        what = f'The secret "{name}" in {where} contains a character that a terminal can\'t type.'
    else:
        what = f'The secret "{name}" in {where} is empty, too long or not a text.'
    do = "Write it with letters, digits and punctuation only, and without a line break at the end."
    raise SetUpFault(what, _WHY, do)


def _read_file(file: Path) -> dict[str, Any]:
    try:
        # Opening a named pipe without O_NONBLOCK would wait until somebody writes to it.
        descriptor = os.open(file, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
    except OSError as fault:
        do = "Check its name and its owner, or set the secrets in the environment."
        raise SetUpFault(f"The file of secrets {file} can't be read: {fault.strerror}.", _WHY, do) from None
    try:
        _check_owner(file, os.fstat(descriptor))
        content = os.read(descriptor, LONGEST_FILE_BYTES)
    finally:
        os.close(descriptor)
    with suppress(ValueError, RecursionError):
        return tomllib.loads(content.decode("utf-8"))
    # The exception and its position are neither reported nor chained, because they could quote a secret.
    what = f"The file of secrets {file} is not TOML."
    raise SetUpFault(what, _WHY, 'Write one line for each secret, such as keeper = "the word".')


def _check_owner(file: Path, state: os.stat_result) -> None:
    if not stat.S_ISREG(state.st_mode):
        raise SetUpFault(f"{file} is not an ordinary file.", _SAFE, "Give a file of your own.")
    if state.st_uid != os.geteuid():
        do = f"Make it yours (chown) or copy its content to a file of your own, then run chmod 600 {file}."
        raise SetUpFault(f"The file of secrets {file} belongs to somebody else.", _SAFE, do)
    if state.st_mode & 0o177:
        mode = f"{state.st_mode & 0o777:04o}"
        what = f"Others can use the file of secrets {file}: its mode is {mode}, not 0600."
        do = f"Run chmod 600 {file}. If others could have read it, change the secrets too."
        raise SetUpFault(what, _SAFE, do)
