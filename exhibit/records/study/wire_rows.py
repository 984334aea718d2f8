"""What went along the line around a moment, in rows: the bytes in hexadecimal, and beside them what they are.

Text stands as text. Control codes and sequences have their names from ECMA-48. One that was divided between
two pieces is named in both, with "..." where it was cut.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any, Final, Literal, NamedTuple

import msgspec

from exhibit.facts import kinds
from exhibit.records.study.control_names import C0, escape_name, sequence_name

BYTES_IN_A_ROW: Final = 8
LONGEST_ROW_BYTES: Final = 24
"""A control sequence isn't broken into two rows unless it is longer than this."""
TOGETHER_US: Final = 100_000
"""Pieces of the same way that follow each other so closely share rows, up to this much of them ..."""
MOST_TOGETHER: Final = 64
"""... bytes. A slow line delivers single characters."""

_SEVEN_BITS: Final = bytes(byte & 0x7F for byte in range(256))
_UNSEEN: Final = dict.fromkeys([*range(0x20), *range(0x7F, 0xA0)], "\ufffd")
Way = Literal["received", "typed", "by hand"]

_TOKEN: Final = re.compile(
    r"(?P<text>[^\x00-\x1f\x7f]+)"
    r"|\x1b\[(?P<params>[0-?]{0,64})(?P<between>[ -/]{0,4})(?P<final>[@-~])"
    r"|\x1b(?P<inter>[ -/]{0,4})(?P<end>[0-Z\\-~])"
    r"|(?P<cut>\x1b(?:\[[0-?]{0,64}[ -/]{0,4}|[ -/]{0,4})?\Z)"
    r"|(?P<code>[\x00-\x1f\x7f])"
)


class Piece(NamedTuple):
    """Bytes of one fact. For a secret there are none, and `withheld` says so."""

    seq: int
    at_us: int
    way: Way
    by: str
    data: bytes
    withheld: str = ""


class WireRow(msgspec.Struct, frozen=True):
    """One row. `parts` are [text] or [acronym, name], in order."""

    seq: int
    at_us: int
    way: Way
    by: str
    hex: str
    parts: list[list[str]]


class _Token(NamedTuple):
    start: int
    end: int
    acronym: str
    name: str
    """Both empty for text."""
    ends_row: bool


def pieces_of(entries: Iterable[kinds.Entry]) -> Iterator[Piece]:
    """The pieces in these entries."""
    for entry in entries:
        seq, at_us = entry.seq, entry.at_us
        match entry.fact:
            case kinds.BytesReceived(bytes=text, first_us=first_us):
                yield Piece(seq, min(first_us, at_us), "received", "", kinds.to_bytes(text))
            case kinds.BytesTyped(bytes=text, by=by, secret=secret):
                said = "a secret, not recorded" if secret else ""
                yield Piece(seq, at_us, "typed", by, b"" if secret else kinds.to_bytes(text), said)
            case kinds.SecretTyped(by=by):
                yield Piece(seq, at_us, "typed", by, b"", "a secret, not recorded")
            case kinds.TypedByHand(bytes=text, by=by, secret=secret):
                said = "may be a secret, not recorded" if secret else ""
                yield Piece(seq, at_us, "by hand", by, b"" if secret else kinds.to_bytes(text), said)
            case kinds.SecretWithheld() | kinds.BytesWithheld():
                yield Piece(seq, at_us, "received", "", b"", "withheld: it may contain a secret")
            case kinds.BytesMissed(why=why):
                yield Piece(seq, at_us, "received", "", b"", f"not recorded: {why}")


def together(pieces: Iterable[Piece]) -> Iterator[Piece]:
    """These pieces, with those joined that follow each other closely. A joined one has the first's number."""
    held: Piece | None = None
    last_us = 0
    for piece in pieces:
        joins = (
            held is not None
            and (piece.way, piece.by, piece.withheld) == (held.way, held.by, held.withheld)
            and piece.at_us - last_us <= TOGETHER_US
            and len(held.data) + len(piece.data) <= MOST_TOGETHER
        )
        last_us = piece.at_us
        if joins and held is not None:
            held = held._replace(data=held.data + piece.data)
            continue
        if held is not None:
            yield held
        held = piece
    if held is not None:
        yield held


def wire_rows(pieces: Iterable[Piece], *, eight_bits: bool) -> list[WireRow]:
    """The rows of these pieces, in their order. `eight_bits`: the eighth bit belongs to the character."""
    pieces = list(pieces)
    tokens = {way: _tokens_of(pieces, way, eight_bits) for way in ("received", "typed", "by hand")}
    places = dict.fromkeys(tokens, 0)
    rows: list[WireRow] = []
    for piece in pieces:
        if piece.withheld:
            rows.append(WireRow(piece.seq, piece.at_us, piece.way, piece.by, "", [["", piece.withheld]]))
        start = places[piece.way]
        places[piece.way] = end = start + len(piece.data)
        rows += _rows_of(piece, start, _within(tokens[piece.way], start, end), eight_bits)
    return rows


def _tokens_of(pieces: list[Piece], way: str, eight_bits: bool) -> list[_Token]:
    data = b"".join(piece.data for piece in pieces if piece.way == way)
    text = (data if eight_bits else data.translate(_SEVEN_BITS)).decode("latin-1")
    tokens = []
    for found in _TOKEN.finditer(text):
        acronym, name = _named(found)
        ends_row = acronym in ("LF", "NEL")
        tokens.append(_Token(found.start(), found.end(), acronym, name, ends_row))
    return tokens


def _named(found: re.Match[str]) -> tuple[str, str]:
    if found["text"] is not None:
        return "", ""
    if found["final"] is not None:
        return sequence_name(found["params"], found["between"], found["final"])
    if found["end"] is not None:
        return escape_name(found["inter"], found["end"])
    if found["cut"] is not None:
        return "ESC", "begins here"
    return C0[ord(found["code"])]


def _within(tokens: list[_Token], start: int, end: int) -> Iterator[tuple[int, int, _Token]]:
    """From where to where each token is within these places."""
    for token in tokens:
        if token.end > start and token.start < end:
            yield max(token.start, start), min(token.end, end), token


def _rows_of(
    piece: Piece, offset: int, tokens: Iterable[tuple[int, int, _Token]], eight_bits: bool
) -> Iterator[WireRow]:
    row_start = offset
    parts: list[list[str]] = []

    def row(to: int) -> WireRow:
        data = piece.data[row_start - offset : to - offset]
        return WireRow(piece.seq, piece.at_us, piece.way, piece.by, data.hex(" ").upper(), parts)

    place = offset
    for start, end, token in tokens:
        while start < end:
            room = BYTES_IN_A_ROW - (start - row_start)
            length = end - start
            if room < length and (room <= 0 or (token.acronym and start > row_start)):
                yield row(start)
                row_start, parts, room = start, [], BYTES_IN_A_ROW
            take = min(length, LONGEST_ROW_BYTES if token.acronym else room)
            parts.append(_part(piece, offset, start, start + take, token, eight_bits))
            start += take
            place = start
        if token.ends_row and end == token.end:
            yield row(place)
            row_start, parts = place, []
    if parts:
        yield row(place)


def _part(piece: Piece, offset: int, start: int, end: int, token: _Token, eight_bits: bool) -> list[Any]:
    if not token.acronym:
        data = piece.data[start - offset : end - offset]
        return [(data if eight_bits else data.translate(_SEVEN_BITS)).decode("latin-1").translate(_UNSEEN)]
    before = "..." if start > token.start else ""
    after = "..." if end < token.end else ""
    return [f"{before}{token.acronym}{after}", token.name]
