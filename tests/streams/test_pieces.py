"""Received bytes become pieces: singly after quiet, gathered while they flow."""

from hypothesis import given
from hypothesis import strategies as st

from exhibit.facts.kinds import BytesReceived, to_bytes
from exhibit.streams.pieces import PIECE_BYTES, PIECE_US, Piece, PieceKeeper

BYTE_US = 1042
"""One character at 9600 baud, ten bits each."""


def piece(text: str, first_us: int, at_us: int) -> Piece:
    return Piece(BytesReceived(bytes=text, first_us=first_us), at_us)


def test_the_first_byte_is_given_at_once_and_the_next_ones_are_gathered():
    keeper = PieceKeeper()
    assert keeper.add(b"A", 1_000) == [piece("A", 1_000, 1_000)]
    assert keeper.due_us() is None
    assert keeper.add(b"B", 2_000) == []
    assert keeper.add(b"C", 3_000) == []
    assert keeper.due_us() == 2_000 + PIECE_US
    assert keeper.take() == piece("BC", 2_000, 3_000)
    assert keeper.take() is None
    assert keeper.due_us() is None


def test_keys_echoed_slowly_are_each_given_at_once():
    keeper = PieceKeeper()
    for number in range(5):
        at_us = number * (PIECE_US + 1)
        assert keeper.add(b"x", at_us) == [piece("x", at_us, at_us)]


def test_a_short_answer_is_given_as_soon_as_it_is_over():
    keeper = PieceKeeper(BYTE_US)
    for number, byte in enumerate(b"\r\nOK"):
        keeper.add(bytes((byte,)), number * BYTE_US)
    over_us = 3 * BYTE_US + 2 * BYTE_US
    assert keeper.due_us() == over_us
    assert keeper.take_due(over_us - 1) is None
    assert keeper.take_due(over_us) == piece("\nOK", BYTE_US, 3 * BYTE_US)


def test_the_rest_of_a_long_answer_is_given_as_soon_as_it_is_over_too():
    keeper = PieceKeeper(BYTE_US)
    for number in range(60):
        keeper.take_due(number * BYTE_US)
        keeper.add(b"x", number * BYTE_US)
    assert keeper.due_us() == (59 + 2) * BYTE_US


def test_after_its_first_pause_a_burst_is_gathered_until_the_next_quiet():
    keeper = PieceKeeper(BYTE_US)
    keeper.add(b"A", 0)
    keeper.add(b"B", 1_000)
    assert keeper.take_due(10_000) == piece("B", 1_000, 1_000)
    keeper.add(b"C", 16_000)
    assert keeper.take_due(20_000) is None
    assert keeper.due_us() == 16_000 + PIECE_US
    assert keeper.take_due(16_000 + PIECE_US) == piece("C", 16_000, 16_000)
    keeper.add(b"D", 200_000)
    keeper.add(b"E", 201_000)
    assert keeper.due_us() == 201_000 + 2 * BYTE_US


def test_bytes_that_an_adapter_brings_in_handfuls_make_no_more_pieces_than_before():
    counts = []
    for character_us in (PIECE_US, BYTE_US):
        keeper, pieces = PieceKeeper(character_us), 0
        for now_us in range(0, 10_000_000, 1_000):
            pieces += keeper.take_due(now_us) is not None
            if now_us % 16_000 == 0:
                pieces += len(keeper.add(b"x" * 16, now_us))
        counts.append(pieces)
    assert counts[1] <= counts[0] + 1


def test_a_byte_within_a_piece_of_quiet_is_gathered():
    keeper = PieceKeeper()
    keeper.add(b"x", 0)
    assert keeper.add(b"y", PIECE_US) == []


def test_a_burst_after_quiet_is_given_at_once():
    keeper = PieceKeeper()
    assert keeper.add(b"LOGON", 5) == [piece("LOGON", 5, 5)]


def test_a_piece_that_nobody_took_in_time_ends_before_the_next_byte():
    keeper = PieceKeeper()
    keeper.add(b"A", 0)
    keeper.add(b"B", 1_000)
    assert keeper.add(b"C", 1_000 + PIECE_US) == [piece("B", 1_000, 1_000)]
    assert keeper.take() == piece("C", 1_000 + PIECE_US, 1_000 + PIECE_US)


def test_after_a_pause_what_waited_comes_before_what_is_new():
    keeper = PieceKeeper()
    keeper.add(b"A", 0)
    keeper.add(b"B", 1_000)
    assert keeper.add(b"C", 900_000) == [piece("B", 1_000, 1_000), piece("C", 900_000, 900_000)]


def test_no_bytes_open_no_piece():
    keeper = PieceKeeper()
    assert keeper.add(b"", 5) == []
    assert keeper.due_us() is None


def test_bytes_of_every_value_are_kept():
    keeper = PieceKeeper()
    everything = bytes(range(256))
    (only,) = keeper.add(everything, 0)
    assert to_bytes(only.fact.bytes) == everything


def test_a_line_at_9600_baud_makes_about_25_pieces_a_second():
    keeper = PieceKeeper(BYTE_US)
    pieces = []
    for number in range(960 * 10):
        at_us = number * BYTE_US
        pieces += [one for one in [keeper.take_due(at_us)] if one is not None]
        pieces += keeper.add(b"x", at_us)
    assert 240 <= len(pieces) <= 260


arrivals = st.lists(st.tuples(st.binary(min_size=1, max_size=700), st.integers(0, 90_000)), max_size=30)


@given(arrivals, st.sets(st.integers(0, 29)))
def test_no_byte_is_lost_or_moved_and_every_piece_keeps_its_limits(arrivals, taken_after):
    keeper = PieceKeeper(BYTE_US)
    pieces: list[Piece] = []
    arrived: list[int] = []
    at_us = 0
    for number, (data, pause_us) in enumerate(arrivals):
        at_us += pause_us
        arrived += [at_us] * len(data)
        pieces += keeper.add(data, at_us)
        if number in taken_after and (taken := keeper.take()) is not None:
            pieces.append(taken)
    if (taken := keeper.take()) is not None:
        pieces.append(taken)
    assert b"".join(to_bytes(piece.fact.bytes) for piece in pieces) == b"".join(data for data, _ in arrivals)
    done = 0
    for piece in pieces:
        length = len(piece.fact.bytes)
        assert 1 <= length <= PIECE_BYTES
        assert piece.fact.first_us == arrived[done]
        done += length
        assert piece.at_us == arrived[done - 1]
        assert piece.at_us - piece.fact.first_us < PIECE_US
