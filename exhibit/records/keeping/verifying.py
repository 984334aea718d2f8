"""Verifies recordings: checksums, order, gaps, and whether one file continues the other."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import msgspec

from exhibit.facts import codec, kinds
from exhibit.facts.errors import RecordingFault
from exhibit.records.keeping.discarded import LIST, Discarded
from exhibit.records.keeping.flipped_bit import flipped_bit
from exhibit.records.keeping.jsonl import lines_in
from exhibit.streams.compressed import compressed_file
from exhibit.streams.compressed.names import is_recordings_name, plain_name
from exhibit.streams.line_chain import Damaged
from exhibit.streams.recording import RecordingFolder, read, writer_state
from exhibit.streams.recording_files import last_crc, no_recording, not_there
from exhibit.streams.recording_reader import open_recording, read_at

_MOST_SAID = 20
"""Damaged places of one file that are listed."""


class Place(msgspec.Struct, frozen=True):
    """A damaged place in a recording."""

    damage: Damaged
    before: int
    """The number of the last fact before it; 0 if there is none."""
    after: int = 0
    """The number of the first fact after it; 0 if there is none."""

    @property
    def missing(self) -> int:
        """How many facts are missing here, where facts follow; 0 also if it isn't known."""
        return max(0, self.after - self.before - 1)


class Examined(msgspec.Struct):
    """What there is to say of one file."""

    path: Path
    facts: int = 0
    places: list[Place] = []
    mended: int = 0
    """How many facts are missing where it was mended."""
    opened: kinds.RecordingOpened | None = None
    closed: bool = False
    being_written: bool = False
    last_crc: str = ""
    fault: RecordingFault | None = None
    """Why nothing in it can be read."""

    @property
    def name(self) -> str:
        """The name that it was written under."""
        return plain_name(self.path.name)

    @property
    def is_damaged(self) -> bool:
        """Whether something in it isn't as it was written."""
        return self.fault is not None or bool(self.places)


_SOME_LEFT: Final = (
    "What is missing there can't be shown or counted; all else can.",
    "Get another copy, or save what is readable with `exhibit mend FILE`.",
)
_NOTHING_LEFT: Final = ("Nothing there can be shown or counted.", "Get another copy.")
"""Why it matters, and what to do."""


class Verified(msgspec.Struct, frozen=True):
    """What there is to print, and how many of the files are damaged or don't belong together."""

    lines: list[str]
    files: int
    damaged: int
    unreadable: int
    """Those of the damaged ones in which nothing can be read."""
    unchained: int

    def refuse(self) -> None:
        """Raises RecordingFault unless all is in order."""
        if self.damaged:
            raise RecordingFault(
                f"{self.damaged} of {_count(self.files, 'recording')} {'is' if self.damaged == 1 else 'are'} "
                "damaged.",
                *(_NOTHING_LEFT if self.damaged == self.unreadable else _SOME_LEFT),
            )
        if self.unchained:
            raise RecordingFault(
                f"{self.unchained} of {_count(self.files, 'recording')} "
                "can't be the continuation of the recording before.",
                "Either that one isn't whole, or another file has its name.",
                "Compare them with another copy.",
            )


def verify(paths: Sequence[Path]) -> Verified:
    """Examine these recordings, and folders of them. Raises SetUpFault if there is none, RecordingFault."""
    examined = [examine(path) for path in recordings_in(paths)]
    by_name = {one.name: one for one in examined}
    folders = {one.path.parent for one in examined}
    discarded = {line.file: line for folder in folders for line in lines_in(folder / LIST, Discarded)}
    lines, unchained = list[str](), 0
    for one in examined:
        chained, fits = _chained(one, by_name, discarded)
        unchained += not fits
        lines.append(f"{one.path.name}: {_said(one)}{chained}")
        lines += [f"    {_place_said(one.path, place)}" for place in one.places[:_MOST_SAID]]
        if (more := len(one.places) - _MOST_SAID) > 0:
            lines.append(f"    and {more} more places")
    damaged = sum(one.is_damaged for one in examined)
    return Verified(lines, len(examined), damaged, sum(one.fault is not None for one in examined), unchained)


def recordings_in(paths: Sequence[Path]) -> list[Path]:
    """These files, and the recordings in these folders: readable ones in order, then those that aren't.

    Raises SetUpFault if there is none, and RecordingFault if a folder can't be read.
    """
    found = dict[Path, None]()
    for path in paths:
        if path.is_dir():
            ordered = [file.path for file in RecordingFolder(path).recordings()]
            known = {plain_name(one.name) for one in ordered}
            others = sorted(
                one
                for one in path.iterdir()
                if is_recordings_name(one.name) and plain_name(one.name) not in known and not one.is_symlink()
            )
            found.update((one, None) for one in [*ordered, *others])
        elif path.exists():
            found[path] = None
        else:
            raise not_there(path)
    if not found:
        raise no_recording(paths, "So there is nothing to look at.")
    return list(found)


def examine(path: Path) -> Examined:
    """Read a whole recording, and say what is wrong with it."""
    one = Examined(path)
    try:
        one.being_written = writer_state(path) == "writing"
        waiting = list[Damaged]()
        last_seq = 0
        for item in read(path):
            if isinstance(item, Damaged):
                if not item.mended:
                    waiting.append(item)
                continue
            one.places += [Place(damage, last_seq, item.seq) for damage in waiting]
            waiting.clear()
            last_seq = item.seq
            one.facts += 1
            one.closed = isinstance(item.fact, kinds.RecordingClosed)
            if isinstance(item.fact, kinds.RecordingOpened) and item.seq == 1:
                one.opened = item.fact
            elif isinstance(item.fact, kinds.FactsMissing):
                one.mended += item.fact.count
        # Whoever writes it now may be in the middle of a line.
        one.places += [Place(d, last_seq) for d in waiting if not (d.torn and one.being_written)]
        one.last_crc = last_crc(path)
    except RecordingFault as fault:
        one.fault = fault
    return one


def _said(one: Examined) -> str:
    """What to say of the file as a whole."""
    if one.fault is not None:
        return f"damaged, nothing can be read. {one.fault.what}"
    said = [_count(one.facts, "fact")]
    if one.being_written:
        said.append("still being written")
    elif not one.closed:
        said.append("ended without being closed")
    if one.mended:
        said.append(f"{_count(one.mended, 'fact')} missing where it was mended")
    places = f"damaged in {_count(len(one.places), 'place')}" if one.places else "in order"
    return f"{places}; " + ", ".join(said)


def _chained(
    one: Examined, by_name: dict[str, Examined], discarded: dict[str, Discarded]
) -> tuple[str, bool]:
    """Whether this file continues the one that it names, in words; False if it is known not to."""
    opened = one.opened
    if opened is None or not opened.previous_file:
        return "", True
    before = by_name.get(opened.previous_file)
    if before is None:
        gone = discarded.get(opened.previous_file)
        if gone is not None and gone.last_crc == opened.previous_crc:
            return f"; continues {gone.file}, which was discarded on {gone.discarded} ({gone.rule})", True
        return f"; the one before it, {opened.previous_file}, isn't here", True
    if before.opened is not None and before.opened.mended is not None:
        stands = before.opened.mended.last_crc
    else:
        stands = before.last_crc
    if stands == opened.previous_crc:
        return "; continues the one before it", True
    if before.is_damaged:
        return "; the one before it is damaged, so nothing shows whether this one continues it", True
    return (
        f"; doesn't continue {before.path.name}, which ends with {stands}, not {opened.previous_crc}",
        False,
    )


def _place_said(path: Path, place: Place) -> str:
    damage = place.damage
    said = f"byte {damage.offset_bytes:,}: {damage.why}, {_count(damage.length_bytes, 'byte')}"
    with open_recording(path) as file:
        if (compressed := compressed_file.compressed_of(file)) is not None:
            at_bytes = compressed.file_offset_bytes(damage.offset_bytes)
            said += f", in the piece at byte {at_bytes:,} of the compressed file"
        elif damage.length_bytes <= codec.MAX_LINE_BYTES:
            before = read_at(file, codec.TAIL_BYTES, max(0, damage.offset_bytes - codec.TAIL_BYTES))
            crc = codec.stored_crc(before) if damage.offset_bytes else codec.FIRST_CRC
            content = read_at(file, damage.length_bytes, damage.offset_bytes)
            flipped = flipped_bit(content, crc) if crc is not None and content.count(b"\n") == 1 else None
            if flipped is not None:
                said += f"; bit {flipped.bit} of byte {damage.offset_bytes + flipped.byte:,} is flipped"
    if place.after:
        return f"{said}; {_missing(place)}"
    return f"{said}; no fact follows"


def _missing(place: Place) -> str:
    if place.missing > 1:
        return f"facts {place.before + 1:,} to {place.after - 1:,} are missing"
    return f"fact {place.before + 1:,} is missing" if place.missing else "no fact is missing"


def _count(count: int, what: str) -> str:
    return f"{count:,} {what}" if count == 1 else f"{count:,} {what}s"
