"""The computer that is looked at: its files beneath a root, its users, and what its programs answer."""

from __future__ import annotations

import os
import stat
import subprocess
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

import msgspec

BRIDGE_USER: Final = "exhibit-bridge"
"""The user of service/exhibit-bridge.service."""
ANSWERS_WITHIN_S: Final = 10.0


class Finding(msgspec.Struct, frozen=True):
    """What was found: the key of its words in words.py, and what belongs in their places."""

    key: str
    places: dict[str, object] = {}


class User(msgspec.Struct, frozen=True):
    """Somebody who is to use a file."""

    name: str
    uid: int
    gids: frozenset[int]

    def may(self, status: os.stat_result, *, write: bool) -> bool:
        """Whether this user can read such a file, and write it too if `write`."""
        if self.uid == 0:
            return True
        shift = 6 if status.st_uid == self.uid else 3 if status.st_gid in self.gids else 0
        wanted = stat.S_IROTH | (stat.S_IWOTH if write else 0)
        return (status.st_mode >> shift) & wanted == wanted


def answer_of(command: Sequence[str]) -> str:
    """What this command prints; empty if it can't be run or fails."""
    with suppress(OSError, subprocess.TimeoutExpired):
        done = subprocess.run(
            command, capture_output=True, text=True, errors="replace", timeout=ANSWERS_WITHIN_S, check=False
        )
        return done.stdout if done.returncode == 0 else ""
    return ""


class Computer:
    """Where everything is looked up. Tests give a root of their own, and answers of their own."""

    def __init__(
        self, root: Path = Path("/"), ask: Callable[[Sequence[str]], str] = answer_of, uid: int | None = None
    ) -> None:
        self.root = root
        self.ask = ask
        self._uid = os.geteuid() if uid is None else uid

    def at(self, path: str | Path) -> Path:
        """This path beneath the root."""
        return self.root / str(path).lstrip("/")

    def read(self, path: str | Path) -> str:
        """What a file says, without space around it; empty if it can't be read."""
        try:
            return self.at(path).read_text("utf-8", "replace").strip()
        except OSError:
            return ""

    @property
    def has_systemd(self) -> bool:
        """Whether systemd runs here (sd_booted(3))."""
        return self.at("/run/systemd/system").is_dir()

    @property
    def is_root(self) -> bool:
        """Whether whoever looks can see everything."""
        return self._uid == 0

    def bridge_user(self) -> User:
        """The bridge's user, or who looks, where there is no such user."""
        users = [line.split(":") for line in self.read("/etc/passwd").splitlines()]
        known = {fields[0]: fields for fields in users if len(fields) > 3 and fields[2].isdecimal()}
        named = [name for name, fields in known.items() if int(fields[2]) == self._uid]
        name = BRIDGE_USER if BRIDGE_USER in known else (named or [f"{self._uid}"])[0]
        gids = {int(known[name][3])} if name in known else set()
        for fields in (line.split(":") for line in self.read("/etc/group").splitlines()):
            if len(fields) > 3 and fields[2].isdecimal() and name in fields[3].split(","):
                gids.add(int(fields[2]))
        uid = int(known[name][2]) if name in known else self._uid
        return User(name, uid, frozenset(gids))

    def group_named(self, gid: int) -> str:
        """The name of this group, or else its number."""
        for fields in (line.split(":") for line in self.read("/etc/group").splitlines()):
            if len(fields) > 2 and fields[2] == f"{gid}":
                return fields[0]
        return f"{gid}"
