"""Views of a recording kept at intervals, so that a seek needn't fold it from its start.

    frames = Keyframes(path, View, "visitor page 1")
    found = frames.seek(seq=120_000)       # found.view has seen every entry up to found.position.seq
    player.go_to(found.position, now_us)

They are kept in a cache folder of the reader's own, never beside the recording, and may be thrown
away at any time.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

import msgspec

from exhibit.facts.kinds import Entry
from exhibit.streams.recording_reader import Position

EVERY_US = 60_000_000
EVERY_RECEIVED_BYTES = 64 * 1024


class Foldable(Protocol):
    """A view: what all entries up to now come to."""

    def apply(self, entry: Entry) -> None:
        """See the next entry."""

    def snapshot(self) -> Any:
        """Everything that is needed to go on later, as JSON can hold it; None if not just now."""

    def restore(self, snapshot: Any) -> None:
        """Become what the snapshot was taken of."""


V = TypeVar("V", bound=Foldable)


class Found(msgspec.Struct, Generic[V], frozen=True):
    """A view and the place up to which it has seen the recording."""

    view: V
    position: Position


class Keyframes(Generic[V]):
    """Keyframes of one recording for one kind of view."""

    def __init__(
        self, path: Path, new_view: Callable[[], V], view_version: str, cache_folder: Path | None = None
    ) -> None:
        """`view_version` names the view and the form of its snapshots: another version's are not used.

        `cache_folder` None means $XDG_CACHE_HOME/exhibit, else ~/.cache/exhibit. A cache that can't be
        written is done without. Raises RecordingFault if the recording can't be read.
        """
        raise NotImplementedError

    def build(self) -> None:
        """Make the keyframes up to the recording's present end; seek() does so by itself as far as it needs."""
        raise NotImplementedError

    def seek(self, *, seq: int | None = None, at_us: int | None = None) -> Found[V]:
        """A view that has seen every entry up to `seq`, or up to `at_us`, those included."""
        raise NotImplementedError


def default_cache_folder() -> Path:
    """$XDG_CACHE_HOME/exhibit, else ~/.cache/exhibit (XDG Base Directory Specification)."""
    raise NotImplementedError
