"""Snapshots of a view at intervals, so that a seek doesn't have to read the recording from its start.

    frames = Keyframes(path, View, "visitor page 1")
    found = frames.seek(seq=120_000)       # found.view has seen every entry up to found.position.seq
    player.go_to(found.position, now_us)

They are in the reader's own cache folder, never beside the recording, and can be deleted at any time.
"""

from __future__ import annotations

import sys
import zlib
from bisect import bisect_right
from collections.abc import Callable
from pathlib import Path
from typing import Any, BinaryIO, Generic, Protocol, TypeVar

import msgspec

from exhibit.facts import codec
from exhibit.facts.kinds import BytesReceived, Entry
from exhibit.streams.keyframe_cache import Keyframe, KeyframeCache
from exhibit.streams.line_chain import START, Damaged, Position
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_reader import chain_from, entries_of, open_recording

EVERY_US = 60_000_000
EVERY_RECEIVED_BYTES = 32 * 1024
GIVES_WAY_EVERY = 200
"""Entries."""
LEAST_ENTRIES = 50
"""Between two keyframes: where hardly anything happens, or time leaps, there would be one for each entry."""


class Foldable(Protocol):
    """A view: what all entries so far add up to."""

    def apply(self, entry: Entry) -> None:
        """Take in the next entry."""

    def snapshot(self) -> Any:
        """Everything needed to continue later, as JSON values; None if no snapshot is possible now."""

    def restore(self, snapshot: Any) -> None:
        """Return to the state of the snapshot. May raise anything if the snapshot can't be used."""


V = TypeVar("V", bound=Foldable)
GiveWay = Callable[[Position, list[Damaged]], None]


class Found(msgspec.Struct, Generic[V], frozen=True):
    """A view, and how far it has read the recording."""

    view: V
    position: Position


class Keyframes(Generic[V]):
    """Keyframes of one recording for one kind of view: every minute, and every 32 KiB received."""

    def __init__(
        self, path: Path, new_view: Callable[[], V], view_version: str, cache_folder: Path | None = None
    ) -> None:
        """`view_version` names the view and its snapshots' format: those of other versions are ignored.

        `cache_folder` None means $XDG_CACHE_HOME/exhibit, else ~/.cache/exhibit. If it can't be written,
        nothing is saved. Raises RecordingFault if the recording can't be read.
        """
        self._path = path
        self._new_view = new_view
        with open_recording(path) as file, as_recording_fault(path, "be read"):
            first_line = file.readline(codec.MAX_LINE_BYTES)
        rules = f"{EVERY_US} us, {EVERY_RECEIVED_BYTES} bytes, {view_version}"
        self._cache = KeyframeCache(first_line, rules, cache_folder)
        self._frames: list[Keyframe] = self._cache.load()

    def seek(
        self,
        *,
        seq: int | None = None,
        at_us: int | None = None,
        give_way: GiveWay | None = None,
    ) -> Found[V]:
        """A view that has read every entry up to and including `seq`, or up to and including `at_us`.

        Pass exactly one of the two. `give_way` is called every so many entries and at the end, with the place
        reached and the damage met since; other seeks may come in between. Raises RecordingFault if the
        recording can't be read.
        """
        if (seq is None) == (at_us is None):
            raise TypeError("pass either seq or at_us")
        seq_limit = sys.maxsize if seq is None else seq
        us_limit = sys.maxsize if at_us is None else at_us
        with open_recording(self._path) as file:
            frame, view = self._last_before(file, seq_limit, us_limit)
            return self._fold(file, frame, view, seq_limit, us_limit, give_way)

    def last_before(self, *, seq: int) -> Position:
        """The place of the last keyframe made so far within `seq`; the start if there is none."""
        count = bisect_right(self._frames, seq, key=lambda frame: frame.position.seq)
        return self._frames[count - 1].position if count else START

    def last_until(self, *, at_us: int) -> Position:
        """The same within a time."""
        count = bisect_right(self._frames, at_us, key=lambda frame: frame.position.at_us)
        return self._frames[count - 1].position if count else START

    def _last_before(self, file: BinaryIO, seq_limit: int, us_limit: int) -> tuple[Keyframe | None, V]:
        """The last usable keyframe within both limits, and its view; if there is none, a new view."""
        count = min(
            bisect_right(self._frames, seq_limit, key=lambda frame: frame.position.seq),
            bisect_right(self._frames, us_limit, key=lambda frame: frame.position.at_us),
        )
        view = self._new_view()
        if count == 0:
            return None, view
        frame = self._frames[count - 1]
        if _still_matches(file, self._path, frame.position) and _restored(view, frame):
            return frame, view
        self._frames = []
        return None, self._new_view()

    def _fold(
        self,
        file: BinaryIO,
        frame: Keyframe | None,
        view: V,
        seq_limit: int,
        us_limit: int,
        give_way: GiveWay | None,
    ) -> Found[V]:
        """Apply the entries after the keyframe, up to the limits, and save new keyframes on the way."""
        with as_recording_fault(self._path, "be read"):
            file.seek(0)
        chain = chain_from(file, self._path, frame.position if frame else START)
        last_frame_at_us = frame.position.at_us if frame else 0
        received_bytes = since = until_next = 0
        new_frames = 0
        position = chain.position
        for entry in entries_of(file, self._path, chain):
            if entry.seq > seq_limit or entry.at_us > us_limit:
                break
            view.apply(entry)
            position = chain.position
            if isinstance(entry.fact, BytesReceived):
                received_bytes += len(entry.fact.bytes)
            since += 1
            until_next += 1
            if until_next == GIVES_WAY_EVERY:
                until_next = 0
                if give_way is not None:
                    give_way(position, chain.take_damages())
            is_due = entry.at_us - last_frame_at_us >= EVERY_US or received_bytes >= EVERY_RECEIVED_BYTES
            if is_due and since >= LEAST_ENTRIES:
                # Looked up anew, since another seek may have come in between.
                if not self._frames or entry.seq > self._frames[-1].position.seq:
                    state = view.snapshot()
                    if state is None:
                        continue
                    self._frames.append(Keyframe(position, zlib.compress(msgspec.json.encode(state))))
                    new_frames += 1
                last_frame_at_us, received_bytes, since = entry.at_us, 0, 0
        else:
            position = chain.finish()
        if give_way is not None:
            give_way(position, chain.take_damages())
        if new_frames:
            self._cache.save(self._frames)
        return Found(view, position)


class LastKeyframe(Generic[V]):
    """The newest state of a recording that grows, for whoever begins to follow it late in the day.

        found = last.found(path)                    # begin here, with this view
        last.keep(found.view, position)             # every few minutes, and at the end

    There is one for each folder of recordings: a new recording's replaces the one of the day before.
    """

    def __init__(
        self, new_view: Callable[[], V], view_version: str, cache_folder: Path | None = None
    ) -> None:
        """As for Keyframes."""
        self._new_view = new_view
        self._rules = f"the newest, {view_version}"
        self._cache_folder = cache_folder
        self._cache: KeyframeCache | None = None

    def found(self, path: Path) -> Found[V]:
        """The state that was kept of this recording; a new view and its start if there is none that fits.

        Raises RecordingFault if the recording can't be read.
        """
        with open_recording(path) as file:
            with as_recording_fault(path, "be read"):
                first_line = file.readline(codec.MAX_LINE_BYTES)
            kept_for = f"{self._rules} {path.parent.resolve()}"
            self._cache = KeyframeCache(first_line, self._rules, self._cache_folder, kept_for)
            for frame in self._cache.load()[-1:]:
                view = self._new_view()
                if _still_matches(file, path, frame.position) and _restored(view, frame):
                    return Found(view, frame.position)
        return Found(self._new_view(), START)

    def keep(self, view: V, position: Position) -> None:
        """Keep this state of the recording that was found last."""
        state = view.snapshot()
        if self._cache is not None and state is not None:
            self._cache.save([Keyframe(position, zlib.compress(msgspec.json.encode(state), 1))])


def _restored(view: Foldable, frame: Keyframe) -> bool:
    try:
        view.restore(msgspec.json.decode(zlib.decompress(frame.state)))
    except Exception:  # whatever is wrong with the snapshot, a new view works instead
        return False
    return True


def _still_matches(file: BinaryIO, path: Path, place: Position) -> bool:
    """Whether the line before this place is still the one that was there when the keyframe was made.

    Its checksum depends on all lines before it, so it vouches for them too.
    """
    with as_recording_fault(path, "be read"):
        file.seek(max(0, place.offset_bytes - codec.TAIL_BYTES))
        crc = codec.stored_crc(file.read(codec.TAIL_BYTES))
    return crc == place.crc.encode()
