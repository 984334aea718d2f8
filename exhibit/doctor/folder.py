"""The machine's folder: whether it passes the check, and whether its scripts' secrets are there, unseen."""

from __future__ import annotations

import os
import stat
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from exhibit.decisions.machine.script import Folder
from exhibit.doctor.computer import Computer, Finding
from exhibit.facts.errors import ExhibitError
from exhibit.folder.report.findings import Checked
from exhibit.folder.secret_words import secrets_wanted, variable_of

SERVICE_FOLDER: Final = "/etc/exhibit/machine"
SERVICE_SECRETS: Final = "/etc/exhibit/secrets.toml"


class LookedAtFolder:
    """Look at this folder; `folder` is what it describes, or None if it isn't in order."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.folder: Folder | None = None
        places: dict[str, object] = {"folder": path}
        try:
            checked = Checked(path)
        except ExhibitError as fault:
            self.finding = Finding("folder unreadable", {**places, "why": fault.what})
            return
        count = len(checked.mistakes) + len(checked.beyond)
        self.folder = checked.folder
        self.finding = (
            Finding("folder wrong", {**places, "count": count}) if count else Finding("folder", places)
        )


def looks_at_secrets(
    computer: Computer, folder: Folder, environment: Mapping[str, str] = os.environ
) -> Iterator[Finding]:
    """Look for the secrets that the scripts type, in the environment and in the service's file."""
    wanted = secrets_wanted(folder.scripts.values())
    if not wanted:
        yield Finding("no secret wanted")
        return
    known = {name for name in wanted if variable_of(name) in environment}
    file = computer.at(SERVICE_SECRETS)
    if not file.exists():
        yield from _sum(wanted, known)
        return
    status = file.stat()
    user = computer.bridge_user()
    places: dict[str, object] = {"file": SERVICE_SECRETS, "user": user.name}
    if stat.S_IMODE(status.st_mode) & 0o177 or status.st_uid != user.uid:
        yield Finding("secrets open", places)
    try:
        known |= set(tomllib.loads(file.read_text("utf-8")))
    except PermissionError:
        yield Finding("secrets unseen", places)
        return
    except (OSError, ValueError, RecursionError):
        yield Finding("secrets unreadable", places)
        return
    yield from _sum(wanted, known)


def _sum(wanted: list[str], known: set[str]) -> Iterator[Finding]:
    missing = [name for name in wanted if name not in known]
    if missing:
        places: dict[str, object] = {
            "names": ", ".join(missing),
            "file": SERVICE_SECRETS,
            "example": missing[0],
        }
        yield Finding("secrets missing", places)
    else:
        yield Finding("secrets there", {"count": len(wanted)})
