"""The simulated machine with its office open, on a pseudo-terminal, at 300 baud and its own speed.

    python -m tests.bridge.slow_machine TRUTH

It prints as JSON where its console is, and where its own time stood at which moment of this computer's clock.
What happens inside it is appended to TRUTH. Until its office was open its time was virtual, so that nobody
has to wait for its drives.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

from exhibit.commands.child import end_with_starter
from exhibit.simulator.core import Options, Whimbrel
from exhibit.simulator.listening import FarEnd, PtyEnd
from exhibit.simulator.shell import Runner
from exhibit.simulator.truth import Record, to_line
from tests.simulator.workbench import at_no_desk

OPTIONS = Options(baud=300, notices_every_s=420.0, keep_truth=False)


class FromThen(Runner):
    """Real time, beginning at the machine's virtual time."""

    def __init__(self, machine: Whimbrel, far_end: FarEnd, begun_us: int) -> None:
        super().__init__(machine, far_end, [], speed=1.0)
        self._begun_us = begun_us
        self.begun_s = time.monotonic()

    def now_us(self) -> int:
        """See Runner."""
        return self._begun_us + round((time.monotonic() - self.begun_s) * 1_000_000)


def main() -> None:
    """Run it until whoever started it ends it."""
    bench = at_no_desk(OPTIONS)
    end_with_starter()
    with Path(sys.argv[1]).open("ab") as truth:

        def write(record: Record) -> None:
            truth.write(to_line(record))

        bench.machine.truth._sink = write
        far_end = PtyEnd(None)
        runner = FromThen(bench.machine, far_end, bench.now_us)
        print(json.dumps({"line": far_end.url, "at_s": runner.begun_s, "at_us": bench.now_us}), flush=True)
        runner.run(truth.flush)


if __name__ == "__main__":
    main()
