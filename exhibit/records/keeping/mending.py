"""Saves what can be read of a damaged recording in a new one, and marks what is missing."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final
from zlib import crc32

import msgspec

from exhibit.facts import codec, kinds
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.keeping.putting_right import Between, restored
from exhibit.streams.compressed.frames import MOST_BYTES
from exhibit.streams.compressed.names import SUFFIX, plain_name
from exhibit.streams.line_chain import START, Damaged, LineChain, Position
from exhibit.streams.recording import writer_state
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_files import last_crc
from exhibit.streams.recording_reader import entries_of, open_recording, read_at, size_of

FOLDER: Final = "mended"
"""Where a mended recording is put if nothing else is said: a folder of its own beside the damaged one."""
_MOST_RESTORED_BYTES: Final = 2 * codec.MAX_LINE_BYTES
_PIECE_BYTES: Final = 1024 * 1024


class Gap(msgspec.Struct, frozen=True):
    """Facts that couldn't be saved."""

    at_bytes: int
    length_bytes: int
    why: str
    first: int
    last: int
    """Their numbers. At the end of a recording nobody knows how many there were."""
    is_end: bool

    @property
    def said(self) -> str:
        """What is missing, and where, in words."""
        where = f"byte {self.at_bytes:,}: {self.why}, {self.length_bytes:,} bytes"
        if self.is_end:
            return f"Missing at the end, {where}."
        facts = (
            f"fact {self.first:,}" if self.first == self.last else f"facts {self.first:,} to {self.last:,}"
        )
        return f"Missing: {facts}, {where}."


class Outcome(msgspec.Struct):
    """What became of it."""

    to: Path
    facts: int = 0
    gaps: list[Gap] = []
    put_right: list[str] = []
    """What was damaged and is now as it was, in words."""


class _Line(msgspec.Struct, frozen=True):
    """A line that can be trusted, and where it was in the damaged recording."""

    body: bytes
    entry: kinds.Entry
    at_bytes: int


def mend(path: Path, to: Path | None = None) -> Outcome:
    """Save what can be read of the recording at `path` in a new file.

    `to` None means a file of the same name in the folder FOLDER beside it. The old file is only read. Raises
    SetUpFault if it is in order, is being written, or the new file exists or isn't named as a recording;
    RecordingFault if its first line can't be read, or the new file can't be written.
    """
    if to is not None and to.suffix != SUFFIX:
        raise SetUpFault(
            f"{to} is no name of a recording.",
            "No command would find the new file under it.",
            f"Name a file with --to, not a folder, such as {to / plain_name(path.name)}.",
        )
    to = to or path.parent / FOLDER / plain_name(path.name)
    if writer_state(path) == "writing":
        raise SetUpFault(
            f"{path} is still being written.",
            "What isn't there yet isn't damage.",
            "Wait until it is closed.",
        )
    outcome = Outcome(to)
    with open_recording(path) as file:
        if size_of(file) > MOST_BYTES:
            raise SetUpFault(
                f"{path} has more than {MOST_BYTES // 1024**3} GiB.",
                "No day of a machine has so much, so most of it is no recording.",
                "Cut it off where `exhibit verify` says that the damage begins, in a copy, and mend that.",
            )
        _check(file, path)
        with as_recording_fault(to, "be written"):
            to.parent.mkdir(parents=True, exist_ok=True)
            if to.exists():
                raise SetUpFault(
                    f"{to} exists already.", "Nothing is ever overwritten.", "Name another file with --to."
                )
            arriving = to.with_name(f".{to.name}.arriving-{os.getpid()}")
            try:
                with arriving.open("xb") as out:
                    _write(out, file, path, outcome)
                    out.flush()
                    os.fsync(out.fileno())
                os.link(arriving, to)  # unlike renaming, this overwrites nothing
            finally:
                arriving.unlink(missing_ok=True)
    return outcome


def _check(file: BinaryIO, path: Path) -> None:
    """Raises SetUpFault if there is nothing to mend."""
    chain = LineChain()
    for _ in entries_of(file, path, chain):
        pass
    chain.finish()
    file.seek(0)
    if all(damage.mended for damage in chain.take_damages()):
        raise SetUpFault(f"{path} is in order.", "So there is nothing to mend in it.", "Use it as it is.")


def _write(out: BinaryIO, file: BinaryIO, path: Path, outcome: Outcome) -> None:
    """Write all lines that can be saved, each with its new checksum."""
    crc = codec.FIRST_CRC
    last = kinds.Entry(0, 0, kinds.RecordingClosed(why=""))
    damage = list[Damaged]()
    for item in _saved(file, path, outcome):
        if isinstance(item, Damaged):
            damage.append(item)
            continue
        entry, body = item.entry, item.body
        if last.seq == 0:
            if entry.seq != 1 or not isinstance(entry.fact, kinds.RecordingOpened):
                raise _no_first_line(path)
            body = _as_mended(body, file, path)
        # A mark of an earlier mending stands for as many numbers as it counts.
        counted = max(1, entry.fact.count) if isinstance(entry.fact, kinds.FactsMissing) else 1
        missing = entry.seq - last.seq - counted
        if missing < 0:
            damage.append(
                Damaged(item.at_bytes, len(body) + codec.TAIL_BYTES, "it counts more than is missing")
            )
            continue
        if missing > 0:
            # All lines of a damaged place can be had back, and numbers still be left out after it.
            damage = damage or [Damaged(item.at_bytes, 0, "numbers are left out here")]
            crc = _mark(out, crc, last, _gap(damage, last.seq + 1, last.seq + missing), entry.at_us, outcome)
        elif damage:
            gap = _gap(damage, entry.seq, last.seq)
            said = f"{gap.length_bytes:,} bytes at byte {gap.at_bytes:,} that belong to no fact are left out."
            outcome.put_right.append(said)
        damage.clear()
        crc = _put(out, body, crc)
        last = entry
        outcome.facts += 1
    if last.seq == 0:
        raise _no_first_line(path)
    if damage:
        _mark(out, crc, last, _gap(damage, last.seq + 1, last.seq + 1, is_end=True), 0, outcome)


def _gap(damage: list[Damaged], first: int, last: int, *, is_end: bool = False) -> Gap:
    begin, end = damage[0], damage[-1]
    length_bytes = end.offset_bytes + end.length_bytes - begin.offset_bytes
    return Gap(begin.offset_bytes, length_bytes, begin.why, first, last, is_end)


def _mark(out: BinaryIO, crc: bytes, before: kinds.Entry, gap: Gap, until_us: int, outcome: Outcome) -> bytes:
    """Write that facts are missing here. Returns the line's checksum."""
    outcome.gaps.append(gap)
    fact = kinds.FactsMissing(
        count=gap.last - gap.first + 1,
        why=gap.why,
        at_bytes=gap.at_bytes,
        length_bytes=gap.length_bytes,
        until_us=until_us,
    )
    line, crc = codec.encode_line(kinds.Entry(gap.last, before.at_us, fact), crc)
    out.write(line)
    return crc


def _put(out: BinaryIO, body: bytes, crc: bytes) -> bytes:
    crc = b"%08x" % crc32(body, crc32(crc))
    out.write(b'%b,"crc":"%b"}\n' % (body, crc))
    return crc


def _as_mended(body: bytes, file: BinaryIO, path: Path) -> bytes:
    """The first line, which now also says what this recording was made from."""
    place, digest, at_bytes = file.tell(), hashlib.sha256(), 0
    while piece := read_at(file, _PIECE_BYTES, at_bytes):
        digest.update(piece)
        at_bytes += len(piece)
    file.seek(place)
    mended = kinds.Mended(file=plain_name(path.name), digest=digest.hexdigest(), last_crc=last_crc(path))
    if b',"mended":' in body:  # it was mended before: what it stands in for is said anew
        plain = msgspec.json.decode(body + b"}")
        plain["mended"] = msgspec.to_builtins(mended)
        return msgspec.json.encode(plain)[:-1]
    return body + b',"mended":' + msgspec.json.encode(mended)


# -- what can be read, and what can be put right


def _saved(file: BinaryIO, path: Path, outcome: Outcome) -> Iterator[_Line | Damaged]:
    """Every line that can be trusted, and the damage in between, from the start of the file on."""
    chain, before = LineChain(), START
    for entry in entries_of(file, path, chain):
        after = chain.position
        damages = [damage for damage in chain.take_damages() if not damage.mended]
        for damage in damages:
            yield from _put_right(file, damage, before, entry, outcome)
        # The last line that was read is that of this entry, and it ends here.
        begin_bytes = damages[-1].offset_bytes + damages[-1].length_bytes if damages else before.offset_bytes
        line = read_at(file, after.offset_bytes - begin_bytes, begin_bytes)
        yield _Line(line[: -codec.TAIL_BYTES], entry, begin_bytes)
        before = after
    chain.finish()
    for damage in chain.take_damages():
        if not damage.mended:
            yield from _put_right(file, damage, before, None, outcome)


def _put_right(
    file: BinaryIO, damage: Damaged, before: Position, after: kinds.Entry | None, outcome: Outcome
) -> Iterator[_Line | Damaged]:
    """The lines of a damaged place that can be had back for certain; and the damage, if some can't."""
    length_bytes = min(damage.length_bytes, _MOST_RESTORED_BYTES)
    content = read_at(file, length_bytes, damage.offset_bytes)
    end_bytes = damage.offset_bytes + damage.length_bytes
    next_line = b""
    if after is not None:
        block = read_at(file, codec.MAX_LINE_BYTES, end_bytes)
        next_line = block[: block.find(b"\n") + 1]
    place = damage.offset_bytes
    between = Between(before.seq, before.at_us, before.crc.encode(), after, next_line)
    for found in restored(content, place, between):
        if found.said:
            outcome.put_right.append(found.said)
        yield _Line(found.line[: -codec.TAIL_BYTES], found.entry, place)
        place += found.length_bytes
    if place < end_bytes:
        yield Damaged(place, end_bytes - place, damage.why)


def _no_first_line(path: Path) -> RecordingFault:
    return RecordingFault(
        f"The first line of {path} can't be read.",
        "It says what machine this was and how to show its console, so a mended recording couldn't be shown.",
        "Get another copy of the recording.",
    )
