"""Who may come in, and how often a page may ask."""

from __future__ import annotations

import pytest

from exhibit.web import admission
from exhibit.web.admission import (
    CONSOLES_SHARE,
    FIRST_GUESS_S,
    MOST_NOT_JOINED,
    OWN_PLACES,
    PATIENCE_S,
    PHONES_SHARE,
    Bucket,
    Doors,
    Room,
    shared_by,
)


def others(count: int) -> list[str]:
    """Addresses of other computers."""
    return [
        f"192.0.2.{number % 250}.".rstrip(".") if number < 250 else f"2001:db8:{number:x}::1"
        for number in range(count)
    ]


# -- connections ------------------------------------------------------------------------------------


def test_there_is_room_for_as_many_connections_as_there_are_descriptors_and_again_once_some_are_closed() -> (
    None
):
    room = Room(40)
    assert [room.take(address) for address in others(25)] == [True] * 20 + [False] * 5
    room.give_back("192.0.2.0", joined=False)
    assert room.take("192.0.2.30")


def test_one_address_can_take_half_of_the_places_however_it_spreads_within_its_network() -> None:
    room = Room(100)
    assert sum(room.take("192.0.2.1") for _ in range(100)) == (100 - OWN_PLACES) / 2
    assert room.take("192.0.2.2")
    room = Room(100)
    assert sum(room.take(f"2001:db8:1:1::{number:x}") for number in range(100)) == 40
    assert room.take("2001:db8:1:2::1")


def test_places_are_kept_for_the_screen_of_this_computer() -> None:
    room = Room(100)
    while any([room.take(address) for address in others(4)]):
        pass
    assert sum(room.take("127.0.0.1") for _ in range(100)) == OWN_PLACES


def test_connections_without_a_page_are_fewer_than_pages_can_be() -> None:
    room = Room(10 * MOST_NOT_JOINED)
    while any([room.take(address) for address in others(4)]):
        pass
    room.join("192.0.2.0")
    assert room.take("192.0.2.0")
    assert not room.take("192.0.2.0")
    room.give_back("192.0.2.0", joined=True)
    assert not room.take("192.0.2.0")
    room.give_back("192.0.2.0", joined=False)
    assert room.take("192.0.2.0")


def test_a_proxy_brings_as_many_as_there_is_room_for() -> None:
    room = Room(100)
    assert sum(room.take("192.0.2.1", for_many=True) for _ in range(100)) == 100 - OWN_PLACES


def test_nothing_is_kept_of_connections_that_are_closed() -> None:
    room = Room(100)
    for number, address in enumerate(others(1000)):
        assert room.take(address)
        if number % 2:
            room.join(address)
        room.give_back(address, joined=bool(number % 2))
    for places in vars(room).values():
        assert vars(places)["_taken"] == 0
        assert not vars(places)["_by"]


@pytest.mark.parametrize(
    ("address", "of"),
    [
        ("192.0.2.1", "192.0.2.1"),
        ("::ffff:192.0.2.1", "192.0.2.1"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("fe80::1%eth0", "fe80::/64"),
        ("", ""),
    ],
)
def test_an_address_counts_with_all_that_its_owner_can_choose(address: str, of: str) -> None:
    assert shared_by(address) == of


# -- pages ------------------------------------------------------------------------------------------


def test_pages_are_let_in_up_to_the_bound_and_again_when_some_have_gone() -> None:
    doors = Doors(most=3)
    assert [doors.let_in(page, f"192.0.2.{page}") for page in range(3)] == [True, True, False]
    doors.let_out(0)
    assert doors.let_in(2, "192.0.2.2")


def test_one_address_cannot_take_all_the_pages() -> None:
    doors = Doors(most=4)
    assert [doors.let_in(page, "127.0.0.1") for page in range(3)] == [True, True, False]
    assert doors.let_in(3, "127.0.0.2")
    doors.let_out(1)
    assert doors.let_in(2, "127.0.0.1")


def test_no_more_pages_are_let_in_than_can_be_answered_in_time_but_always_this_computer_s_own() -> None:
    doors = Doors(most=10**6)
    pages = 0
    while doors.let_in(pages, f"2001:db8:{pages >> 8:x}:{pages & 255:x}::1"):
        pages += 1
    assert pages == pytest.approx(PATIENCE_S * PHONES_SHARE / FIRST_GUESS_S, abs=2)
    assert doors.let_in(-1, "127.0.0.1")
    for _ in range(1000):  # on this computer an answer turns out to cost half as much
        doors.answered(0, console=False, took_s=FIRST_GUESS_S / 2)
    assert doors.let_in(-2, "2001:db8:ffff::1")


def test_the_more_pages_and_the_dearer_an_answer_the_longer_each_waits_for_its_next_turn(monkeypatch) -> None:
    now_s = [100.0]
    monkeypatch.setattr(admission.time, "monotonic", lambda: now_s[0])
    doors = Doors(1000)
    for page in range(100):
        doors.let_in(page, "127.0.0.1")
        assert doors.pause_s(page, console=True) == 0
    for _ in range(1000):
        doors.answered(7, console=True, took_s=0.0001)
    assert doors.pause_s(7, console=True) == pytest.approx(100 * 0.0001 / CONSOLES_SHARE, rel=0.01)
    now_s[0] += 0.01
    assert doors.pause_s(7, console=True) == pytest.approx(100 * 0.0001 / CONSOLES_SHARE - 0.01, rel=0.01)
    now_s[0] += 1
    assert doors.pause_s(7, console=True) == 0


def test_the_screen_beside_the_machine_does_not_wait_for_the_phones() -> None:
    doors = Doors(2000)
    for page in range(500):
        doors.let_in(page, "127.0.0.1")
        doors.pause_s(page, console=page == 0)
        doors.answered(page, console=page == 0, took_s=FIRST_GUESS_S)
    assert doors.pause_s(0, console=True) <= FIRST_GUESS_S / CONSOLES_SHARE
    assert doors.pause_s(499, console=False) > 100 * FIRST_GUESS_S


def test_nothing_is_kept_of_a_page_that_has_gone() -> None:
    doors = Doors(10)
    for page in range(1000):
        doors.let_in(page, "127.0.0.1")
        doors.pause_s(page, console=True)
        doors.answered(page, console=True, took_s=0.0001)
        doors.let_out(page)
    assert vars(doors)["_pages"] == {}
    assert vars(doors)["_answered_s"] == {}
    assert vars(doors)["_with_console"] == set()


# -- one connection ---------------------------------------------------------------------------------


def test_a_connection_may_say_some_things_at_once_and_then_one_now_and_then(monkeypatch) -> None:
    now_s = [100.0]
    monkeypatch.setattr(admission.time, "monotonic", lambda: now_s[0])
    bucket = Bucket(3, each_s=0.5)
    assert [bucket.take() for _ in range(5)] == [True, True, True, False, False]
    now_s[0] += bucket.full_in_s()
    assert [bucket.take(), bucket.take()] == [True, False]
    now_s[0] += 1000
    assert [bucket.take() for _ in range(4)] == [True, True, True, False]


def test_a_page_that_says_one_thing_for_each_answer_is_never_stopped(monkeypatch) -> None:
    monkeypatch.setattr(admission.time, "monotonic", lambda: 100.0)
    bucket = Bucket(3, each_s=0.5)
    for _ in range(1000):
        assert bucket.take()
        bucket.give()


def test_a_crowd_at_one_address_waits_for_its_turns_and_holds_up_nobody_elsewhere() -> None:
    doors = Doors(5000)
    for page in range(1000):
        assert doors.let_in(page, "192.0.2.1")
    assert doors.let_in("visitor", "192.0.2.2")
    for page in range(1000):
        doors.pause_s(page, True)
    for page in (5, "visitor"):
        doors.answered(page, True, 0.0002)
    assert doors.pause_s(5, True) > 0.2
    assert doors.pause_s("visitor", True) < 0.01
    doors.let_out("visitor")
    assert doors.pause_s(5, True) > 0.2
