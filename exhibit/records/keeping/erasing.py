"""Erases a person's name from the files beside the recordings, and shows that it is gone from each.

A recording holds numbers, and is never changed. If a name stands in one all the same, such as in what was
typed, that is said: it can't be erased there.
"""

from __future__ import annotations

import json
import os
import re
import unicodedata
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import BinaryIO, Final

import msgspec

from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.streams.compressed.names import is_recordings_name
from exhibit.streams.line_chain import Damaged
from exhibit.streams.recording import read
from exhibit.streams.recording_reader import open_recording

NOTES: Final = "notes"
INDEX: Final = "exhibit-index.sqlite"
"""What can be built again from the recordings, and is removed (and what SQLite keeps beside it)."""
LONGEST_NOTE_BYTES: Final = 1_000_000
_SHORT: Final = 4
"""Names of so many letters are initials: they count only as written, for they stand in many words."""
_BLOCK_BYTES: Final = 1024 * 1024
_MOST_FILES: Final = 200_000


class Found(msgspec.Struct, frozen=True):
    """A file in which a name stands, and what can be done about it."""

    path: Path
    times: int
    kind: str
    """`note`, `index`, `recording` or `other`."""


class Searched(msgspec.Struct):
    """What a search looked at, and found."""

    files: int = 0
    size_bytes: int = 0
    found: list[Found] = []
    unreadable: list[Path] = []


class Name:
    """A name, in each form in which it can stand in a file."""

    def __init__(self, names: Sequence[str]) -> None:
        """Raises SetUpFault for a name of fewer than two letters."""
        forms = set[str]()
        for name in names:
            plain = " ".join(name.split())
            if len(plain) < 2:
                raise SetUpFault(
                    f"{name!r} is too short to be looked for.",
                    "It stands in every file.",
                    "Give the whole name.",
                )
            for one in {unicodedata.normalize(form, plain) for form in ("NFC", "NFD")}:
                forms |= {one, json.dumps(one)[1:-1]}
        self._exact = self._compiled(form for form in forms if len(form) <= _SHORT)
        self._any_case = self._compiled(form for form in forms if len(form) > _SHORT)
        self._longest_bytes = 4 * max(map(len, forms)) + 8

    @staticmethod
    def _compiled(forms: Iterator[str]) -> re.Pattern[str] | None:
        choices = [re.escape(form).replace(r"\ ", r"\s+") for form in sorted(forms, key=len, reverse=True)]
        return re.compile(rf"(?<!\w)(?:{'|'.join(choices)})(?!\w)") if choices else None

    def _patterns(self) -> Iterator[re.Pattern[str]]:
        if self._exact is not None:
            yield self._exact
        if self._any_case is not None:
            yield re.compile(self._any_case.pattern, re.IGNORECASE)

    def times_in(self, text: str) -> int:
        """How often it stands in a text."""
        return sum(len(pattern.findall(text)) for pattern in self._patterns())

    def without(self, text: str, instead: str) -> str:
        """The text with something else in its place."""
        for pattern in self._patterns():
            text = pattern.sub(lambda _: instead, text)
        return text

    def times_in_file(self, file: BinaryIO) -> tuple[int, int]:
        """How often it stands in a file, and how many bytes that has. Counts one at a block's edge twice."""
        times = size_bytes = 0
        rest = b""
        while block := file.read(_BLOCK_BYTES):
            size_bytes += len(block)
            content = rest + block
            texts = [content.decode("utf-8", "replace")]
            if b"\0" in content:  # text of other programs
                texts += [content[odd:].decode("utf-16-le", "replace") for odd in (0, 1)]
            times += sum(map(self.times_in, texts))
            rest = content[-self._longest_bytes :]
        return times, size_bytes


def search(name: Name, places: Sequence[Path]) -> Searched:
    """Look for a name in these files, and in all files of these folders. Raises SetUpFault."""
    searched = Searched()
    for path in _files(places):
        is_recording = is_recordings_name(path.name)
        try:
            with open_recording(path) if is_recording else _plain(path) as file:
                times, size_bytes = name.times_in_file(file)
        except (OSError, RecordingFault):
            searched.unreadable.append(path)
            continue
        searched.files += 1
        searched.size_bytes += size_bytes
        if times:
            kind = "recording" if is_recording else "note" if _is_note(path) else "other"
            kind = "index" if path.name.startswith(INDEX) else kind
            searched.found.append(Found(path, times, kind))
    return searched


def proof(name: Name, places: Sequence[Path]) -> str:
    """What was searched and doesn't hold the name, in words. Raises RecordingFault if something has it."""
    searched = search(name, places)
    wrong = [one.path for one in searched.found] + searched.unreadable
    if wrong:
        raise RecordingFault(
            f"The name still stands in {len(searched.found)} files, and {len(searched.unreadable)} can't be "
            f"read: {', '.join(map(str, wrong[:5]))}.",
            "Recordings are never changed, and other files aren't this program's.",
            "Look at each, and decide whether to keep it.",
        )
    size_mb = searched.size_bytes / 1e6
    return f"Searched again: {searched.files:,} files, {size_mb:,.1f} MB. The name stands in none of them."


def erase_in_note(name: Name, path: Path, instead: str) -> None:
    """Write a note anew with this in place of the name, and sync it. Raises OSError, SetUpFault."""
    content = path.read_bytes()
    if len(content) > LONGEST_NOTE_BYTES:
        raise SetUpFault(
            f"{path} is larger than any note.",
            "So it was left as it is.",
            "Look at it, and remove the name by hand.",
        )
    written = path.with_name(f".{path.name}.new")
    fd = os.open(written, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, 0o600)
    with open(fd, "wb") as file:
        file.write(name.without(content.decode("utf-8", "replace"), instead).encode())
        file.flush()
        os.fsync(file.fileno())
    written.rename(path)


def remove(path: Path) -> None:
    """Remove a file, and wait until that is on the disc. Raises OSError."""
    path.unlink(missing_ok=True)
    fd = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


def notes_by(number: str, places: Sequence[Path]) -> list[Path]:
    """The files of the notes and photographs that the person with this number made, such as "docent 2"."""
    digests = set[str]()
    for path in _files(places):
        if is_recordings_name(path.name):
            try:
                for item in read(path):
                    if not isinstance(item, Damaged):
                        digests.update(_made_by(number, item.fact))
            except RecordingFault:
                continue
    return [path for path in _files(places) if path.parent.name == NOTES and path.stem in digests]


def _made_by(number: str, fact: kinds.AnyFact | kinds.UnknownFact) -> list[str]:
    """The digests of what a person wrote or photographed, according to this fact."""
    match fact:
        case kinds.NoteMade(by=by, digest=digest, kind="note" | "photograph") if by == number:
            return [digest]
        case kinds.WorkDone(by=by, note=note, photographs=photographs) if by == number:
            return [note, *photographs]
        case kinds.ReadingMeasured(by=by, note=note) | kinds.PackEntered(by=by, note=note) if by == number:
            return [note]
    return []


def _plain(path: Path) -> BinaryIO:
    return open(os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK), "rb")


def _is_note(path: Path) -> bool:
    return path.parent.name == NOTES and path.suffix == ".txt"


def _files(places: Sequence[Path]) -> list[Path]:
    """These files, and all in these folders, links left out."""
    found = dict[Path, None]()
    for place in places:
        if place.is_dir():
            for folder, _, names in os.walk(place):
                paths = (Path(folder, name) for name in sorted(names))
                plain = (path for path in paths if path.is_file() and not path.is_symlink())
                found.update((path.resolve(), None) for path in plain)
        elif place.is_file():
            found[place.resolve()] = None
        if len(found) > _MOST_FILES:
            raise SetUpFault(
                f"There are more than {_MOST_FILES:,} files in {place}.",
                "That is not a folder of recordings.",
                "Name the folder of the recordings, and that of what was saved.",
            )
    return list(found)
