"""The bridge comes for events at least every second as long as it works, and not while it is stuck."""

from __future__ import annotations

import itertools

from exhibit.bridge.inbox import StopWanted
from exhibit.decisions.session.programme import Wanted
from tests.bridge.bridge_world import Staged
from tests.decisions.heron import S, command, folder, script

ONE = Wanted(before=(), rounds=1, after=())
BEGIN = folder(script("round", command("begin", "begin shuttle", "begun")))
STUCK_US = 90 * S


def test_it_comes_at_least_every_second_though_nothing_happens(tmp_path):
    staged = Staged(tmp_path, BEGIN, ONE)
    staged.world.at(20 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    came_us = staged.world.came_us
    assert came_us[-1] >= 19 * S
    assert max(later - sooner for sooner, later in itertools.pairwise(came_us)) <= S


def test_one_that_is_stuck_in_typing_does_not_come(tmp_path):
    staged = Staged(tmp_path, BEGIN, ONE)
    stuck: list[int] = []

    def hang(byte: int) -> str:
        if not stuck:
            stuck.append(staged.world.now_us)
            staged.world.now_us += STUCK_US
        return ""

    staged.while_typing = hang
    staged.receives_at(100_000, b"READY: ")
    staged.world.at(100 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert stuck
    assert [us for us in staged.world.came_us if stuck[0] < us < stuck[0] + STUCK_US] == []
