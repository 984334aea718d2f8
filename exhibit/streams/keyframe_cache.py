"""Keyframes on disc. What isn't exactly as it was saved, or was made otherwise, is as good as nothing."""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path

import msgspec

from exhibit.streams.line_chain import Position

_DIGEST_BYTES = 32


class Keyframe(msgspec.Struct, frozen=True):
    """A view's snapshot, as deflated JSON, and the place up to which the view had seen the recording."""

    position: Position
    state: bytes


class _Kept(msgspec.Struct, frozen=True):
    made_for: str
    frames: list[Keyframe]


class KeyframeCache:
    """The file that keeps one recording's keyframes: their SHA-256, then MessagePack."""

    def __init__(self, first_line: bytes, rules: str, folder: Path | None) -> None:
        """`first_line` tells the recording from all others; `rules` says how keyframes were made."""
        self._made_for = f"{hashlib.sha256(first_line).hexdigest()} {rules}"
        folder = folder or default_cache_folder()
        name = hashlib.sha256(self._made_for.encode()).hexdigest()[:40]
        self.path = folder / f"{name}.keyframes" if folder is not None else None

    def load(self) -> list[Keyframe]:
        """The keyframes as saved; none if there are none or the file is not what was saved."""
        if self.path is None:
            return []
        try:
            kept = self.path.read_bytes()
            digest, body = kept[:_DIGEST_BYTES], kept[_DIGEST_BYTES:]
            if hashlib.sha256(body).digest() != digest:
                return []
            found = msgspec.msgpack.decode(body, type=_Kept)
        except (OSError, msgspec.DecodeError):
            return []
        return found.frames if found.made_for == self._made_for else []

    def save(self, frames: list[Keyframe]) -> None:
        """Save the keyframes in place of those saved before. Where that can't be, leave it."""
        if self.path is None:
            return
        body = msgspec.msgpack.encode(_Kept(self._made_for, frames))
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            # Another reader may be saving the same: each writes a file of its own, and the last one stands.
            fd, written = tempfile.mkstemp(dir=self.path.parent, suffix=".new")
            try:
                with os.fdopen(fd, "wb") as file:
                    file.write(hashlib.sha256(body).digest() + body)
                os.replace(written, self.path)
            except OSError:
                os.unlink(written)
        except OSError:
            return


def default_cache_folder() -> Path | None:
    """$XDG_CACHE_HOME/exhibit, else ~/.cache/exhibit (XDG Base Directory Specification).

    None for a user without a home.
    """
    named = os.environ.get("XDG_CACHE_HOME", "")
    if os.path.isabs(named):
        return Path(named) / "exhibit"
    try:
        return Path.home() / ".cache" / "exhibit"
    except RuntimeError:
        return None
