"""Which pages may connect, and how often a page may ask."""

from __future__ import annotations

from exhibit.web.admission import PAUSE_FOR_EACH_PAGE_S, PAUSE_FOR_EACH_PHONE_S, Doors


def test_pages_are_let_in_up_to_the_bound_and_again_when_some_have_gone() -> None:
    doors = Doors(most=2)
    assert [doors.let_in(sid, sid) for sid in "abc"] == [True, True, False]
    doors.let_out("a")
    assert doors.let_in("c", "c")
    assert len(doors) == 2


def test_one_address_cannot_take_all_the_places() -> None:
    doors = Doors(most=10, most_from_one_address=2)
    assert [doors.let_in(sid, "192.0.2.1") for sid in "abc"] == [True, True, False]
    assert doors.let_in("d", "192.0.2.2")
    doors.let_out("a")
    assert doors.let_in("c", "192.0.2.1")


def test_the_more_pages_the_longer_each_waits_for_its_next_turn() -> None:
    doors = Doors()
    for number in range(100):
        doors.let_in(f"{number}", f"{number}")
        assert doors.pause_s(f"{number}", console=True) == 0
    doors.answered("7")
    assert 0 < doors.pause_s("7", console=True) <= 100 * PAUSE_FOR_EACH_PAGE_S


def test_the_screen_beside_the_machine_does_not_wait_for_the_phones() -> None:
    doors = Doors()
    for number in range(500):
        doors.let_in(f"{number}", f"{number}")
        doors.pause_s(f"{number}", console=number == 0)
        doors.answered(f"{number}")
    assert doors.pause_s("0", console=True) <= PAUSE_FOR_EACH_PAGE_S
    assert doors.pause_s("499", console=False) > 100 * PAUSE_FOR_EACH_PHONE_S


def test_nothing_is_kept_of_a_page_that_has_gone() -> None:
    doors = Doors()
    for number in range(1000):
        sid = f"{number}"
        doors.let_in(sid, sid)
        doors.pause_s(sid, console=True)
        doors.answered(sid)
        doors.let_out(sid)
    assert vars(doors)["_addresses"] == {}
    assert not vars(doors)["_from"]
    assert vars(doors)["_answered_s"] == {}
    assert vars(doors)["_with_console"] == set()
