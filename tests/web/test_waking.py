"""Pages that wait for something newer are woken: some at once, phones in groups, and none is forgotten."""

from __future__ import annotations

import gevent
import gevent.event

from exhibit.web.waking import GATHER_S, GROUPS, Waking


def wait(waking: Waking, in_a_group: bool) -> None:
    """Wait as a page does, in a greenlet of its own."""
    woken = gevent.event.Event()
    waking.add(woken.set, in_a_group)
    assert woken.wait(60)


def test_a_single_page_is_woken_before_all_groups_have_been() -> None:
    waking = Waking()
    order: list[str] = []

    def page(in_a_group: bool, name: str) -> None:
        wait(waking, in_a_group)
        order.append(name)

    waiting = [gevent.spawn(page, True, "phone") for _ in range(10 * GROUPS)]
    waiting.append(gevent.spawn(page, False, "screen"))
    gevent.sleep(0)
    waking.wake_groups()
    waking.wake()
    gevent.joinall(waiting, timeout=30)
    assert len(order) == 10 * GROUPS + 1
    assert order.index("screen") <= 10 * GROUPS // 4


def test_others_get_their_turn_between_two_groups() -> None:
    waking = Waking()
    woken: list[int] = []
    turns: list[int] = []

    def page(number: int) -> None:
        wait(waking, True)
        woken.append(number)

    def other() -> None:
        while len(woken) < 10 * GROUPS:
            turns.append(len(woken))
            gevent.sleep(0)
        turns.append(len(woken))

    waiting = [gevent.spawn(page, number) for number in range(10 * GROUPS)]
    gevent.sleep(0)
    waking.wake_groups()
    gevent.joinall([*waiting, gevent.spawn(other)], timeout=30)
    assert len(woken) == 10 * GROUPS
    assert max(later - before for before, later in zip(turns, turns[1:], strict=False)) <= 20


def test_news_during_the_waking_reaches_all() -> None:
    waking = Waking()
    version, seen = [0], [0] * 100

    def page(number: int) -> None:
        while seen[number] < 5:
            if seen[number] == version[0]:
                wait(waking, True)
            seen[number] = version[0]

    waiting = [gevent.spawn(page, number) for number in range(100)]
    gevent.sleep(0)
    for _ in range(5):
        version[0] += 1
        waking.wake_groups()
        while version[0] not in seen:  # until some have been woken, but not all
            gevent.sleep(0)
        assert set(seen) != {version[0]}
    gevent.joinall(waiting, timeout=30)
    assert seen == [5] * 100


def test_a_page_that_was_already_woken_gets_what_happened_since() -> None:
    waking = Waking()
    told: list[str] = []

    def first() -> None:
        wait(waking, True)
        waking.wake_groups()  # while the others are still being woken
        wait(waking, True)
        told.append("again")

    waiting = [gevent.spawn(first)]
    waiting += [gevent.spawn(wait, waking, True) for _ in range(GROUPS - 1)]
    gevent.sleep(0)
    waking.wake_groups()
    gevent.joinall(waiting, timeout=30)
    assert told == ["again"]


def test_whoever_was_taken_out_is_not_woken() -> None:
    waking = Waking()
    woken: list[str] = []
    stays, goes = (lambda: woken.append("stays")), (lambda: woken.append("goes"))
    waking.add(stays)
    waking.add(goes).pop(goes)
    waking.wake()
    gevent.sleep(0.01)
    assert woken == ["stays"]


def test_each_is_woken_once() -> None:
    waking = Waking()
    woken: list[str] = []
    waking.add(lambda: woken.append("at once"))
    waking.add(lambda: woken.append("in a group"), in_a_group=True)
    for _ in range(3):
        waking.wake()
        waking.wake_groups()
        while "in a group" not in woken:
            gevent.sleep(0.01)
    gevent.sleep(2 * GATHER_S)
    assert sorted(woken) == ["at once", "in a group"]
