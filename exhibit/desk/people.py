"""Who may use the docent's page: one file, which only its owner can read, and which alone holds names.

A recording has only "docent 2" or "engineer 1". So a name is erased by taking it out of this file; its number
is never given to anybody else.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import hmac
import os
import secrets
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, Literal

import msgspec

from exhibit.facts.errors import SetUpFault

Role = Literal["docent", "engineer"]
FORMAT: Final = 1
CODE_DIGITS: Final = 8
CODE_LASTS_S: Final = 600
MOST_WRONG_CODES: Final = 20
"""After so many wrong codes, from wherever they come, the right one is withdrawn too."""
MOST_DEVICES: Final = 50


class Docent(msgspec.Struct, kw_only=True):
    """One who taps their initials."""

    number: int
    initials: str


class Engineer(msgspec.Struct, kw_only=True):
    """One who signs in with a password."""

    number: int
    name: str
    password: str
    """See passwords.hashed."""


class Device(msgspec.Struct, kw_only=True):
    """A tablet, or another browser, that somebody has paired."""

    number: int
    digest: str
    """SHA-256 of its token, in hexadecimal."""
    paired: str
    """The day on which that was."""


class Code(msgspec.Struct, kw_only=True):
    """The code with which the next device is paired."""

    digest: str
    until_s: float
    """Until when, in seconds since 1970."""
    wrong: int = 0
    """How many wrong codes were tried since."""


class People(msgspec.Struct, kw_only=True):
    """All that the file holds."""

    format: int = FORMAT
    key: str = msgspec.field(default_factory=lambda: secrets.token_hex(32))
    """From which the pages' tokens are made."""
    docents: list[Docent] = []
    engineers: list[Engineer] = []
    devices: list[Device] = []
    code: Code | None = None
    last: dict[str, int] = {}
    """The last number that was given to a docent, engineer and tablet."""

    def next_number(self, kind: str) -> int:
        """A number that nobody of this kind has had."""
        self.last[kind] = number = self.last.get(kind, 0) + 1
        return number

    def device(self, token: str) -> Device | None:
        """The device that has this token."""
        digest = digest_of(token)
        return next((one for one in self.devices if hmac.compare_digest(one.digest, digest)), None)

    def person(self, role: Role, number: int) -> Docent | Engineer | None:
        """The person with this role and number."""
        people: list[Docent] | list[Engineer] = self.docents if role == "docent" else self.engineers
        return next((one for one in people if one.number == number), None)

    def engineer(self, name: str) -> Engineer | None:
        """The engineer of this name."""
        return next((one for one in self.engineers if one.name.casefold() == name.casefold()), None)

    def docent(self, initials: str) -> Docent | None:
        """The docent with these initials."""
        return next((one for one in self.docents if one.initials.casefold() == initials.casefold()), None)


class PeopleFile:
    """The file. It is written anew as a whole, so a reader sees it before or after a change."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._state: tuple[int, int, int] = (0, 0, 0)
        self._people = People()

    def read(self) -> People:
        """What it holds now; it is only read again once it was changed. Raises SetUpFault."""
        try:
            with self.path.open("rb") as file:
                status = os.fstat(file.fileno())
                state = (status.st_ino, status.st_mtime_ns, status.st_size)
                if state == self._state:
                    return self._people
                if status.st_mode & 0o077:
                    raise self._fault("can be read or written by other users of this computer", "chmod 600")
                people = msgspec.json.decode(file.read(), type=People)
        except OSError as error:
            raise self._fault(f"can't be read: {error.strerror}", "ls -l") from error
        except msgspec.MsgspecError as error:
            raise self._fault("can't be understood", "cat") from error
        if people.format > FORMAT:
            raise self._fault("was written by a newer version of this program", "ls -l")
        self._people, self._state = people, state
        return people

    def current(self) -> People:
        """The same, or what was read last: even if the file is spoilt meanwhile, a paired tablet can stop."""
        try:
            return self.read()
        except SetUpFault:
            if self._state == (0, 0, 0):
                raise
            return self._people

    @contextmanager
    def change(self) -> Iterator[People]:
        """What it holds, to be changed, and then written unless that raises. Begins one if there is none."""
        with self._lock():
            people = self.read() if self.path.exists() else People()
            # A copy, so that what fails halfway isn't believed.
            people = msgspec.json.decode(msgspec.json.encode(people), type=People)
            yield people
            self._write(people)

    def _lock(self) -> contextlib.AbstractContextManager[int]:
        return _locked(self.path.with_name(f".{self.path.name}.lock"))

    def _write(self, people: People) -> None:
        written = self.path.with_name(f".{self.path.name}.new")
        written.unlink(missing_ok=True)
        try:
            with open(os.open(written, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
                if self.path.exists():  # whoever administers the service mustn't take it away from it
                    owner = self.path.stat()
                    os.fchown(file.fileno(), owner.st_uid, owner.st_gid)
                file.write(msgspec.json.format(msgspec.json.encode(people)) + b"\n")
                file.flush()
                os.fsync(file.fileno())
            written.rename(self.path)
        except OSError as error:
            raise self._fault(f"can't be written: {error.strerror}", "ls -ld") from error

    def _fault(self, what: str, command: str) -> SetUpFault:
        return SetUpFault(
            f"The list of people, {self.path}, {what}.",
            "It says who may use the docent's page, so nobody can sign in until that is put right.",
            f"Look at it with `{command} {self.path}`, or name another file with --people.",
        )


@contextmanager
def _locked(path: Path) -> Iterator[int]:
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    except OSError as error:
        raise SetUpFault(
            f"Nothing can be written in the folder {path.parent}: {error.strerror}.",
            "The list of who may use the docent's page belongs there.",
            "Give this user the right to write there, or name another file with --people.",
        ) from error
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield descriptor
    finally:
        os.close(descriptor)


def digest_of(token: str) -> str:
    """What is kept of a random token."""
    return hashlib.sha256(token.encode()).hexdigest()


def new_code(people: People, now_s: float) -> str:
    """A new code for pairing, in place of an earlier one."""
    code = f"{secrets.randbelow(10**CODE_DIGITS):0{CODE_DIGITS}}"
    people.code = Code(digest=_code_digest(people, code), until_s=now_s + CODE_LASTS_S)
    return code


def pair(file: PeopleFile, code: str, token: str, now_s: Callable[[], float] = time.time) -> str:
    """Pair the device that has this token, if that is the code. Returns why not, "" if it is paired."""
    with file.change() as people:
        known = people.code
        if known is None or not 0 < known.until_s - now_s() <= CODE_LASTS_S:
            people.code = None
            return "no code"
        if not hmac.compare_digest(known.digest, _code_digest(people, code)):
            known.wrong += 1
            if known.wrong >= MOST_WRONG_CODES:
                people.code = None
            return "wrong code"
        people.code = None
        if len(people.devices) >= MOST_DEVICES:
            return "too many"
        paired = time.strftime("%Y-%m-%d", time.localtime(now_s()))
        number = people.next_number("tablet")
        people.devices.append(Device(number=number, digest=digest_of(token), paired=paired))
    return ""


def _code_digest(people: People, code: str) -> str:
    return hmac.new(bytes.fromhex(people.key), b"code:" + code.encode(), "sha256").hexdigest()
