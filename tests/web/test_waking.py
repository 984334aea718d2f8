"""Pages that wait for something newer are woken: some at once, phones in groups, and none is forgotten."""

from __future__ import annotations

import gevent

from exhibit.web.waking import GROUPS, Waking


def test_a_single_page_is_woken_before_all_groups_have_been() -> None:
    waking = Waking()
    order: list[str] = []

    def wait(in_a_group: bool, name: str) -> None:
        (waking.wait_in_a_group if in_a_group else waking.wait)(60)
        order.append(name)

    waiting = [gevent.spawn(wait, True, "phone") for _ in range(10 * GROUPS)]
    waiting.append(gevent.spawn(wait, False, "screen"))
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

    def wait(number: int) -> None:
        waking.wait_in_a_group(60)
        woken.append(number)

    def other() -> None:
        while len(woken) < 10 * GROUPS:
            turns.append(len(woken))
            gevent.sleep(0)
        turns.append(len(woken))

    waiting = [gevent.spawn(wait, number) for number in range(10 * GROUPS)]
    gevent.sleep(0)
    waking.wake_groups()
    gevent.joinall([*waiting, gevent.spawn(other)], timeout=30)
    assert len(woken) == 10 * GROUPS
    assert max(later - before for before, later in zip(turns, turns[1:], strict=False)) <= 20


def test_news_during_the_waking_reaches_all() -> None:
    waking = Waking()
    version, seen = [0], [0] * 100

    def wait(number: int) -> None:
        while seen[number] < 5:
            if seen[number] == version[0]:
                waking.wait_in_a_group(60)
            seen[number] = version[0]

    waiting = [gevent.spawn(wait, number) for number in range(100)]
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
        waking.wait_in_a_group(60)
        waking.wake_groups()  # while the others are still being woken
        waking.wait_in_a_group(60)
        told.append("again")

    waiting = [gevent.spawn(first)]
    waiting += [gevent.spawn(waking.wait_in_a_group, 60) for _ in range(GROUPS - 1)]
    gevent.sleep(0)
    waking.wake_groups()
    gevent.joinall(waiting, timeout=30)
    assert told == ["again"]
