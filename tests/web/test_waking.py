"""Pages that wait for something newer are woken: screens at once, phones soon after; none is forgotten."""

from __future__ import annotations

import time

import gevent

from exhibit.web.waking import GATHER_S, Waking


def until(done, within_s: float = 30.0) -> None:
    """Let the hub go on until this is so."""
    with gevent.Timeout(within_s):
        while not done():
            gevent.sleep(0.001)


def test_screens_are_woken_at_once_and_phones_a_moment_later() -> None:
    waking, order = Waking(), list[str]()
    for number in range(10):
        waking.add(lambda number=number: order.append(f"phone {number}"), phone=True)
    waking.add(lambda: order.append("screen"))
    gevent.sleep(0)  # gevent reckons delays from when its loop last ran, which is long ago on a busy computer
    began_s = time.monotonic()
    waking.wake_phones()
    waking.wake_screens()
    assert order == ["screen"]
    until(lambda: len(order) == 11)
    assert order[1:] == [f"phone {number}" for number in range(10)]
    assert time.monotonic() - began_s >= 0.9 * GATHER_S


def test_changes_that_come_together_wake_phones_once() -> None:
    waking, woken = Waking(), list[str]()

    def phone() -> None:
        woken.append("phone")
        waking.add(phone, phone=True)

    waking.add(phone, phone=True)
    for _ in range(5):
        waking.wake_phones()
    until(lambda: woken)
    gevent.sleep(2 * GATHER_S)
    assert woken == ["phone"]
    waking.wake_phones()
    until(lambda: len(woken) == 2)


def test_who_waits_again_while_others_are_woken_is_woken_next_time() -> None:
    waking, woken = Waking(), list[str]()

    def screen() -> None:
        woken.append("screen")
        waking.add(screen)

    waking.add(screen)
    waking.add(lambda: woken.append("other"))
    waking.wake_screens()
    assert woken == ["screen", "other"]
    waking.wake_screens()
    assert woken == ["screen", "other", "screen"]


def test_whoever_was_taken_out_is_not_woken() -> None:
    waking, woken = Waking(), list[str]()
    stays, goes = (lambda: woken.append("stays")), (lambda: woken.append("goes"))
    waking.add(stays)
    waking.add(goes).pop(goes)
    waking.wake_screens()
    assert woken == ["stays"]


def test_each_is_woken_once() -> None:
    waking, woken = Waking(), list[str]()
    waking.add(lambda: woken.append("screen"))
    waking.add(lambda: woken.append("phone"), phone=True)
    for _ in range(3):
        waking.wake_screens()
        waking.wake_phones()
        until(lambda: "phone" in woken)
    gevent.sleep(2 * GATHER_S)
    assert sorted(woken) == ["phone", "screen"]
