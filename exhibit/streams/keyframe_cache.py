"""Keyframes on disc. A file that has changed since it was saved, or was made by other rules, is ignored."""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path

import msgspec

from exhibit.streams.line_chain import Position

_DIGEST_BYTES = 32


class Keyframe(msgspec.Struct, frozen=True):
    """A view's snapshot (deflated JSON), and how far the view had read the recording."""

    position: Position
    state: bytes


class _Contents(msgspec.Struct, frozen=True):
    made_for: str
    frames: list[Keyframe]


class KeyframeCache:
    """The file of one recording's keyframes: a SHA-256 checksum, then MessagePack."""

    def __init__(self, first_line: bytes, rules: str, folder: Path | None, kept_for: str = "") -> None:
        """`first_line` identifies the recording; `rules` says how its keyframes are made.

        `folder` None means the default cache folder. What is `kept_for` the same replaces each other.
        """
        self._made_for = f"{hashlib.sha256(first_line).hexdigest()} {rules}"
        folder = folder or default_cache_folder()
        name = hashlib.sha256((kept_for or self._made_for).encode()).hexdigest()[:40]
        self.path = folder / f"{name}.keyframes" if folder is not None else None

    def load(self) -> list[Keyframe]:
        """The saved keyframes; an empty list if there are none or the file has changed since."""
        if self.path is None:
            return []
        try:
            content = self.path.read_bytes()
            digest, body = content[:_DIGEST_BYTES], content[_DIGEST_BYTES:]
            if hashlib.sha256(body).digest() != digest:
                return []
            contents = msgspec.msgpack.decode(body, type=_Contents)
        except (OSError, msgspec.DecodeError):
            return []
        return contents.frames if contents.made_for == self._made_for else []

    def save(self, frames: list[Keyframe]) -> None:
        """Replace the saved keyframes with these. Does nothing if the folder can't be written."""
        if self.path is None:
            return
        body = msgspec.msgpack.encode(_Contents(self._made_for, frames))
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            # Another reader may be saving at the same time: each writes its own file, and the last one wins.
            fd, new_file = tempfile.mkstemp(dir=self.path.parent, suffix=".new")
            try:
                with os.fdopen(fd, "wb") as file:
                    file.write(hashlib.sha256(body).digest() + body)
                os.replace(new_file, self.path)
            except OSError:
                os.unlink(new_file)
        except OSError:
            return


def default_cache_folder() -> Path | None:
    """$XDG_CACHE_HOME/exhibit, else ~/.cache/exhibit (XDG Base Directory Specification).

    None for a user without a home folder.
    """
    named = os.environ.get("XDG_CACHE_HOME", "")
    if os.path.isabs(named):
        return Path(named) / "exhibit"
    try:
        return Path.home() / ".cache" / "exhibit"
    except RuntimeError:
        return None
