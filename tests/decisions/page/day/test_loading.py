"""A load is counted mark by mark as it is printed, and said no more once it broke off."""

from __future__ import annotations

import pytest

from exhibit.facts import kinds
from tests.decisions.page.day.work import LOST, SILENT, after, ended, opened

pytestmark = pytest.mark.pure

HEAD = "LOADING FROM SALLOW 1 "


def received(text, first_us=0):
    return kinds.BytesReceived(bytes=text, first_us=first_us)


def loading(*steps, **changed):
    return after(*steps, **changed)["loading"]


def test_nothing_is_loading_before_the_line_begins():
    assert loading(received("FROM WHICH DRIVE? UPPER\r\n....\r\n")) is None


def test_each_mark_is_a_piece_with_the_number_of_its_fact():
    found = loading(received(HEAD), received("."), received(".."))
    assert (found["load"], found["count"], found["seq"], found["done"]) == ("tidebook", 3, 5, False)


@pytest.mark.parametrize("size", [1, 2, 7, 100])
def test_it_makes_no_difference_in_what_pieces_it_arrives(size):
    text = f"UPPER\r\n{HEAD}.......... LOADED\r\nTIDEBOOK, FOURTH ISSUE\r\n"
    found = loading(*(received(text[at : at + size]) for at in range(0, len(text), size)))
    assert (found["count"], found["done"]) == (10, True) if size < 100 else found is None or found["done"]


def test_it_is_done_once_the_machine_says_so():
    assert loading(received(HEAD + ".."), received(" LOADED"))["done"]
    assert loading(received(HEAD + ".."), received(" LOADED\r\n"), received("A. B.\r\n"))["count"] == 2


@pytest.mark.parametrize("what", [received(" CANNOT READ UPPER\r\n"), LOST, SILENT, ended("opening")])
def test_a_load_that_broke_off_is_said_no_more(what):
    assert loading(received(HEAD), received(".."), what) is None


def test_the_next_load_is_counted_from_nothing():
    broken = received(" CANNOT READ UPPER\r\n")
    assert loading(received(HEAD + ".."), broken, received(HEAD), received("."))["count"] == 1


def test_a_recording_without_loads_has_none():
    assert loading(received(HEAD + "..."), first=opened(loads={})) is None


def test_among_much_else_that_nobody_asked_about_it_is_found_with_its_own_fact_and_time():
    before = [received(f"TIDE {number:05} HIGH WATER\r\n") for number in range(50)]
    later = [received(f"TIDE {number:05} LOW WATER\r\n") for number in range(50)]
    found = loading(*before, received(HEAD), received(".."), received(" LOADED\r\n"), *later)
    alone = loading(*before, received(HEAD), received(".."), received(" LOADED\r\n"))
    assert found == alone
    assert (found["count"], found["done"], found["seq"]) == (2, True, len(before) + 5)
