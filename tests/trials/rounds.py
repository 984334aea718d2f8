"""Plays disturbed rounds of the Whimbrel and prints how they ended.

    python -m tests.trials.rounds [FIRST [COUNT]]

Exit status 1 when one did what must never be; its number is printed, and playing it again is
`python -m tests.trials.rounds NUMBER 1`, which then tells all.
"""

from __future__ import annotations

import sys
import time
from collections import Counter

from exhibit.facts import kinds
from tests.trials.disturbed_round import DisturbedRound

COUNT = 500


def main(first: int, count: int) -> int:
    began_s = time.monotonic()
    ends: Counter[str] = Counter()
    faults: Counter[str] = Counter()
    failing: list[int] = []
    left = typed = asked = 0
    for seed in range(first, first + count):
        played = DisturbedRound(seed)
        ends[played.ended] += 1
        faults.update(fault.kind for fault in played.faults)
        asked += played.asked
        left += played.left_for_a_while
        typed += sum(isinstance(entry.fact, kinds.TypingConfirmed) for entry in played.entries)
        if played.wrong:
            failing.append(seed)
            print(f"round {seed}: {'; '.join(played.wrong)}")
            print(f"    {', '.join(f'{f.kind} at {f.at_s} s for {f.for_s} s' for f in played.faults)}")
        if count == 1:
            for entry in played.entries:
                if not isinstance(entry.fact, kinds.BytesReceived | kinds.DeadlineArmed | kinds.BytesTyped):
                    print(f"{entry.at_us / 1e6:10.3f}  {entry.fact}")
    print(f"{count} rounds from {first} in {time.monotonic() - began_s:.0f} s; {typed} commands were taken")
    print(f"    ends: {dict(ends.most_common())}")
    print(f"    faults: {dict(faults.most_common())}")
    print(f"    a person was asked what becomes of a late step: {asked}")
    print(f"    an exerciser went on for a while after the end, as was told: {left}")
    print(f"    failing: {failing or 'none'}")
    return 1 if failing else 0


if __name__ == "__main__":
    given = [int(argument) for argument in sys.argv[1:]]
    sys.exit(main(given[0] if given else 1, given[1] if len(given) > 1 else COUNT))
