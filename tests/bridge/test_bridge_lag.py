"""A bridge that lags behind the line decides by the recording's time, and types only at the port it knows of."""

from __future__ import annotations

import pytest

from exhibit.bridge.inbox import StopWanted
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.bridge.bridge_world import Staged
from tests.decisions.again import check_decided_again
from tests.decisions.heron import S, command, folder, machine, script

ONE = Wanted(before=(), rounds=1, after=())
TWO_UNDER_WAY = machine(typing={"window": 2})
BEGIN = folder(script("round", command("begin", "begin shuttle", "begun")), machine=TWO_UNDER_WAY)


# -- the line holds up a byte


@pytest.mark.parametrize("slow", ["g", "n"])
def test_a_burst_behind_a_byte_that_the_line_held_up_is_decided_again_the_same(tmp_path, slow):
    """Two echoes come in one burst. Upon the first a byte is typed that takes until after a heartbeat."""
    staged = Staged(tmp_path, BEGIN, ONE)

    def hold_up(byte: int) -> str:
        staged.world.now_us += 900_000 if chr(byte) == slow else 0
        return ""

    staged.while_typing = hold_up
    staged.receives_at(100_000, b"READY: ")
    staged.receives_at(1_900_000, b"BE")
    staged.receives_at(3_400_000, b"GI")
    staged.world.at(5 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    facts = staged.facts(kinds.BytesReceived, kinds.BytesTyped, kinds.Heartbeat)
    typed = next(number for number, fact in enumerate(facts) if getattr(fact, "bytes", "") == slow)
    assert [type(fact) for fact in facts[typed + 1 : typed + 3]] == [kinds.Heartbeat, kinds.BytesReceived]
    check_decided_again(BEGIN, ONE, staged.entries())
