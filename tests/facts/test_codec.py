"""The lines of a recording, one by one."""

import json
import zlib

import msgspec
import pytest

from exhibit.facts import codec
from exhibit.facts.codec import FIRST_CRC, FORMAT, LineDamaged, decode_line, encode_line
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import (
    ALL_KINDS,
    BytesReceived,
    BytesTyped,
    Entry,
    Heartbeat,
    LineErrorsCounted,
    ReadingTaken,
    UnknownFact,
)

BEAT = Heartbeat(wall="2026-11-25T09:30:00+01:00")


def line_of(own: str, seq: int | str = 1, at_us: int = 0, previous: bytes = FIRST_CRC) -> bytes:
    """A line with the right checksum for a fact in JSON, made without the code under test."""
    body = f'{{"seq":{seq},"at_us":{at_us},{own[1:-1]}'.encode()
    return body + b',"crc":"%08x"}\n' % zlib.crc32(previous + body)


def test_a_line_looks_as_the_format_says():
    # The checksum was calculated independently of this code: printf '00000000{"seq":1,...+01:00"' | gzip | od
    line, crc = encode_line(Entry(1, 250, BEAT), FIRST_CRC)
    assert line == (
        b'{"seq":1,"at_us":250,"fact":"heartbeat","wall":"2026-11-25T09:30:00+01:00","crc":"%b"}\n' % crc
    )
    assert crc == b"17abbd05"


def test_the_checksum_is_the_published_crc_32():
    # Check value CBF43926 of CRC-32/ISO-HDLC for the digits 123456789 (Catalogue of parametrised CRC
    # algorithms; RFC 1952 section 8 has the code). The first eight serve as the checksum of the line before.
    tail = b',"crc":"00000000"}\n'
    assert codec.line_crc(b"9" + tail, b"12345678") == b"cbf43926"


def test_a_line_is_one_json_object_that_begins_with_number_and_time():
    line, crc = encode_line(
        Entry(7, 1_500_000, BytesReceived(bytes='"\\\r\n\x1b\xe9', first_us=9)), b"0a1b2c3d"
    )
    assert line.count(b"\n") == 1
    plain = json.loads(line)
    assert list(plain) == ["seq", "at_us", "fact", "bytes", "first_us", "crc"]
    assert plain["bytes"] == '"\\\r\n\x1b\xe9'
    assert plain["crc"].encode() == crc == b"%08x" % zlib.crc32(b"0a1b2c3d" + line[: line.rindex(b',"crc":')])


def test_no_kind_has_a_field_that_the_frame_uses():
    for name, kind in ALL_KINDS.items():
        fields = {field.encode_name for field in msgspec.structs.fields(kind)}
        assert not fields & {"seq", "at_us", "fact", "crc"}, name


@pytest.mark.parametrize("at", range(0, 90))
def test_a_changed_byte_is_found(at):
    line, _ = encode_line(Entry(1, 250, BEAT), FIRST_CRC)
    for bit in range(8):
        changed = bytearray(line)
        changed[at] ^= 1 << bit
        with pytest.raises(LineDamaged):
            decode_line(bytes(changed), FIRST_CRC, FORMAT)


def test_a_line_is_refused_after_any_line_but_the_one_it_was_written_after():
    line, _ = encode_line(Entry(2, 250, BEAT), b"0a1b2c3d")
    assert decode_line(line, b"0a1b2c3d", FORMAT) == Entry(2, 250, BEAT)
    with pytest.raises(LineDamaged, match="checksum"):
        decode_line(line, b"0a1b2c3e", FORMAT)


def test_an_unknown_kind_is_carried_as_it_is():
    own = '{"fact":"lamp_test_held","seconds":2.50,"nested":{"seq":4,"é":[null,1e3]},"fact_two":"x"}'
    line = line_of(own, seq=3, at_us=5)
    entry = decode_line(line, FIRST_CRC, FORMAT)
    assert entry == Entry(3, 5, UnknownFact(name="lamp_test_held", raw=own))
    assert encode_line(entry, FIRST_CRC)[0] == line


def test_an_unknown_kind_may_have_no_fields():
    entry = decode_line(line_of('{"fact":"quiet"}'), FIRST_CRC, FORMAT)
    assert entry.fact == UnknownFact(name="quiet", raw='{"fact":"quiet"}')


@pytest.mark.parametrize(
    "own",
    [
        '{"fact":"bytes_received","bytes":"A"}',
        '{"fact":"bytes_received","bytes":"A","first_us":"soon"}',
        '{"fact":"bytes_received","bytes":"\u0100","first_us":1}',
        '{"fact":"bytes_typed","bytes":"\u20ac","count":1,"by":"script"}',
    ],
)
def test_a_known_kind_in_a_form_that_this_version_does_not_know_is_carried_too(own):
    entry = decode_line(line_of(own), FIRST_CRC, FORMAT)
    assert isinstance(entry.fact, UnknownFact)
    assert entry.fact.raw == own


def test_fields_that_a_newer_version_adds_to_a_known_kind_are_ignored():
    own = '{"fact":"heartbeat","wall":"w","load":[1,2]}'
    assert decode_line(line_of(own), FIRST_CRC, FORMAT).fact == Heartbeat(wall="w")


@pytest.mark.parametrize(
    "line",
    [
        line_of('{"fact":"heartbeat","wall":}'),
        line_of('{"fact":"lamp_test_held","x":}'),
        line_of('{"fact":"lamp_test_held","x":' + "[" * 100_000 + "]" * 100_000 + "}"),
        line_of('{"fact":"heartbeat","wall":"w","x":' + "[" * 100_000 + "]" * 100_000 + "}"),
        line_of('{"fact":"HEARTBEAT","wall":"w"}'),
        line_of('{"fact":"heartbeat","wall":"w"}', seq=0),
        line_of('{"fact":"heartbeat","wall":"w"}', at_us=-1),
        line_of('{"fact":"heartbeat","wall":"w"}', seq="9" * 5000),
        line_of('{"fact":"heartbeat","wall":"w"}', seq="1" + "0" * 15),  # no page could ask what comes after
        line_of('{"at":1}'),
        line_of('{"fact":"reading_taken","display":"d","frame":' + "9" * 5000 + ',"name":"n","value":1}'),
        line_of('{"fact":"lamp_test_held","x":' + "9" * 5000 + "}"),
        b',"crc":"%08x"}\n' % zlib.crc32(FIRST_CRC),
    ],
    ids=lambda line: f"{len(line)} bytes",
)
def test_nonsense_with_a_right_checksum_is_damage_and_nothing_worse(line):
    with pytest.raises(LineDamaged):
        decode_line(line, FIRST_CRC, FORMAT)


def test_text_that_is_not_utf_8_is_damage():
    body = b'{"seq":1,"at_us":0,"fact":"%b","wall":"\xff"'
    for kind in b"heartbeat", b"lamp_test_held":
        kept = body % kind
        with pytest.raises(LineDamaged):
            decode_line(kept + b',"crc":"%08x"}\n' % zlib.crc32(FIRST_CRC + kept), FIRST_CRC, FORMAT)


@pytest.mark.parametrize(
    "fact",
    [
        ReadingTaken(display="jobs", frame=1, name="load", value=float("nan")),
        ReadingTaken(display="jobs", frame=1, name="load", value=float("inf")),
        ReadingTaken(display="jobs", frame=1, name="load", value=10**5000),
        LineErrorsCounted(parity="three"),
        Heartbeat(wall="\ud800"),
        Heartbeat(wall=b"bytes"),
        BytesReceived(bytes="\u0100", first_us=0),
        BytesTyped(bytes="\u20ac", count=1, by="script"),
        Heartbeat(wall="x" * codec.MAX_LINE_BYTES),
        {"fact": "heartbeat"},
    ],
)
def test_a_fact_that_could_not_be_read_back_is_never_written(fact):
    with pytest.raises(RecordingFault, match="can't be written"):
        encode_line(Entry(1, 0, fact), FIRST_CRC)


def test_the_longest_line_is_as_long_as_a_reader_accepts():
    frame_bytes = len(encode_line(Entry(1, 0, Heartbeat(wall="")), FIRST_CRC)[0])
    longest = Heartbeat(wall="x" * (codec.MAX_LINE_BYTES - frame_bytes))
    line, _ = encode_line(Entry(1, 0, longest), FIRST_CRC)
    assert len(line) == codec.MAX_LINE_BYTES
    assert decode_line(line, FIRST_CRC, FORMAT).fact == longest
    with pytest.raises(RecordingFault, match="can't be written"):
        encode_line(Entry(1, 0, Heartbeat(wall=longest.wall + "x")), FIRST_CRC)


def test_a_recording_of_a_newer_format_asks_for_newer_software():
    with pytest.raises(RecordingFault, match="older than the recording") as raised:
        codec.format_of(line_of(f'{{"fact":"recording_opened","format":{FORMAT + 1},"other":1}}'))
    assert "newer version" in raised.value.do


@pytest.mark.parametrize(
    "own",
    [
        '{"fact":"heartbeat","wall":"w"}',
        '{"fact":"recording_opened","format":0}',
        '{"fact":"recording_opened","format":"1"}',
        '{"fact":"recording_opened"}',
    ],
)
def test_a_file_that_begins_differently_is_not_a_recording(own):
    with pytest.raises(RecordingFault, match="isn't a recording"):
        codec.format_of(line_of(own))


def test_there_is_one_upgrader_for_each_older_format():
    assert set(codec.UPGRADERS) == set(range(1, FORMAT))


def test_an_old_format_goes_through_each_upgrader_in_turn(monkeypatch):
    def second(fact):
        if fact["fact"] == "alive":
            return {"fact": "heartbeat", "clock": fact["clock"]}
        return fact

    def third(fact):
        if fact["fact"] == "heartbeat":
            return {"fact": "heartbeat", "wall": fact["clock"]}
        return fact

    monkeypatch.setattr(codec, "FORMAT", 3)
    monkeypatch.setattr(codec, "UPGRADERS", {1: second, 2: third})
    oldest, older = line_of('{"fact":"alive","clock":"w"}'), line_of('{"fact":"heartbeat","clock":"w"}')
    assert decode_line(oldest, FIRST_CRC, 1).fact == Heartbeat(wall="w")
    assert decode_line(older, FIRST_CRC, 2).fact == Heartbeat(wall="w")
    # Facts that no upgrader can handle stay as they were.
    odd = '{"fact":"alive"}'
    assert decode_line(line_of(odd), FIRST_CRC, 1).fact == UnknownFact(name="alive", raw=odd)
    unknown = '{"fact":"lamp_test_held"}'
    assert decode_line(line_of(unknown), FIRST_CRC, 1).fact == UnknownFact(name="lamp_test_held", raw=unknown)
