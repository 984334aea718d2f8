"""Guessing gets ever slower, and what is remembered of it stays small."""

from __future__ import annotations

import pytest

from exhibit.desk.delays import AT_ONCE, FORGOTTEN_AFTER_S, LONGEST_S, MOST_ADDRESSES, Delays


class Clock:
    now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def delays(clock: Clock) -> Delays:
    return Delays(clock)


def test_some_tries_cost_nothing_and_each_further_one_costs_twice_as_long(delays: Delays) -> None:
    waits = []
    for _ in range(12):
        waits.append(delays.wait_s("192.0.2.1"))
        delays.tries("192.0.2.1")
    assert waits == [0, 0, 0, 1, 2, 4, 8, 16, 32, 64, 128, 256]
    for _ in range(100):
        delays.tries("192.0.2.1")
    assert delays.wait_s("192.0.2.1") == LONGEST_S


def test_the_delay_passes_and_another_address_has_none(delays: Delays, clock: Clock) -> None:
    for _ in range(AT_ONCE + 2):
        delays.tries("192.0.2.1")
    assert delays.wait_s("192.0.2.2") == 0
    clock.now_s += 3.5
    assert delays.wait_s("192.0.2.1") == 0.5
    clock.now_s += 1
    assert delays.wait_s("192.0.2.1") == 0


def test_being_right_ends_it(delays: Delays) -> None:
    for _ in range(AT_ONCE + 5):
        delays.tries("192.0.2.1")
    delays.was_right("192.0.2.1")
    assert delays.wait_s("192.0.2.1") == 0


def test_all_addresses_of_one_owner_of_ipv6_are_one(delays: Delays) -> None:
    for number in range(AT_ONCE + 3):
        delays.tries(f"2001:db8::{number:x}")
    assert delays.wait_s("2001:db8::ffff") == 8
    assert delays.wait_s("2001:db8:0:1::1") == 0


def test_a_crowd_of_addresses_neither_fills_the_memory_nor_washes_a_delay_away(
    delays: Delays, clock: Clock
) -> None:
    for _ in range(AT_ONCE + 5):
        delays.tries("192.0.2.1")
    for number in range(3 * MOST_ADDRESSES):
        delays.tries(f"10.0.{number // 256}.{number % 256}")
    assert len(delays._tries) <= MOST_ADDRESSES + 1
    assert delays.wait_s("192.0.2.1") == 32
    assert delays.wait_s("198.51.100.7") == LONGEST_S, "newcomers share what the crowd has used up"
    delays.was_right("198.51.100.7")
    assert delays.wait_s("198.51.100.7") == LONGEST_S, "and none of them can end it for all"
    clock.now_s += FORGOTTEN_AFTER_S + 1
    assert delays.wait_s("198.51.100.7") == 0
