"""Where Redis is, and the name and password for it, which are never on a command line: others see those."""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

import msgspec

from exhibit.facts.errors import SetUpFault

SCHEME: Final = "rediss"
PORT: Final = 6380
NAME_IN_ENVIRONMENT: Final = "EXHIBIT_RELAY_NAME"
PASSWORD_IN_ENVIRONMENT: Final = "EXHIBIT_RELAY_PASSWORD"
MOUNTED_SECRETS: Final = Path("/run/secrets")
"""Where container engines mount secrets. Who can read a file there, they decide."""
LONGEST_FILE_BYTES: Final = 1000
_NOT_SENT: Final = "So nothing is sent to Redis or read from there."


class Access(msgspec.Struct, frozen=True, kw_only=True):
    """A Redis server, and how to sign in there. Its `repr` shows no password."""

    host: str
    port: int
    name: str
    password: str
    ca: str | None
    """File with the certificates to trust, PEM; None for those that this computer trusts anyway."""

    @property
    def address(self) -> str:
        """As people write it."""
        return f"{SCHEME}://{f'[{self.host}]' if ':' in self.host else self.host}:{self.port}"

    def __repr__(self) -> str:
        return f"Access({self.address})"


def read_access(
    address: str, login: Path | None, ca: Path | None, environment: Mapping[str, str] = os.environ
) -> Access:
    """Put together what a person has given. Raises SetUpFault."""
    host, port = _place(address)
    name, password = _from_file(login) if login is not None else _from_environment(environment)
    if ca is not None and not ca.is_file():
        raise SetUpFault(
            f"There is no file {ca}.",
            "It should hold the certificate by which Redis is known, so no connection would be trusted.",
            "Give the file of your certificate authority (PEM) with --ca.",
        )
    return Access(host=host, port=port, name=name, password=password, ca=None if ca is None else f"{ca}")


def _place(address: str) -> tuple[str, int]:
    try:
        parts = urlsplit(address)
        host, port = parts.hostname, parts.port or PORT
        fits = parts.scheme == SCHEME and host and not parts.query and parts.path in ("", "/")
    except ValueError:
        fits, host, port = False, None, 0
        parts = urlsplit("")
    if "@" in address:
        raise SetUpFault(
            "The address of Redis contains a name or a password.",
            "Everybody who can list this computer's processes would see it. Choose another password now.",
            f"Put name and password into a file for --login, or into {NAME_IN_ENVIRONMENT} and "
            f"{PASSWORD_IN_ENVIRONMENT}.",
        )
    if not fits or not host:
        raise SetUpFault(
            f"{address} isn't an address of Redis with TLS.",
            "Without TLS, everybody on the way could read and change what visitors see. " + _NOT_SENT,
            f"Write it as {SCHEME}://HOST:PORT, for example {SCHEME}://redis.example.org:{PORT}.",
        )
    return host, port


def _from_environment(environment: Mapping[str, str]) -> tuple[str, str]:
    name, password = environment.get(NAME_IN_ENVIRONMENT, ""), environment.get(PASSWORD_IN_ENVIRONMENT, "")
    if not name or not password:
        raise SetUpFault(
            "The name and the password for Redis are missing.",
            "Redis admits nobody without them. " + _NOT_SENT,
            f"Give a file of two lines, name and password, with --login, or set {NAME_IN_ENVIRONMENT} and "
            f"{PASSWORD_IN_ENVIRONMENT}.",
        )
    return name, password


def _from_file(path: Path) -> tuple[str, str]:
    try:
        with path.open("rb") as file:
            found = os.fstat(file.fileno())
            content = file.read(LONGEST_FILE_BYTES + 1) if stat.S_ISREG(found.st_mode) else b""
    except OSError as error:
        raise SetUpFault(
            f"The file {path} can't be read: {error.strerror or error}.",
            "It should hold the name and the password for Redis. " + _NOT_SENT,
            "Give a file that you can read, of two lines: the name, then the password.",
        ) from error
    if found.st_mode & 0o077 and not path.resolve().is_relative_to(MOUNTED_SECRETS):
        raise SetUpFault(
            f"Others can read the file {path}.",
            "It holds the password for Redis, so it is used only if nobody but its owner can read it.",
            f"Run: chmod 600 {path}",
        )
    lines = content.decode(errors="replace").split("\n")
    if len(content) > LONGEST_FILE_BYTES or len(lines) < 2 or not (lines[0].strip() and lines[1].strip()):
        raise SetUpFault(
            f"The file {path} doesn't hold a name and a password.",
            "Redis admits nobody without them. " + _NOT_SENT,
            "Write two lines into it: the name, then the password.",
        )
    return lines[0].strip(), lines[1].strip()
